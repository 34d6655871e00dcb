"""Sheets: YAML files of entries, read as text with its lines."""
