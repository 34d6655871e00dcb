"""What an answer tells people on a screen, and what it gives programs as JSON and CSV."""
