"""Kinds of record: what an entry of each kind may say, read from the kind files. Knows nothing of SQL."""
