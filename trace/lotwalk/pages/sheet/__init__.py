"""A sheet of paper: its frame, its tables and charts, and what stands after the last row."""
