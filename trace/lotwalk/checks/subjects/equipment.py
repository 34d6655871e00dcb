"""Reusable things used while they were lost or retired, before they came into use, or beyond their life."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from lotwalk.checks.contacts import Contacts
from lotwalk.checks.records import Records, Told
from lotwalk.checks.subjects.gone import Gone
from lotwalk.finding import Due, Finding, finding
from lotwalk.judge.words import listed, many
from lotwalk.ledger.entry import Entry

_OWN = "the farm's own record of the thing"
_NEARLY = Decimal("0.9")
"""The part of its life from which on a thing is named as wearing out."""


def findings(records: Records) -> Iterator[Finding]:
    """Yield the uses of things that were not there, not yet in use, or worn out."""
    yield from absent(records)
    for code, uses in sorted(_bearing(records).items()):
        life = _life(records, code)
        if life is not None and len(uses) > life:
            yield finding(
                "worn-out",
                (code,),
                about=(code, uses[-1].record.name),
                text=f"{code} has borne {len(uses)} crops, and its life is written down as {life}.",
                do=f"Look at {code}: retire it, or write down how long it really lasts.",
                basis=_OWN,
                span=uses[-1].record.span,
                closers=(code,),
            )


def dues(records: Records) -> Iterator[Due]:
    """Yield the things that near the end of their life, for today."""
    gone = records.share(Gone)
    for code, uses in sorted(_bearing(records).items()):
        life = _life(records, code)
        if life is not None and life * _NEARLY <= len(uses) <= life and not gone.at_last(code):
            yield Due(
                records.today,
                (code,),
                f"{code} has borne {len(uses)} crops of the {life} that it is to last",
                f"Have another at hand, and look at {code} after each washing.",
                _OWN,
            )


def _bearing(records: Records) -> dict[str, list[Told]]:
    return records.told_of("bears")


def _life(records: Records, code: str) -> int | None:
    maker = records.maker(code)
    life = maker.values.get("life") if maker else None
    return int(life) if isinstance(life, int | Decimal) else None


def absent(records: Records) -> Iterator[Finding]:
    """Yield the uses of things that were lost, retired, or not yet in use."""
    contacts = records.share(Contacts)
    gone = records.share(Gone)
    found: dict[int, list[tuple[str, Entry]]] = defaultdict(list)
    entries: dict[int, Entry] = {}
    early: dict[int, list[str]] = defaultdict(list)
    starts: dict[int, str] = {}
    for code in gone.codes:
        for use in contacts.of[code].uses if code in contacts.of else ():
            if left := gone.by(code, use.record):
                found[use.record.seq].append((code, left))
                entries[use.record.seq] = use.record
    for code, history in contacts.of.items():
        maker = records.maker(code)
        since = maker.values.get("in_use_from") if maker else None
        if isinstance(since, str) and date.fromisoformat(since):
            for use in history.uses:
                if records.date(use.record.end) < since:
                    early[use.record.seq].append(code)
                    starts[use.record.seq] = since
                    entries[use.record.seq] = use.record
    for seq, items in found.items():
        record, codes = entries[seq], [code for code, _ in items]
        left = items[-1][1]
        yield finding(
            "not-there",
            (record.name,),
            about=(record.name, *codes),
            text=f"{record.name} ({record.at}) uses {listed(codes)}, which {left.name} ({left.at}) wrote off as lost or"
            " retired.",
            do=f"Check the {many(codes, 'code', 'codes')} in {record.name}, or record that"
            f" {many(codes, 'it was', 'they were')} found.",
            basis=_OWN,
            span=record.span,
            cause=gone.cause(left),
        )
    for seq, codes in early.items():
        record = entries[seq]
        yield finding(
            "not-yet-in-use",
            (record.name,),
            about=(record.name, *codes),
            text=f"{record.name} ({record.at}) uses {listed(codes)}, in use from {starts[seq]} on.",
            do=f"Check the {many(codes, 'code', 'codes')} and the time of {record.name}.",
            basis=_OWN,
            span=record.span,
        )
