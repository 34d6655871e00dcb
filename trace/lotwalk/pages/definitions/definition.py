"""Finding and loading report definitions: those that ship, by name, and a grower's own, by file or folder."""

from collections.abc import Sequence
from pathlib import Path

from lotwalk.data import folder
from lotwalk.errors import NotUnderstood, Problem, Refused
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Kind
from lotwalk.pages.cautions import FILE
from lotwalk.pages.definitions.definition_file import read_definition
from lotwalk.pages.definitions.model import Definition
from lotwalk.values.text import Fields, Listing
from lotwalk.values.yaml_text import lines_of

PACK = "pack.yaml"
"""The file's name in `reports/` that says in which order they are printed; it is no report."""

_MOST_BASES = 10
_NARROW, _WIDE = "6", "12"
_APART = ("at", "by", "place", "note", "files")


def load(name: str, kinds: Kinds, own: Sequence[Path] = ()) -> Definition:
    """Return a report definition by its name, or by the path of its file.

    A file in one of the grower's `own` folders goes before the shipped one of that name. A file with `based_on` takes
    from the report it names every key that it does not hold itself. A kind of record that no report is named after
    gives a plain log of its fields. Raises NotUnderstood when there is no such report, and Refused with every mistake
    in it, each with file, line and key.
    """
    known = names(own)
    path = _find(name, Path.cwd(), own)
    if path is None:
        if name in kinds.names:
            return of_kind(kinds[name], kinds)
        raise NotUnderstood(f"there is no report {name}", f"{', '.join(known)}, or the path of a file")
    seen = [path.resolve()]
    parts = [_read(path)]
    while base := parts[-1].get("based_on"):
        # A file that is named like the report it is based on means the shipped one.
        others = [one for one in own if (one / f"{base}.yaml").resolve() not in seen]
        under = _find(str(base), seen[-1].parent, others)
        if under is None:
            raise NotUnderstood(f"there is no report {base}", f"{', '.join(known)}, or the path of a file")
        if under.resolve() in seen or len(seen) == _MOST_BASES:
            raise Refused([Problem("the report is based on itself", field="based_on", source=path.name)])
        seen.append(under.resolve())
        parts.append(_read(under))
    written = Fields(line=parts[0].line)
    sources: dict[str, str] = {}
    for part, file in zip(reversed(parts), reversed(seen), strict=True):
        written.update(part)
        sources.update(dict.fromkeys(part, file.name))
    return read_definition(path.stem, written, sources, path.name, kinds)


def shipped() -> tuple[str, ...]:
    """Return the names of the reports that come with the program."""
    return _names_in(folder("reports"))


def names(own: Sequence[Path] = ()) -> tuple[str, ...]:
    """Return the names of all reports: those that ship and those in the grower's own folders.

    Raises NotUnderstood for a folder that is not there.
    """
    found = set(shipped())
    for place in own:
        if not place.is_dir():
            raise NotUnderstood(f"there is no folder {place}", "a folder of report definitions")
        found.update(_names_in(place))
    return tuple(sorted(found))


def of_kind(kind: Kind, kinds: Kinds) -> Definition:
    """Return a plain log of one kind of record, with the columns that its file names."""
    fields = [name for name in kind.log if name in kind.fields and name not in _APART]
    columns = Listing([_column("Entry", "entry", _NARROW), _column("Date and time", "at", _WIDE)])
    columns += [_column(kind.fields[name].title, name, _WIDE) for name in fields]
    columns.append(_column("By", "by", _NARROW))
    below = Listing([name for name in kind.fields if name not in (*fields, "at", "by")])
    written = Fields(
        {
            "title": kind.title,
            "subject": kind.description or kind.title,
            "page": "landscape",
            "kinds": Listing([kind.name]),
            "columns": columns,
            "below": below,
            "key": Listing(["by.name"]),
            "cautions": Listing(["cleaning-is-no-proof"]),
            "signatures": Listing(["Reviewed by"]),
            "empty": "Nothing of this kind was recorded in this period.",
            "verdict": Fields({"passed": "Passed", "failed": "Did not pass"}),
        }
    )
    return read_definition(kind.name, written, {}, f"{kind.name}.yaml", kinds)


def _column(title: str, value: str, width: str) -> Fields:
    return Fields({"title": title, "value": value, "width": width})


def _names_in(place: Path) -> tuple[str, ...]:
    return tuple(sorted(path.stem for path in place.glob("*.yaml") if path.name not in (FILE, PACK)))


def _find(name: str, beside: Path, own: Sequence[Path]) -> Path | None:
    """Return the file of a report: in one of the grower's folders, a shipped one, else a path, relative to `beside`."""
    for place in own:
        if name in _names_in(place):
            return place / f"{name}.yaml"
    if name in shipped():
        return folder("reports") / f"{name}.yaml"
    try:
        path = beside / Path(name).expanduser()
    except RuntimeError:  # a home folder that nobody has
        path = beside / name
    return path if path.is_file() else None


def _read(path: Path) -> Fields:
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as why:
        raise Refused([Problem(f"cannot be read: {why}", "a text file", source=path.name)]) from None
    problems: list[Problem] = []
    documents = lines_of(text, [path.name], problems)
    if len(documents) != 1 or not isinstance(documents[0], Fields):
        raise Refused([*problems, Problem("it does not hold one mapping", "title, kinds, columns", source=path.name)])
    if problems:
        raise Refused(problems)
    return documents[0]
