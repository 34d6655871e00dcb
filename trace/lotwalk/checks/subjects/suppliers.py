"""Suppliers' lots: one that two receipts write in two ways, so that the book takes it for two."""

from collections.abc import Iterator

from lotwalk.checks.records import Records
from lotwalk.finding import Finding
from lotwalk.ledger.read import spellings


def findings(records: Records) -> Iterator[Finding]:
    """Yield each receipt of a supplier's lot that an earlier one writes otherwise."""
    yield from spellings.findings(records.connection, records.kinds)
