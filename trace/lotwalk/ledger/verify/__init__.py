"""Whether the ledger is what was recorded, and proofs of it for those who have no ledger."""
