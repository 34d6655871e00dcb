"""The recall: from a complaint back to every candidate cause, and from each forward to all that it could concern."""
