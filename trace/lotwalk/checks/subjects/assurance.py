"""Greens that leave with their roots: who got them without having assured that they cut above the medium."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lotwalk.checks.lots import Lots
from lotwalk.checks.records import Records
from lotwalk.checks.subjects.certificates import Paper, papers
from lotwalk.finding import Cause, Due, Finding, finding
from lotwalk.judge.words import listed, many
from lotwalk.ledger.entry import Entry
from lotwalk.values.roles import Role

ASSURED = "papers.cutting_assurance_every"
TYPE = "cutting assurance"
"""The type of the paper."""

_SPROUTS = (
    "Rules for sprouts may apply to greens sold with their roots. In the United States the regulator does not"
    " act where the grower holds each customer's written assurance of the year; elsewhere it differs."
)


def findings(records: Records) -> Iterator[Finding]:
    """Yield each delivery of rooted greens without an assurance in force, and once a year that any were cut so."""
    lots = rooted(records, records.share(Lots))
    yield from _by_year(records, lots)
    if ASSURED not in records.rules.limits:
        return
    held = _held(records)
    for sent in _sent(records, lots):
        day = records.date(sent.record.start)
        if any(paper.holds_on(day) for paper in held.get(sent.customer, ())):
            continue
        ended = [paper for paper in held.get(sent.customer, ()) if paper.expires and paper.expires < day]
        why = (
            f"whose assurance {ended[-1].code} ran out on {ended[-1].expires}"
            if ended
            else "who has given no assurance"
        )
        yield finding(
            "no-assurance",
            (sent.customer, sent.code),
            about=(sent.customer, sent.code, *sent.lots),
            text=f"{sent.code} of {sent.record.at} took greens with their roots ({listed(sent.lots)}) to"
            f" {sent.customer}, {why} that they are cut above the medium.",
            do=f"Have {sent.customer} write and sign that they cut above the medium, record it as a certificate of type"
            f" {TYPE} that covers {sent.customer}, and sell them nothing rooted before.",
            basis=records.basis(ASSURED),
            span=sent.record.span,
            closers=(sent.code, sent.record.name),
            cause=Cause(
                ("no-assurance", sent.customer),
                "A customer got greens with their roots, with no assurance in force that they cut above the medium.",
                f"Get it signed, record it as a certificate of type {TYPE}, and sell them nothing rooted before.",
                (sent.customer,),
                alone=True,
            ),
        )


def dues(records: Records) -> Iterator[Due]:
    """Yield the day on which the assurance of each customer who gets rooted greens runs out."""
    if ASSURED not in records.rules.limits:
        return
    held = _held(records)
    latest: dict[str, Entry] = {
        sent.customer: sent.record for sent in _sent(records, rooted(records, records.share(Lots)))
    }
    every = records.seconds(ASSURED) or 0
    for customer, record in sorted(latest.items()):
        # Who has had none for longer than an assurance lasts needs no new one.
        if record.end + every < records.now:
            continue
        until = max((paper.expires for paper in held.get(customer, ())), default="")
        text = f"The assurance of {customer} to cut above the medium holds until {until}"
        text = (
            text if until else f"{customer} gets greens with roots and has given no assurance to cut above the medium"
        )
        do = f"Get the assurance of a year from {customer} in writing, and record it as a certificate."
        yield Due(until or records.today, (customer,), text, do, records.basis(ASSURED))


@dataclass(frozen=True, slots=True)
class _Sent:
    """One delivery of rooted lots to a customer."""

    record: Entry
    code: str
    customer: str
    lots: tuple[str, ...]


def rooted(records: Records, lots: Lots) -> dict[str, list[str]]:
    """Return the lots with roots by the entry that tells so, each followed by what was made of it."""
    found: dict[str, list[str]] = defaultdict(list)
    for told in records.telling("rooted"):
        # What takes a standing batch makes rooted greens; of the batch itself something else may have been cut.
        made = lots.made_by(told.record)
        found[told.record.name] += lots.onward(made or [told.code])
    return found


def _held(records: Records) -> dict[str, list[Paper]]:
    held: dict[str, list[Paper]] = defaultdict(list)
    for paper in papers(records, every=records.seconds(ASSURED)):
        if paper.type == TYPE:
            held[paper.covers].append(paper)
    return held


def _sent(records: Records, roots: dict[str, list[str]]) -> Iterator[_Sent]:
    """The deliveries that took rooted lots, or made them, to a customer, by time."""
    reached = {code for codes in roots.values() for code in codes}
    standing: dict[str, list[str]] = defaultdict(list)
    for told in records.telling("rooted"):
        standing[told.record.name].append(told.code)
    seen: set[str] = set()
    for told in records.telling("delivered"):
        record = told.record
        if record.name in seen:
            continue
        took = [use.code for use in record.version.uses if use.role is Role.TOOK and use.code in reached]
        lots = took or standing.get(record.name, [])
        if lots:
            seen.add(record.name)
            made = [use.code for use in record.version.uses if use.role is Role.MADE]
            for use in record.version.uses:
                if use.role is Role.TO:
                    code = made[0] if made else record.name
                    yield _Sent(record, code, use.code, tuple(dict.fromkeys(lots)))


def _by_year(records: Records, roots: dict[str, list[str]]) -> Iterator[Finding]:
    """One finding for each year: that rules for sprouts may apply is a question to be asked, not a daily fault."""
    years: dict[str, list[Entry]] = defaultdict(list)
    for told in records.telling("rooted"):
        if told.record not in years[records.date(told.record.start)[:4]]:
            years[records.date(told.record.start)[:4]].append(told.record)
    for year, entries in sorted(years.items()):
        codes: Sequence[str] = [code for entry in entries for code in roots[entry.name][:1]]
        yield finding(
            "rooted",
            (year,),
            about=tuple(codes),
            text=f"In {year}, {len(codes)} {many(codes, 'lot was', 'lots were')} cut with roots or left growing"
            f" ({listed(codes[:8])}{' and more' if len(codes) > 8 else ''}). {_SPROUTS}",
            do="Ask the local regulator whether rules for sprouts apply, and record the answer as a corrective action"
            f" about rooted:{year}.",
            basis=records.basis(ASSURED),
            span=(entries[0].start, max(one.end for one in entries)),
            cause=Cause(
                ("rooted", year),
                "Lots were cut with roots or left growing. Rules for sprouts may apply.",
                "Ask the local regulator whether they do, and record the answer as a corrective action.",
                alone=True,
            ),
        )
