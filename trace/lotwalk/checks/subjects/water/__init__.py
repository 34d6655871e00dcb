"""Findings about water: its sources, tests, plan, and what was drawn while it was in doubt."""
