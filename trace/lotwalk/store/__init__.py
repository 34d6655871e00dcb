"""Tables, engines and migrations: how a ledger lies in a database. Knows nothing of kinds or of farms."""
