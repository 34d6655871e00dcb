"""What to say to a grower about a text that YAML cannot read."""

import re

import yaml

from lotwalk.errors import Problem

QUOTES = "quotes around text that holds `: ` or ` #`, or starts with one of [ ] { } , & * ! | > % @ `"
"""The advice that mends most of these."""

# YAML's printable characters; a lone half of a surrogate pair is what is left of bytes that are not UTF-8.
_UNREADABLE = re.compile("[^\t\n\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

# A part of the parser's complaint; whether its line is where the trouble began; what to say; what was expected.
_KNOWN = (
    ("quoted scalar found unexpected end", True, "a quote is opened here and never closed", "a closing quote"),
    ("unknown escape", False, "a backslash inside double quotes", "single quotes around the text instead"),
    ("escape", False, "a backslash inside double quotes", "single quotes around the text instead"),
    ("flow sequence", True, "a list in [ ] is not closed, or lacks a comma", "a list such as [M-001, M-002]"),
    ("flow mapping", True, "a row in { } is not closed, or lacks a comma", "a row such as {lot: S-1, amount: 40 g}"),
    ("sequence entries are not allowed", False, "a dash stands after a colon", "the list below its field, or [A, B]"),
    ("scanning an alias", False, "a value starts with `*`", QUOTES),
    ("scanning an anchor", False, "a value starts with `&`", QUOTES),
    ("scanning a tag", False, "a value starts with `!`", QUOTES),
    ("scanning a directive", False, "a line starts with `%`", QUOTES),
    ("scanning a block scalar", False, "a value starts with `|` or `>`", QUOTES),
    ("node content", False, "a value starts with a sign that means something else", QUOTES),
    (
        "could not find expected ':'",
        True,
        "this line has no `field:`, or does not fit its neighbours",
        "`field: value`",
    ),
    ("document start", False, "something stands after the end of the list", "one list of entries"),
    (
        "expected '-' indicator",
        False,
        "this line is not set in like the fields above it, or lacks its dash",
        "a dash before each entry, and its fields below each other",
    ),
    (
        "expected key",
        False,
        "this line is not set in like its neighbours, or something stands after a closing quote or bracket",
        f"the fields of an entry below each other, or {QUOTES}",
    ),
    (
        "expected <block end>",
        False,
        "this line is not set in like its neighbours, or something stands after a closing quote or bracket",
        f"the fields of an entry below each other, a dash before each entry, or {QUOTES}",
    ),
)


def unreadable(text: str) -> list[Problem]:
    """Return a problem for each line that holds characters which are no text."""
    if not _UNREADABLE.search(text):
        return []
    return [
        Problem(f"a character that is no text ({ascii(found[0])[1:-1]})", "text saved as UTF-8", line=number)
        for number, line in enumerate(text.split("\n"), 1)
        if (found := _UNREADABLE.search(line))
    ]


def syntax_problem(error: yaml.YAMLError, text: str) -> Problem:
    """Return what the parser complains of in a grower's words, with the line (0 where it names none)."""
    if not isinstance(error, yaml.MarkedYAMLError) or error.problem_mark is None:
        return Problem(f"this sheet cannot be read ({error})", "a list of entries, each starting with `- kind:`")
    mark = error.problem_mark
    begun = (error.context_mark or mark).line + 1
    here = mark.line + 1
    lines = text.split("\n")
    line = lines[mark.line] if mark.line < len(lines) else ""
    said = " ".join(part for part in (error.context, error.problem) if part)
    if "\t" in line[: len(line) - len(line.lstrip())] or "tab character" in said:
        return Problem("a tab stands at the start of this line", "spaces instead of the tab", line=here)
    if "mapping values are not allowed" in said:
        return _second_colon(line, here)
    if "cannot start any token" in said:
        return Problem(f"a value starts with `{line[mark.column : mark.column + 1]}`", QUOTES, line=here)
    for part, at_start, what, expected in _KNOWN:
        if part in said:
            return Problem(what, expected, line=begun if at_start else here)
    return Problem(f"this line cannot be read ({said})", f"`field: value`, or {QUOTES}", line=here)


def _second_colon(line: str, number: int) -> Problem:
    if len(re.findall(r":(?:\s|$)", line)) > 1:
        return Problem("a second colon in one line", "quotes around a text that holds a colon and a space", line=number)
    return Problem(
        "this line is set in further than the one above it",
        "the fields of an entry below each other, one `field: value` to a line",
        line=number,
    )
