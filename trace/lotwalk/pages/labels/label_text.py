"""What stands on a label, as `reports/labels/text.yaml` says it by the kind of thing."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from lotwalk.data import folder
from lotwalk.errors import Problem, Refused
from lotwalk.kinds.library import Kinds
from lotwalk.values.text import Fields, Listing, Written, line_of
from lotwalk.values.yaml_text import lines_of

_FILE = "text.yaml"
_OTHER = "other"
_KEYS = ("lines", "article", "best-before")
_LINE_KEYS = ("title", "value", "caution", "may-go", "allergens")


@dataclass(frozen=True, slots=True)
class LabelLine:
    """One line: the values of which the first that says something is printed, after a title, or else a caution.

    `allergens`: it declares them.
    """

    title: str
    values: tuple[str, ...]
    caution: str
    may_go: bool
    allergens: bool = False


@dataclass(frozen=True, slots=True)
class LabelText:
    """The lines of a label, and the values that GS1 codes take an article number and a date from."""

    lines: tuple[LabelLine, ...]
    article: str
    best_before: str


def label_text(thing_kind: str, kinds: Kinds) -> LabelText:
    """Return what stands on the label of a kind of thing: what the file says of the kind, its class, or all others."""
    texts = _load()
    return texts.get(thing_kind) or texts.get(kinds.things[thing_kind].cls) or texts[_OTHER]


@cache
def _load() -> Mapping[str, LabelText]:
    """Return the texts by kind and class. Raises Refused for a file that is not as its head says."""
    problems: list[Problem] = []
    text = (folder("reports") / "labels" / _FILE).read_text(encoding="utf-8")
    documents = lines_of(text, [_FILE], problems)
    root = documents[0] if documents and isinstance(documents[0], Fields) else Fields()
    found = {name: _text(name, written, problems) for name, written in root.items()}
    if _OTHER not in found:
        problems.append(Problem("it is missing", "what stands on all other labels", _OTHER, _FILE))
    if problems:
        raise Refused(problems)
    return found


def _text(name: str, written: Written, problems: list[Problem]) -> LabelText:
    fields = _known(name, written, _KEYS, problems)
    lines = fields.get("lines", Listing())
    return LabelText(
        tuple(_line(f"{name}.lines", one, problems) for one in (lines if isinstance(lines, list) else [])),
        str(fields.get("article", "")),
        str(fields.get("best-before", "")),
    )


def _line(name: str, written: Written, problems: list[Problem]) -> LabelLine:
    fields = _known(name, written, _LINE_KEYS, problems)
    value = fields.get("value", Listing())
    values = tuple(map(str, value)) if isinstance(value, list) else (str(value),)
    if bool(values) is ("caution" in fields):
        problems.append(Problem("a line says one thing", "a value or a caution", name, _FILE, line_of(written)))
    may_go, allergens = (str(fields.get(key, "no")).casefold() == "yes" for key in ("may-go", "allergens"))
    return LabelLine(str(fields.get("title", "")), values, str(fields.get("caution", "")), may_go, allergens)


def _known(name: str, written: Written, keys: tuple[str, ...], problems: list[Problem]) -> Fields:
    fields = written if isinstance(written, Fields) else Fields()
    if fields is not written or any(key not in keys for key in fields):
        problems.append(Problem("this is not understood", ", ".join(keys), name, _FILE, line_of(written)))
    return fields
