"""The append-only ledger: entries, their amendments, the log that pins them, and reading them back."""
