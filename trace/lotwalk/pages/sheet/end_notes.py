"""What stands after the last row: how many entries there were, how to read the log, and the rules that ask for it."""

from collections.abc import Iterable, Sequence

from lotwalk.pages.definitions.model import Citation, Definition, Piece, ReportSummary
from lotwalk.pages.definitions.section_file import ENTRIES

CONFIDENCE = {
    "read": "",
    "memory": " (from memory: look it up in the official text)",
    "computed": " (computed)",
    "practice": " (common practice, no source)",
}
"""What is said after a quoted rule, by how sure it is that it says so."""

_MARKS = (
    "Words in bold after an exclamation mark are out of limits, late or void. Words struck through were replaced or "
    "are void; the line below says by whom, when and why. Values and units are as they were written down."
)


def closing(
    definition: Definition,
    summary: ReportSummary,
    key: Sequence[str],
    limits: Sequence[str],
    cautions: Sequence[str],
    typed: Sequence[str] = (),
) -> Iterable[Piece]:
    """Yield the words of the closing block.

    `key` are sentences on what the codes stand for, `limits` on the numbers that the rows are held against, and
    `cautions` those of the rule set, `typed` on how the entries came into the book.
    """
    parts = (
        ("Who and what", key),
        ("Limits", limits),
        ("How it was written", typed),
        ("How to read this log", (_MARKS, *definition.legend) if summary.entries else ()),
        ("Cautions of the rule set", cautions),
        (
            "Rules that such a log can answer to; which of them hold here, the local regulator says",
            [_cited(citation) for citation in definition.citations],
        ),
    )
    line = "line" if any(section.rows != ENTRIES for section in definition.sections) else "entry"
    yield Piece(f"End of the report. {_counted(summary, line)}", "bold")
    for heading, sentences in parts:
        if sentences:
            yield Piece(" ")
            yield Piece(heading, "bold")
            yield from map(Piece, sentences)


def _counted(summary: ReportSummary, one: str) -> str:
    """Return in words how many entries (or lines) a report holds, and how many of them stand out."""
    many = {"entry": "entries"}.get(one, f"{one}s")
    if not summary.entries:
        return f"It holds no {many}."
    parts = (
        (summary.failed, "that did not pass, wholly or partly"),
        (summary.out, "with a value out of limits"),
        (summary.amended, "amended"),
        (summary.void, "void"),
        (summary.late, "recorded late"),
    )
    told = [f"{count} {words}" for count, words in parts if count]
    entries = f"{summary.entries} {one if summary.entries == 1 else many}"
    return f"It holds {entries}{': ' if told else ''}{', '.join(told)}."


def _cited(citation: Citation) -> str:
    return f"{citation.rule}: {citation.says}{CONFIDENCE[citation.confidence]}"
