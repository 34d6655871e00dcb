"""What the book shows to be missing, late or out of limits, and what must be done next: one module for each subject."""
