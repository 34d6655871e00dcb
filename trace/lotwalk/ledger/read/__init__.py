"""Reading the ledger back. Nothing outside `store`, `ledger` and the walk's own statements speaks SQL."""
