"""The cautions that every report, form and calculator draws from, read from `reports/cautions.yaml`."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from lotwalk.data import folder
from lotwalk.errors import NotUnderstood, Problem, Refused
from lotwalk.values.text import Fields
from lotwalk.values.yaml_text import lines_of

FILE = "cautions.yaml"
"""The file's name in `reports/`; it is no report."""


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: its subject in a few words, and a sentence or two."""

    subject: str
    says: str


@cache
def load_cautions() -> Mapping[str, Caution]:
    """Return the shipped cautions by name. Raises Refused for a file that is not as its head says."""
    problems: list[Problem] = []
    documents = lines_of((folder("reports") / FILE).read_text(encoding="utf-8"), [FILE], problems)
    found: dict[str, Caution] = {}
    for name, fields in documents[0].items() if documents and isinstance(documents[0], Fields) else ():
        if isinstance(fields, Fields) and set(fields) == {"subject", "says"}:
            found[name] = Caution(*(" ".join(str(fields[key]).split()) for key in ("subject", "says")))
        else:
            problems.append(Problem("this is no caution", "a mapping with subject and says", name, FILE))
    if problems or not found:
        raise Refused(problems or [Problem("there are none", "cautions by name", source=FILE)])
    return found


def caution(name: str) -> Caution:
    """Return a caution by its name. Raises NotUnderstood, naming those there are."""
    known = load_cautions()
    if name not in known:
        raise NotUnderstood(f"there is no caution {name}", f"one of {', '.join(known)}")
    return known[name]
