"""Reads a sheet: a YAML list of entries, or a mapping with `in_order`, `again`, `common` and `entries`."""

from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from lotwalk.errors import Problem, Refused
from lotwalk.sheets.events import NOTHING, parse
from lotwalk.values.text import Fields, Listing, Written, line_of

_LIST = "a list of entries, each starting with `- kind:`"
_KEYS = ("in_order", "again", "common", "entries")


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet as read: its entries in the order written, the common fields merged in.

    `text` has line ends of `\\n` and no byte order mark; `digest` is its SHA-256 in hex. `in_order` attests that
    the entries stand in the order in which things happened; `again` lets in what is alike to earlier entries. `what`
    is the word for it in messages.
    """

    name: str
    text: str
    digest: str
    in_order: bool
    again: bool
    entries: tuple[Fields, ...]
    what: str = "sheet"


def read_sheet(text: str, name: str) -> Sheet:
    """Return the sheet that `text` holds; `name` is its file's name, for messages.

    Every value is text with its line; a field left empty is absent, and so takes away a common field of its name.
    Raises Refused with every problem found, each with its line. What the fields mean is not looked at here.
    """
    normal = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    problems: list[Problem] = []
    root = parse(normal, problems)
    top, listed = _top(root, problems)
    in_order, again = (_yes(top, key, problems) for key in ("in_order", "again"))
    entries = _entries(listed, _common(top, problems), problems)
    if problems:
        raise Refused(problem.at(name) for problem in sorted(problems, key=lambda problem: problem.line))
    return Sheet(name, normal, sha256(normal.encode("utf-8")).hexdigest(), in_order, again, entries)


def read_sheet_file(path: Path) -> Sheet:
    """Return the sheet in a file. Raises Refused as `read_sheet`, and for a file that is missing or not UTF-8 text."""
    try:
        content = path.read_bytes()
    except (OSError, ValueError) as why:
        said = why.strerror if isinstance(why, OSError) else None
        raise Refused([Problem(f"cannot be read: {said or why}", "the name of a sheet", source=str(path))]) from None
    try:
        return read_sheet(content.decode("utf-8"), str(path))
    except UnicodeDecodeError as why:
        line = content.count(b"\n", 0, why.start) + 1
        what = f"byte {content[why.start]:#04x} is not UTF-8 text"
        raise Refused([Problem(what, "a sheet saved as UTF-8", source=str(path), line=line)]) from None


def _top(root: "Written | None", problems: list[Problem]) -> tuple[Fields, Listing]:
    """Return the mapping around the entries (empty for a bare list), and the list of them."""
    nothing = Fields(), Listing()
    if isinstance(root, Listing):
        if not root and not problems:
            problems.append(Problem("the list is empty", _LIST, line=root.line))
        return nothing[0], root
    if isinstance(root, Fields) and "kind" not in root:
        return root, _listed(root, problems)
    # After a problem of the text itself, what is missing here may be a consequence.
    if isinstance(root, Fields):
        problems.append(Problem("this is one entry and not a list", "`- ` before its first line", line=root.line))
    elif root is not None:
        problems.append(Problem("the sheet holds no entries, only text", _LIST, line=line_of(root)))
    elif not problems:
        problems.append(Problem("the sheet is empty", _LIST, line=1))
    return nothing


def _listed(top: Fields, problems: list[Problem]) -> Listing:
    complete = not problems
    for key, value in top.items():
        if key not in _KEYS:
            line = line_of(value) or top.line
            problems.append(Problem(f"`{key}` is not known at the top of a sheet", ", ".join(_KEYS), line=line))
    entries = top.get("entries")
    if isinstance(entries, Listing) and entries:
        return entries
    if complete:
        problems.append(
            Problem("there are no `entries`", f"`entries:` with {_LIST}", line=line_of(entries) or top.line)
        )
    return Listing()


def _yes(top: Fields, key: str, problems: list[Problem]) -> bool:
    value = top.get(key, NOTHING)
    said = value.casefold() if isinstance(value, str) else ""
    if value is not NOTHING and said not in ("yes", "no"):
        problems.append(Problem(f"`{key}` is neither yes nor no", "`yes` or `no`", line=line_of(value)))
    return said == "yes"


def _common(top: Fields, problems: list[Problem]) -> Fields:
    value = top.get("common", NOTHING)
    if isinstance(value, Fields):
        return value
    if value is not NOTHING:
        expected = "fields that every entry shares, as in `common: {by: TO}`"
        problems.append(Problem("`common` holds no fields", expected, line=line_of(value)))
    return Fields()


def _entries(listed: Listing, common: Fields, problems: list[Problem]) -> tuple[Fields, ...]:
    """Return the entries with the common fields merged in; an entry's own field wins, also an empty one."""
    entries = []
    for entry in listed:
        if isinstance(entry, Fields):
            whole = Fields({**common, **entry}, line=entry.line) if common else entry
            _clear(whole)
            entries.append(whole)
        else:
            said = f"`{entry[:40]}`" if isinstance(entry, str) else "a list"
            problems.append(
                Problem(f"{said} is not an entry", "`- kind: ...` and its fields below", line=line_of(entry))
            )
    return tuple(entries)


def _clear(value: Fields | Listing) -> None:
    """Take out the empty fields, at every depth, and keep their names: a kind may not know them.

    The tree is the reader's own, and changed in place.
    """
    if isinstance(value, Fields):
        value.empty = tuple(name for name, inner in value.items() if inner is NOTHING)
        for name in value.empty:
            del value[name]
    for inner in value.values() if isinstance(value, Fields) else value:
        if isinstance(inner, Fields | Listing):
            _clear(inner)
