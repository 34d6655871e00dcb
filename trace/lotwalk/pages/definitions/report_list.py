"""Which reports there are to print: all of them in their order, and the one that fits a tag."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from lotwalk.data import folder
from lotwalk.errors import NotUnderstood, Problem, Refused
from lotwalk.ledger.read.things import find_thing, is_void, thing_codes
from lotwalk.pages.definitions.definition import PACK, load, names, of_kind
from lotwalk.pages.definitions.model import Definition
from lotwalk.pages.rows.reading import Reading
from lotwalk.values.text import Fields, Written
from lotwalk.values.yaml_text import lines_of

_KEYS = ("title", "subject", "reports", "each", "leave_out", "subjects")


@dataclass(frozen=True, slots=True)
class Job:
    """One report to print, for one thing where it asks for one. `name` is its own among the others."""

    definition: Definition
    code: str = ""

    @property
    def name(self) -> str:
        """The report's name, with the code that it is printed for."""
        return f"{self.definition.name}-{self.code}" if self.code else self.definition.name


@dataclass(frozen=True, slots=True)
class Subject:
    """A part of the pack: the reports on one subject, and the checks whose findings bear on it."""

    reports: tuple[str, ...]
    checks: frozenset[str]


@dataclass(frozen=True, slots=True)
class Order:
    """What pack.yaml says: the reports in order, those printed for each thing, those left out, and single subjects."""

    title: str
    subject: str
    reports: tuple[str, ...]
    each: tuple[str, ...]
    leave_out: tuple[str, ...]
    subjects: Mapping[str, Subject]

    def only(self, names: Sequence[str]) -> Subject:
        """Return all that these subjects hold. Raises NotUnderstood for one that there is not."""
        for name in names:
            if name not in self.subjects:
                raise NotUnderstood(f"there is no subject {name}", f"one of {', '.join(self.subjects)}")
        chosen = [self.subjects[name] for name in names]
        return Subject(
            tuple(dict.fromkeys(report for one in chosen for report in one.reports)),
            frozenset(check for one in chosen for check in one.checks),
        )


def read_order(own: Sequence[Path] = ()) -> Order:
    """Return the order of the reports, from the grower's own folder if it is there. Raises Refused for a mistake."""
    path = next((one / PACK for one in own if (one / PACK).is_file()), folder("reports") / PACK)
    problems: list[Problem] = []
    try:
        documents = lines_of(path.read_text(encoding="utf-8"), [PACK], problems)
    except (OSError, UnicodeDecodeError) as why:
        raise Refused([Problem(f"cannot be read: {why}", "a text file", source=PACK)]) from None
    fields = documents[0] if len(documents) == 1 and isinstance(documents[0], Fields) else Fields()
    for key in fields.keys() - set(_KEYS):
        problems.append(Problem("this key is not known", ", ".join(_KEYS), key, PACK))
    subjects = _subjects(fields.get("subjects", Fields()), problems)
    if problems or not fields:
        raise Refused(problems or [Problem("it does not hold one mapping", "title, reports", source=PACK)])
    reports, each, left = (_words(fields.get(key, [])) for key in ("reports", "each", "leave_out"))
    return Order(str(fields.get("title", "")), str(fields.get("subject", "")), reports, each, left, subjects)


def _subjects(written: Written, problems: list[Problem]) -> dict[str, Subject]:
    found = {}
    for name, one in (written if isinstance(written, Fields) else Fields()).items():
        if isinstance(one, Fields) and not one.keys() - {"reports", "checks"}:
            found[name] = Subject(_words(one.get("reports", [])), frozenset(_words(one.get("checks", []))))
        else:
            problems.append(Problem("a subject is read by its keys", "reports, checks", f"subjects.{name}", PACK))
    return found


def all_jobs(state: Reading, own: Sequence[Path] = ()) -> list[Job]:
    """Return every report to print, in order: those on the list, the others, and a log of each kind in none of them."""
    order = read_order(own)
    left = {*order.reports, *order.leave_out}
    listed = [*order.reports, *(name for name in names(own) if name not in left)]
    jobs: list[Job] = []
    for name in listed:
        definition = load(name, state.kinds, own)
        if not definition.asks:
            jobs.append(Job(definition))
        elif name in order.each:
            jobs += [Job(definition, code) for code in _codes(state, definition)]
    held = {kind for job in jobs for kind in job.definition.kinds}
    return jobs + [Job(of_kind(state.kinds[kind], state.kinds)) for kind in state.kinds.names if kind not in held]


def for_tag(state: Reading, code: str, own: Sequence[Path] = ()) -> Definition:
    """Return the report that tells the whole story of a thing, by what it is. Raises NotUnderstood if there is none."""
    thing = find_thing(state.connection, code)
    if thing is None:
        raise NotUnderstood(f"the book has no {code}", "the code of a lot, an item or a water source that is in it")
    for name in names(own):
        definition = load(name, state.kinds, own)
        if definition.asks and state.kinds.thing_matches(thing.kind, definition.asks):
            return definition
    title = state.kinds.things[thing.kind].title.lower()
    raise NotUnderstood(f"{thing.code} is a {title}", "the code of a lot, an item or a water source")


def _codes(state: Reading, definition: Definition) -> list[str]:
    things = [one for one in thing_codes(state.connection) if state.kinds.thing_matches(one.kind, definition.asks)]
    return [one.code for one in things if not is_void(state.connection, one)]


def _words(written: Written) -> tuple[str, ...]:
    return tuple(str(one) for one in written) if isinstance(written, list) else ()
