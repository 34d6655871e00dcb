"""Alembic's scripts: how a ledger's tables came to be as they are."""
