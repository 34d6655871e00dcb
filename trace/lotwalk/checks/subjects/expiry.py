"""Papers, products and solutions that run out, and the yearly look at an exemption."""

from collections.abc import Iterator

from lotwalk.checks.lots import Lots
from lotwalk.checks.records import Records
from lotwalk.checks.subjects.assurance import TYPE as ASSURANCE
from lotwalk.checks.subjects.certificates import Paper, papers
from lotwalk.finding import Due
from lotwalk.values.times import When

EXEMPTION = "papers.exemption_reviewed_every"

_ON_PAPER = "the last day on the paper"
_ON_LABEL = "the last day written when it came"
_ON_SOLUTION = "the time written when it was mixed"


def dues(records: Records) -> Iterator[Due]:
    """Yield the last day of each paper, product and solution that still matters, and the next look at an exemption."""
    lots = records.share(Lots)
    yield from _of_papers(records, lots)
    yield from _of_lots(records, lots)
    yield from _of_exemption(records)


def _of_papers(records: Records, lots: Lots) -> Iterator[Due]:
    """The latest paper of each type for each thing. One for a lot of which nothing is left is not asked for again."""
    latest: dict[tuple[str, str], Paper] = {}
    for paper in papers(records):
        known = latest.get((paper.type, paper.covers))
        if known is None or (paper.expires or "9") >= (known.expires or "9"):
            latest[paper.type, paper.covers] = paper
    for paper in latest.values():
        thing = records.thing(paper.covers)
        gone = thing is not None and thing.cls == "lot" and lots.used_up(paper.covers)
        if paper.expires and not gone and paper.type != ASSURANCE:
            yield Due(
                paper.expires,
                (paper.code, paper.covers),
                f"The paper {paper.code} ({paper.type}) of {paper.covers} holds until {paper.expires}",
                "Ask for the next one, and record it.",
                _ON_PAPER,
            )


def _of_lots(records: Records, lots: Lots) -> Iterator[Due]:
    for code in lots.balances:
        made = records.maker(code)
        if made is None or lots.used_up(code):
            continue
        until, ends = made.values.get("expires"), made.values.get("discard_at")
        if isinstance(until, str):
            past = until < records.today
            what = made.values.get("product") or records.kind(made).title.lower()
            yield Due(
                until,
                (code,),
                f"{code} ({what}) {'was' if past else 'is'} in date until {until}",
                f"{'Throw' if past else f'Use {code} up by then, and throw'} away what is left of {code}, and"
                " record it as a disposal.",
                _ON_LABEL,
            )
        elif isinstance(ends, When) and ends.end >= records.now:
            yield Due(
                records.date(ends.end),
                (code,),
                f"{code} is to be thrown away by {ends.written}",
                f"Throw {code} away and mix anew.",
                _ON_SOLUTION,
            )


def _of_exemption(records: Records) -> Iterator[Due]:
    """Only a farm that once looked at its exemption goes by one."""
    every, looked = records.seconds(EXEMPTION), records.entries_telling("exemption")
    if every is not None and looked:
        latest = looked[-1]
        yield Due(
            records.date(latest.end + every),
            (latest.name,),
            f"Whether the farm's exemption still holds was last looked at on {latest.at}",
            "Add up the sales of three years, and record a site check with the topic exemption review.",
            records.basis(EXEMPTION),
        )
