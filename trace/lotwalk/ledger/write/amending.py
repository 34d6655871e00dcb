"""What an amendment replaces, whether it may, and what the entry says with it."""

from collections.abc import Mapping, Sequence

from sqlalchemy import Connection, select, text

from lotwalk.errors import NotUnderstood, Problem, Refused
from lotwalk.kinds.check import check
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Checked, Kind, Setting
from lotwalk.ledger import record
from lotwalk.ledger.model import Amendment, File, SheetRef, Version
from lotwalk.ledger.read.things import find_thing
from lotwalk.ledger.read.versions import versions
from lotwalk.store import tables
from lotwalk.store.nodes import parts_of
from lotwalk.store.sql import in_force, in_roles, of_role, seq_of, use_in_force
from lotwalk.values.codes import expand
from lotwalk.values.roles import MAKES, Role
from lotwalk.values.text import Written
from lotwalk.values.times import read_when, zone
from lotwalk.values.units import Units


def current(connection: Connection, number: int, seen: int | None = None) -> Version:
    """Return the version in force of entry `E<number>`.

    `seen` is the number (`seq`) of the version that the person who amends it has read. Raises Refused when there is
    no such entry, when somebody amended it since, or when it is void.
    """
    row = connection.execute(
        text(f"SELECT e.record, e.digest FROM entry e WHERE e.first = :number AND {in_force()}"),
        {"number": number},
    ).first()
    if row is None:
        raise Refused([Problem(f"there is no entry E{number}", "the name of an entry, such as E12")])
    version = record.parse(*row)
    if seen is not None:
        _check_seen(connection, number, seen)
    if version.void:
        raise Refused([Problem(f"E{number} is void", "an entry in force; record it again instead")])
    return version


def _check_seen(connection: Connection, number: int, seen: int) -> None:
    # A re-judging in between changes nothing of what was read.
    since = [version for version in versions(connection, number) if version.seq > seen and version.amended_by]
    if since:
        what = f"E{number} was amended meanwhile by {', '.join(since[-1].amended_by)}: {since[-1].because}"
        raise Refused([Problem(what, "a look at what it says now")])


def _people(connection: Connection, by: Sequence[str]) -> tuple[str, ...]:
    """Return the codes of the people who amend an entry: several, or a text such as `TO, AK`. Raises Refused."""
    problems = []
    found = []
    try:
        codes = expand(by) if isinstance(by, str) and by.strip() else [code for code in by if code.strip()]
    except NotUnderstood as error:
        raise Refused([error.problem("by")]) from None
    if not codes:
        problems.append(Problem("it is not said who amends it", "a person, such as TO", "by"))
    for code in codes:
        person = find_thing(connection, code)
        if person is None or person.cls != "person":
            problems.append(Problem(f"{code} is not a person in the book", "who amends it, such as TO", "by"))
        else:
            found.append(person.code)
    if problems:
        raise Refused(problems)
    return tuple(found)


def _check_amendable(version: Version, kind: Kind, because: str) -> list[Problem]:
    """Return what speaks against amending an entry for this reason."""
    problems = []
    if kind.settings:
        expected = f"a further record of kind {kind.name}, which changes them from now on"
        problems.append(Problem(f"{version.name} holds the farm's settings", expected))
    if not because.strip():
        problems.append(Problem("it is not said why", 'a reason, such as --because "misread the strip"'))
    return problems


def amendment_of(
    connection: Connection, version: Version, kind: Kind, because: str, by: Sequence[str], place: str
) -> Amendment:
    """Return what replaces a version; what it says then is read in the time zone `place`.

    Raises Refused unless it is said why and by whom, and the entry is one that can be amended.
    """
    problems = _check_amendable(version, kind, because)
    try:
        persons = _people(connection, by)
    except Refused as refused:
        raise Refused([*problems, *refused.problems]) from None
    if problems:
        raise Refused(problems)
    return Amendment(version.seq, version.number, because.strip(), place, version.measures, persons)


def left_without(connection: Connection, amended: int) -> str:
    """Return a notice on things that no entry in force makes now that a version is amended, while others name them."""
    rows = connection.execute(
        text(
            "SELECT DISTINCT t.code, n.first FROM use m JOIN thing t ON t.id = m.thing"
            f" JOIN use u ON u.thing = m.thing AND {in_roles('u', *Role)} JOIN entry n ON n.seq = {seq_of('u')}"
            f" WHERE m.node IN (:first, :second) AND {of_role('m', *MAKES)} AND {in_force('n')}"
            " AND NOT EXISTS (SELECT 1 FROM use k WHERE k.thing = m.thing"
            f" AND {in_roles('k', *MAKES)} AND {use_in_force('k')}) ORDER BY n.first"
        ),
        dict(zip(("first", "second"), parts_of(amended), strict=True)),
    ).all()
    if not rows:
        return ""
    codes = ", ".join(dict.fromkeys(row[0] for row in rows))
    names = ", ".join(f"E{number}" for number in dict.fromkeys(row[1] for row in rows))
    return f"nothing in force makes {codes} now, and the walk ends there; still named by {names}: record or amend those"


def says_already(version: Version, checked: Checked, files: Sequence[File], before: Checked) -> bool:
    """Return whether the version says already what is now to replace it."""
    same_files = [file.digest for file in files] == [file.digest for file in version.files]
    return same_files and record.alike(checked) == record.alike(before)


def content_with(version: Version, changes: Mapping[str, Written | None]) -> dict[str, Written]:
    """Return what an entry says with changes over its fields; None takes a field away.

    Raises Refused for a change of its kind.
    """
    if changes.get("kind", version.kind) != version.kind:
        raise Refused([Problem(f"{version.name} is a {version.kind} for good", "a void, and a new record", "kind")])
    content = {name: value for name, value in record.written(version).items() if name not in changes}
    return content | {name: value for name, value in changes.items() if value is not None}


def changed(version: Version, content: Mapping[str, Written]) -> str:
    """Return in words what an entry says otherwise with this content, field by field."""
    before = record.written(version)
    told = []
    for name in dict.fromkeys([*before, *content]):
        old, new = before.get(name), content.get(name)
        if old == new:
            continue
        if old is None:
            told.append(f"{name} is now {_shown(new)}")
        elif new is None:
            told.append(f"{name} was {_shown(old)} and is taken away")
        else:
            told.append(f"{name} was {_shown(old)} and is now {_shown(new)}")
    return "; ".join(told)


def _shown(value: Written | None) -> str:
    if isinstance(value, Mapping):
        return " ".join(f"{name} {_shown(one)}" for name, one in value.items())
    if isinstance(value, list | tuple):
        return ", ".join(map(_shown, value))
    return f"`{value}`"


def read_again(version: Version, kind: Kind, kinds: Kinds) -> Checked:
    """Return a stored entry's content as read again; one that its kind no longer understands can be voided too."""
    setting = Setting(Units.load(version.measures), zone(version.zone))
    try:
        return check(kind, record.written(version), setting, kinds)
    except Refused:
        at = read_when(version.at, setting.zone)
        return Checked(kind, at, version.by, version.place, version.fields, {}, (), (), version.silent, setting.zone)


def sheet_of(connection: Connection, version: Version) -> SheetRef | None:
    """Return the sheet that an entry stands on."""
    table = tables.sheet
    row = connection.execute(
        select(table.c.id, table.c.digest, table.c.name, table.c.in_order).where(table.c.digest == version.sheet)
    ).first()
    return SheetRef(row[0], row[1], row[2], bool(row[3])) if row else None
