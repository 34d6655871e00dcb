"""Finding and loading report definitions: those that ship, by name, and a grower's own, by file."""

from pathlib import Path

from lotwalk.data import folder
from lotwalk.errors import NotUnderstood, Problem, Refused
from lotwalk.judge.rules_yaml import read_yaml
from lotwalk.kinds.library import Kinds
from lotwalk.pages.cautions import FILE
from lotwalk.pages.definition_file import read_definition
from lotwalk.pages.model import Definition
from lotwalk.values.text import Fields

_MOST_BASES = 10


def load(name: str, kinds: Kinds) -> Definition:
    """Return a shipped report definition by its name, or a grower's own by the path of its file.

    A file with `based_on` takes from the report it names every key that it does not hold itself. Raises
    NotUnderstood when there is no such report, and Refused with every mistake in it, each with file, line and key.
    """
    path = _find(name, Path.cwd())
    seen = [path.resolve()]
    parts = [_read(path)]
    while base := parts[-1].get("based_on"):
        under = _find(str(base), seen[-1].parent).resolve()
        if under in seen or len(seen) == _MOST_BASES:
            raise Refused([Problem("the report is based on itself", field="based_on", source=path.name)])
        seen.append(under)
        parts.append(_read(under))
    written = Fields(line=parts[0].line)
    sources: dict[str, str] = {}
    for part, file in zip(reversed(parts), reversed(seen), strict=True):
        written.update(part)
        sources.update(dict.fromkeys(part, file.name))
    return read_definition(path.stem, written, sources, path.name, kinds)


def shipped() -> tuple[str, ...]:
    """Return the names of the reports that come with the program."""
    return tuple(sorted(path.stem for path in folder("reports").glob("*.yaml") if path.name != FILE))


def _find(name: str, beside: Path) -> Path:
    """Return the file of a report: a shipped name, else a path, relative to `beside`."""
    if name in shipped():
        return folder("reports") / f"{name}.yaml"
    try:
        own = beside / Path(name).expanduser()
    except RuntimeError:  # a home folder that nobody has
        own = beside / name
    if not own.is_file():
        raise NotUnderstood(f"there is no report {name}", f"{', '.join(shipped())}, or the path of a file")
    return own


def _read(path: Path) -> Fields:
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as why:
        raise Refused([Problem(f"cannot be read: {why}", "a text file", source=path.name)]) from None
    problems: list[Problem] = []
    documents = read_yaml(text, [path.name], problems)
    if len(documents) != 1 or not isinstance(documents[0], Fields):
        raise Refused([*problems, Problem("it does not hold one mapping", "title, kinds, columns", source=path.name)])
    if problems:
        raise Refused(problems)
    return documents[0]
