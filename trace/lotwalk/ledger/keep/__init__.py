"""Opening a ledger, bringing it up to date, backing it up and restoring it."""
