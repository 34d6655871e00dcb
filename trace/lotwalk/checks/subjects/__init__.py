"""The checks, one module for each subject."""
