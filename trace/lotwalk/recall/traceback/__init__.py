"""Back from what was asked to every candidate cause, and their order."""
