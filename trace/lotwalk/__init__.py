"""A farm's record book: what was done, with what, by whom, and how far a fault could have travelled."""

__version__ = "0.1.0"
