"""Lots that moved while on hold, were sold past their day or bare, void lots that live on, and what was lent."""

from collections.abc import Iterator

from lotwalk.balance import findings as balances
from lotwalk.balance.limits import Limits
from lotwalk.checks.lots import Lots
from lotwalk.checks.records import Records, Told
from lotwalk.checks.subjects.assurance import rooted
from lotwalk.finding import Cause, Due, Finding, finding
from lotwalk.judge.words import listed
from lotwalk.kinds.model import Value
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.read.likeness import like
from lotwalk.ledger.read.things import void_among
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role

HOLDS = "storage.holds_open"
LENT = "storage.lent_for"

_WORKED_ON = (Role.MADE, Role.HANDLED, Role.TENDED)
_HELD = "the farm's own hold"
_DATED = "the date on the package"
_ORDER = "the book's own order: what is void is out of the reckoning"
_WRAPPED = "the book's own order: a lot that names no packaging is not found when packaging is recalled"


def findings(records: Records) -> Iterator[Finding]:
    """Yield what is wrong with lots and with what was lent, and where the balances do not come out."""
    lots = records.share(Lots)
    yield from of_lots(records)
    yield from _bare(records, lots)
    yield from _lent(records)
    connection, limits = records.connection, Limits.of(records.rules)
    yield from balances.findings(connection, records.kinds, limits, records.units, records.now)


def of_lots(records: Records) -> Iterator[Finding]:
    """Yield what is wrong with single lots: moved while on hold, sold past their day, named although void."""
    lots = records.share(Lots)
    yield from _holds(records, lots)
    yield from _past_their_day(records)
    yield from _void(records, lots)


def dues(records: Records) -> Iterator[Due]:
    """Yield the day by which each open hold asks for a decision, and what was lent should be home."""
    wait, lots = records.seconds(HOLDS), records.share(Lots)
    for code, (told, release) in _held(records):
        if wait is not None and release is None and not lots.used_up(code):
            yield Due(
                records.date(told.record.end + wait),
                (code, told.record.name),
                f"{code} is on hold since {told.record.at}: {told.scope.get('reason')}",
                f"Decide what becomes of {code}, and record its release or its disposal.",
                records.basis(HOLDS),
            )
    away = records.seconds(LENT)
    for told, home in _loans(records):
        if away is not None and home is None:
            customer = told.scope.get("customer")
            yield Due(
                records.date(told.record.end + away),
                (told.code, told.record.name),
                f"{told.code} went to {customer} on {told.record.at} and is not back",
                f"Ask {customer} for {told.code}.",
                records.basis(LENT),
            )


def _held(records: Records) -> Iterator[tuple[str, tuple[Told, Told | None]]]:
    """Each hold of a lot, with the release that ended it."""
    released = records.told_of("released")
    for told in records.telling("held"):
        later = (one for one in released.get(told.code, ()) if not one.record.surely_before(told.record))
        yield told.code, (told, next(later, None))


def _holds(records: Records, lots: Lots) -> Iterator[Finding]:
    wait = records.seconds(HOLDS)
    leaving = {one.record.seq for fact in ("disposed", "sampled") for one in records.telling(fact)}
    for code, (told, release) in _held(records):
        hold = told.record
        for record in _uses(lots, told):
            after = not record.surely_before(hold) and not (release and release.record.surely_before(record))
            # Thrown away or sent to the laboratory is what a hold is for.
            if after and record.seq not in leaving:
                yield _moved(records, told, record)
        if release is None and lots.used_up(code):
            last = lots.taken[code][-1] if lots.taken.get(code) else hold
            yield finding(
                "hold-open",
                (code, hold.name),
                about=(code, hold.name, last.name),
                text=f"The hold of {code} of {hold.at} ({hold.name}: {told.scope.get('reason')}) was never ended, and"
                f" nothing is left of the lot since {last.at} ({last.name}).",
                do=f"Record the release of {code} with what became of it, so that the hold is not left hanging.",
                basis=_HELD,
                span=(hold.start, last.end),
                closers=(hold.name,),
                cause=_of_hold("hold-left", told, "was never ended, and nothing is left of what it held."),
            )
        elif release is None and wait is not None and records.date(hold.end + wait) < records.today:
            yield finding(
                "hold-long",
                (code, hold.name),
                about=(code, hold.name),
                text=f"{code} stands on hold since {hold.at} ({hold.name}: {told.scope.get('reason')}), and nobody"
                " has said what becomes of it.",
                do=f"Decide what becomes of {code}, and record its release or its disposal.",
                basis=records.basis(HOLDS),
                span=(hold.end + wait, records.now),
                closers=(hold.name,),
                cause=_of_hold("hold-lasts", told, "still stands, and nobody has said what becomes of what it holds."),
            )


def _of_hold(sort: str, told: Told, what: str) -> Cause:
    hold = told.record
    return Cause(
        (sort, hold.name),
        f"The hold of {hold.at} ({hold.name}: {told.scope.get('reason')}) {what}",
        "Decide what becomes of each, and record its release or its disposal.",
        (hold.name,),
        alone=True,
    )


def _uses(lots: Lots, told: Told) -> list[Entry]:
    """The entries that took of a lot; of an item those in which it touched what was made or worked on."""
    if told.thing.cls == "lot":
        return lots.taken.get(told.code, [])
    return [
        record
        for record in lots.naming(told.code)
        if any(use.role is Role.TOUCHED and use.code == told.code for use in record.version.uses)
        and record.version.codes(*_WORKED_ON)
    ]


def _moved(records: Records, told: Told, record: Entry) -> Finding:
    sent = [use.code for use in record.version.uses if use.role is Role.TO]
    made = [use.code for use in record.version.uses if use.role is Role.MADE]
    name = made[0] if made else record.name
    act = (
        f"Stop it if it has not left yet; else call {listed(sent)} to have it taken back or thrown away"
        if sent
        else f"Put {name} on hold"
    )
    used = "used in" if told.thing.cls == "lot" else "used for"
    went = f"went to {listed(sent)} with {name}" if sent else f"was {used} {name}"
    return finding(
        "held-moved",
        (told.code, name),
        about=(told.code, told.record.name, name, *sent),
        text=f"{told.code} {went} on {record.at} ({record.name}), while it was on hold ({told.record.name} of"
        f" {told.record.at}: {told.scope.get('reason')}).",
        do=f"{act}, and record that as a corrective action about {name}.",
        basis=_HELD,
        span=record.span,
        closers=(name, record.name),
        cause=Cause(
            ("hold-broken", told.record.name),
            f"Moved while on hold ({told.record.name}: {told.scope.get('reason')}).",
            "Have what left taken back or thrown away; hold what was made of it.",
            (told.record.name, told.code),
            f"{told.code} {went} on {record.at}.",
            alone=True,
        ),
    )


def _past_their_day(records: Records) -> Iterator[Finding]:
    for told in records.telling("delivered"):
        record, until = told.record, _best_before(records, told.code)
        if not isinstance(until, str) or records.date(record.start) <= until:
            continue
        sent = [use.code for use in record.version.uses if use.role is Role.TO]
        name = next((use.code for use in record.version.uses if use.role is Role.MADE), record.name)
        yield finding(
            "past-date",
            (told.code, name),
            about=(told.code, name, *sent),
            text=f"{told.code} went to {listed(sent) if sent else 'a customer'} with {name} on {record.at}, after its"
            f" best before {until}.",
            do=f"Tell the customer, and record that as a corrective action about {name}. If the date is a slip, amend"
            " the entry that packed the lot.",
            basis=_DATED,
            span=record.span,
            closers=(name, record.name),
            cause=Cause(
                ("sold-late", told.code),
                f"{told.code} was delivered after its best before {until}.",
                "Tell the customers. If the date is a slip, amend the entry that packed the lot.",
                (told.code,),
                alone=True,
            ),
        )


def _best_before(records: Records, code: str) -> Value | None:
    """The date on the package of a lot, or of the lot that it is some of."""
    seen: set[str] = set()
    here: str | None = code
    while here and fold(here) not in seen and (made := records.maker(here)):
        seen.add(fold(here))
        if "best_before" in made.values:
            return made.values["best_before"]
        here = like(made.version, records.kinds)
    return None


def _bare(records: Records, lots: Lots) -> Iterator[Finding]:
    # What is sold growing, or with its roots, stands in its tray.
    standing = {code for codes in rooted(records, lots).values() for code in codes}
    for record in records.entries_telling("bare"):
        made = lots.made_by(record)
        if standing.intersection(made):
            continue
        yield finding(
            "bare",
            (*(made[:1] or [record.name]),),
            about=(*made, record.name),
            text=f"{listed(made) if made else record.name} of {record.at} ({record.name}) has nothing around it, by the"
            " book: no lot of packaging is named.",
            do=f"Amend {record.name} to name the packaging that was used.",
            basis=_WRAPPED,
            span=record.span,
            closers=(record.name, *made),
        )


def _void(records: Records, lots: Lots) -> Iterator[Finding]:
    """Lots of which the maker is void, where an entry in force still uses them."""
    by_key = {thing.id: thing for thing in records.things.values() if thing.cls == "lot"}
    for key in sorted(void_among(records.connection, list(by_key))):
        code = by_key[key].code
        using = lots.naming(code)
        if not using:
            continue
        sold = any(use.role is Role.TOOK for record in using for use in record.version.uses if use.code == code)
        yield finding(
            "void-used",
            (code,),
            about=(code, *(record.name for record in using)),
            text=f"The entry that made {code} is void, and {listed([record.name for record in using])} still"
            f" {'name' if len(using) > 1 else 'names'} it.",
            do=f"Amend {listed([one.name for one in using])} to name the right lot, or record again what made {code}.",
            basis=_ORDER,
            span=(using[0].start, using[-1].end),
            severity="major" if sold else "minor",
        )


def _loans(records: Records) -> Iterator[tuple[Told, Told | None]]:
    """Each loan of an item, with its coming home."""
    home = records.told_of("home")
    for told in records.telling("lent"):
        later = (one for one in home.get(told.code, ()) if not one.record.surely_before(told.record))
        yield told, next(later, None)


def _lent(records: Records) -> Iterator[Finding]:
    away = records.seconds(LENT)
    gone = {code: [one.record for one in told] for code, told in records.told_of("gone").items()}
    for told, home in _loans(records):
        record = told.record
        lost = any(not one.surely_before(record) for one in gone.get(told.code, ()))
        if away is None or lost or home is not None or records.today <= records.date(record.end + away):
            continue
        name = next((use.code for use in record.version.uses if use.role is Role.MADE), record.name)
        customer = told.scope.get("customer")
        yield finding(
            "not-home",
            (told.code, name),
            about=(told.code, name, *([str(customer)] if customer else [])),
            text=f"{told.code} went to {customer or 'a customer'} with {name} on {record.at} and is not back by the"
            " book.",
            do=f"Ask {customer or 'the customer'} for it, and record that it is back, or that it is lost.",
            basis=records.basis(LENT),
            span=(record.end + away, records.now),
            closers=(name,),
            cause=Cause(
                ("not-home", name),
                "Something that was lent is not back by the book.",
                "Ask for it, and record that it is back, or that it is lost.",
                (name, *([str(customer)] if customer else [])),
                f"{customer or name}, {record.at}.",
                alone=True,
            ),
        )
