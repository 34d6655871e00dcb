"""Rows on one water source: how it stands by its records, and each failure with what was done and what reopened it."""

from collections.abc import Iterable
from dataclasses import dataclass

from lotwalk.finding import SEVERITIES
from lotwalk.judge.words import listed
from lotwalk.kinds.roles import facts
from lotwalk.ledger.entry import content_of
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.things import find_thing
from lotwalk.ledger.read.uses import makers, uses_of, versions_using
from lotwalk.ledger.read.versions import referring_to
from lotwalk.pages.computed.computed import Asked, Worked
from lotwalk.pages.computed.gaps import standing as gaps
from lotwalk.pages.rows.reading import AHEAD
from lotwalk.pages.rows.values import words
from lotwalk.values.codes import entry_number, fold
from lotwalk.values.roles import Role
from lotwalk.values.times import show_when

_TESTED, _MENDED = "tested", "mended"


@dataclass(frozen=True, slots=True)
class Test:
    """One test of a source: its entry, when the sample was taken, whether it passed, and what was found in words."""

    version: Version
    passed: bool
    words: str

    @property
    def name(self) -> str:
        """The entry's name."""
        return self.version.name

    @property
    def start(self) -> int:
        """The first second of the sample's time."""
        return self.version.start

    @property
    def end(self) -> int:
        """The last second of the sample's time."""
        return self.version.end


def tests_of(asked: Asked, source: str) -> list[Test]:
    """Return the tests of a water source that are in force, by the time of their sample."""
    found = []
    for version in _naming(asked, source, asked.state.kinds.telling(_TESTED)):
        passed = fold(source) in map(fold, version.judged.passed)
        said = "shows none" if passed else "failed"
        result = asked.values.field(version, "e_coli")
        found.append(Test(version, passed, f"{said} ({result})" if result else said))
    return sorted(found, key=lambda test: (test.start, test.end, test.version.line, test.version.number))


def failures(asked: Asked) -> Iterable[Worked]:
    """Yield the failing tests with the corrective actions that name them, and the test that reopened the water."""
    assert asked.thing is not None
    tests = tests_of(asked, asked.thing.code)
    for number, test in enumerate(tests):
        if test.passed:
            continue
        reopened = next((later for later in tests[number + 1 :] if later.passed), None)
        drawn = _drawn(asked, test.end, reopened.start if reopened else None)
        actions = [_action(asked, one) for one in _actions(asked, test, reopened)]
        yield Worked(
            {
                "entry": test.name,
                "at": _when(asked, test.version),
                "result": test.words,
                "action": "; ".join(actions) or "No corrective action names this test",
                "reopened": (f"{reopened.name}, {_when(asked, reopened.version)}" if reopened else "Not reopened")
                + (f"; drawn in {drawn} entries meanwhile" if drawn else "; not drawn meanwhile, on this record"),
            },
            bold=(*(() if actions else ("action",)), *(("reopened",) if drawn or not reopened else ())),
        )


def standing(asked: Asked) -> Iterable[Worked]:
    """Yield what the records say of the source: what it is, its latest test, whether it is open, and what is due."""
    assert asked.thing is not None
    made = makers(asked.state.connection, [asked.thing.id]).get(asked.thing.id)
    if made is not None:
        said = [f"{name.replace('_', ' ')}: {words(value)}" for name, value in made.fields.items() if name != "code"]
        yield _row("What it is", "; ".join(said), made.name)
    tests = tests_of(asked, asked.thing.code)
    if not tests:
        yield _row("Latest test", "No test of this water is on record", "", bold=True)
    else:
        latest = tests[-1]
        failed = not latest.passed
        yield _row("Latest test", f"{_when(asked, latest.version)}: {latest.words}", latest.name, bold=failed)
        passing = [test for test in tests if test.passed]
        if failed:
            last = f"the last one that did was {passing[-1].name}" if passing else "none ever did"
            answer = f"Not reopened after the failure {latest.name}: no later test shows none; {last}"
            yield _row("Open for harvest, surfaces and hands", answer, latest.name, bold=True)
        else:
            answer = "No failure stands open on this record. That is no proof that the water is clean"
            yield _row("Open for harvest, surfaces and hands", answer, latest.name)
        count = f"{len(tests)} on record, {len(passing)} showing none, {len(tests) - len(passing)} failing"
        yield _row("Tests so far", count, "")
    yield from _next(asked)


def _next(asked: Asked) -> Iterable[Worked]:
    """Yield what the checks say is due for the source, and each open gap that concerns it."""
    assert asked.thing is not None
    own = fold(asked.thing.code)
    awaited = [one for one in asked.state.checked.ahead if own in map(fold, one.about)]
    for one in awaited:
        late = one.by < asked.state.checked.records.today
        yield _row("Next due", f"{one.by}: {one.text}. {one.do}".rstrip("."), one.basis, bold=late)
    if not awaited:
        yield _row("Next due", f"Nothing within {AHEAD} days, on this record", "")
    own_gaps = [one.finding for one in gaps(asked.state, asked.period) if one.open]
    own_gaps = [finding for finding in own_gaps if own in map(fold, finding.about)]
    for severity in SEVERITIES:
        found = [finding for finding in own_gaps if finding.severity == severity]
        if found:
            entries = dict.fromkeys(code for finding in found for code in finding.about if entry_number(code))
            told = f": {listed(list(entries))}" if entries else ""
            answer = f"{len(found)} {severity} in this period{told}. The list of gaps tells each"
            basis = "; ".join(dict.fromkeys(finding.basis for finding in found))
            yield _row("Open gaps that concern it", answer, basis, bold=severity == SEVERITIES[0])


def _row(question: str, answer: str, basis: str, bold: bool = False) -> Worked:
    return Worked({"question": question, "answer": answer, "basis": basis}, ("answer",) if bold else ())


def _naming(asked: Asked, code: str, kinds: Iterable[str]) -> list[Version]:
    """Return the entries in force of some kinds that name a thing."""
    thing = find_thing(asked.state.connection, code)
    named = versions_using(asked.state.connection, [thing.id], tuple(Role), list(kinds)) if thing else []
    return list({version.seq: version for _, _, version in named}.values())


def _referring(asked: Asked, number: int) -> list[tuple[Version, bool]]:
    """Return the actions in force that name an entry, each with whether it tells that what it names is mended."""
    return [
        (version, _mends(asked, version))
        for version in referring_to(asked.state.connection, number)
        if version.kind in asked.state.kinds.telling(_MENDED)
    ]


def _actions(asked: Asked, test: Test, reopened: Test | None) -> list[tuple[Version, bool]]:
    """Return the actions on a failure, each with whether it is closed: those that name the test, and those that name
    the water and stand between the failure and the reopening."""
    assert asked.thing is not None
    found = {version.seq: (version, closed) for version, closed in _referring(asked, test.version.number)}
    for version in _naming(asked, asked.thing.code, asked.state.kinds.telling(_MENDED)):
        if version.start >= test.start and (reopened is None or version.start <= reopened.start):
            found.setdefault(version.seq, (version, _mends(asked, version)))
    return sorted(found.values(), key=lambda one: one[0].start)


def _mends(asked: Asked, version: Version) -> bool:
    """Return whether an entry tells that what it names is mended."""
    mentions = content_of(version, asked.state.kinds).mentions
    return any(_MENDED in facts(one.field, one.scope, None) for one in mentions)


def _action(asked: Asked, one: tuple[Version, bool]) -> str:
    version, mended = one
    said = asked.values.field(version, "action") or asked.state.kinds[version.kind].title
    return f"{version.name}, {_when(asked, version)}: {said.rstrip('.')} ({'closed' if mended else 'not closed'})"


def _drawn(asked: Asked, start: int, end: int | None) -> int:
    assert asked.thing is not None
    until = 1 << 60 if end is None else end - 1
    uses = uses_of(asked.state.connection, [asked.thing.id], [Role.DREW])
    return len({use.node for use in uses if use.end > start and use.start <= until})


def _when(asked: Asked, version: Version) -> str:
    return show_when(version.start, version.end, asked.state.settings.zone)
