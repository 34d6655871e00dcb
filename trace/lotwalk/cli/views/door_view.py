"""What an entry brings about, told with its receipt: one by one, or of a sheet by what they are alike in."""

from collections.abc import Iterator, Sequence

from lotwalk.cli.words import count
from lotwalk.finding import SEVERITIES, Finding, sought
from lotwalk.ledger.model import Receipt

_ALIKE = 3
"""So many findings of one sort are told one by one after a sheet; of more the first is, with their number."""
_NAMED = 3


def told_findings(receipt: Receipt) -> Iterator[str]:
    """Yield what one entry brings about, the gravest first, each with the name by which `check` lists it."""
    yield from map(_told, receipt.findings)
    yield from _older(receipt.older)


def told_together(receipts: Sequence[Receipt]) -> Iterator[str]:
    """Yield what the entries of a sheet bring about, the gravest first; many of one sort as one line."""
    found: dict[str, dict[str, Finding]] = {}
    entries: dict[str, list[str]] = {}
    for receipt in receipts:
        for one in receipt.findings:
            found.setdefault(one.check, {}).setdefault(one.id, one)
            entries.setdefault(one.check, []).append(receipt.name)
    sorts = {check: list(alike.values()) for check, alike in found.items()}
    for check, alike in sorted(sorts.items(), key=lambda one: (SEVERITIES.index(_worst(one[1])), one[0])):
        if len(alike) <= _ALIKE:
            yield from map(_told, alike)
            continue
        names = list(dict.fromkeys(entries[check]))
        more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
        yield (
            f"{_worst(alike).capitalize()}: {len(alike)} times {sought()[check].title}: {', '.join(names[:_NAMED])}"
            f"{more}. Such as: {alike[0].told} `lotwalk check --only {check}` lists them."
        )
    yield from _older(sum(receipt.older for receipt in receipts))


def _told(one: Finding) -> str:
    return f"{one.severity.capitalize()}: {one.told} ({one.id})"


def _worst(found: Sequence[Finding]) -> str:
    return min((one.severity for one in found), key=SEVERITIES.index)


def _older(number: int) -> Iterator[str]:
    if number:
        told = count(number, "finding", "findings")
        yield f"Note: {told} of older entries, of which nothing is left: `lotwalk check` lists them."
