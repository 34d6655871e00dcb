"""The inspection pack."""
