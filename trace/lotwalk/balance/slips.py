"""Slips between a lot's delivery and the entries before and after it: packs of another size, and what came back of it.

A delivery's packs are weighed when it is recorded, by the size that the packing gave then. If the packing says another
size since, or the delivery says one of its own, the balance is out by the difference.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from decimal import Decimal

from sqlalchemy import Connection

from lotwalk.balance.model import total
from lotwalk.finding import Cause, Finding, finding
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Mention
from lotwalk.kinds.roles import facts
from lotwalk.ledger.entry import content_of
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.uses import makers
from lotwalk.ledger.read.versions import of_kinds
from lotwalk.ledger.write.names import Names
from lotwalk.ledger.write.standing import Standing
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role
from lotwalk.values.units import Amount, Units

_ARITHMETIC = "the arithmetic of the lot's own entries"


def pack_sizes(connection: Connection, kinds: Kinds, units: Units) -> Iterator[Finding]:
    """Yield the entries whose packs of a lot are of another size than its maker gives now."""
    names = Names(connection, kinds)
    standing = Standing(connection, names, kinds)
    for version in of_kinds(connection, kinds.telling("delivered")):
        content = content_of(version, kinds)
        mentioned: dict[str, int] = defaultdict(int)
        for mention in content.mentions:
            for code in mention.codes:
                mentioned[fold(code)] += 1
        for mention in content.mentions:
            packs = _packs(mention)
            lot = names.find(mention.codes[0]) if packs else None
            made = standing.made(lot) if lot else None
            if packs is None or lot is None or made is None or made.pack is None:
                continue
            count, size = packs
            if size is not None and size.unit == made.pack.unit and size.value != made.pack.value:
                yield _other_size(version, lot.code, units.show(size.value, size.unit), made.pack, units)
            elif size is None and mentioned[fold(lot.code)] == 1:
                booked = _amount_of(version, lot.code)
                if booked and booked[1] == made.pack.unit and booked[0] != made.pack.value * count:
                    each = units.show(booked[0] / count, booked[1]) if count else "none"
                    yield _other_size(version, lot.code, each, made.pack, units)


def returns(connection: Connection, kinds: Kinds, units: Units) -> Iterator[Finding]:
    """Yield what came back of a delivery that did not hold it, or more of it than went out."""
    names = Names(connection, kinds)
    back: dict[tuple[str, str], list[tuple[Version, Decimal | None, str | None]]] = defaultdict(list)
    for version in of_kinds(connection, kinds.telling("returned")):
        for lot in _returned(version, kinds, names):
            amount, unit = _amount_of(version, lot) or (None, None)
            for use in version.uses:
                if fold(use.code) != fold(lot):
                    back[lot, use.code].append((version, amount, unit))
    codes = {code for _, code in back}
    names.fetch(codes)
    keys = {thing.id: thing.code for code in codes if (thing := names.find(code)) is not None}
    sold = set(kinds.telling("delivered"))
    deliveries = {keys[key]: one for key, one in makers(connection, sorted(keys)).items() if one.kind in sold}
    for (lot, code), came in sorted(back.items()):
        if code in deliveries:
            yield from _against(deliveries[code], code, lot, came, units)


def _against(
    delivery: Version, code: str, lot: str, came: Sequence[tuple[Version, Decimal | None, str | None]], units: Units
) -> Iterator[Finding]:
    entries = tuple(dict.fromkeys(version.name for version, _, _ in came))
    if not any(use.role is Role.TOOK and fold(use.code) == fold(lot) for use in delivery.uses):
        yield finding(
            "returned-not-sent",
            (lot, code),
            about=(lot, code, *entries),
            text=f"{lot} came back of {code} ({', '.join(entries)}), and {code} ({delivery.name}) did not hold it.",
            do=f"Look which delivery or which lot it was, and amend {entries[0]} or {delivery.name}.",
            basis=_ARITHMETIC,
        )
        return
    sent = _amount_of(delivery, lot)
    like = [amount for _, amount, unit in came if amount is not None and sent and unit == sent[1]]
    if sent and total(like) > sent[0]:
        told = f"{units.show(total(like), sent[1])} of {units.show(sent[0], sent[1])}"
        yield finding(
            "returned-over",
            (lot, code),
            about=(lot, code, *entries),
            text=f"More of {lot} came back of {code} than went out with it: {told}.",
            do=f"Weigh it again, or look which delivery it was, and amend {' or '.join((*entries, delivery.name))}.",
            basis=_ARITHMETIC,
        )


def _other_size(version: Version, lot: str, told: str, pack: Amount, units: Units) -> Finding:
    return finding(
        "pack-size",
        (version.name, lot),
        about=(lot, version.name),
        text=f"{version.name} reckons the packs of {lot} at {told} each, and the record of {lot} says"
        f" {units.show(pack.value, pack.unit)} a pack.",
        do=f"Find out which is right, and amend {version.name} with the amount that went out, or the packing of {lot}.",
        basis=_ARITHMETIC,
        cause=Cause(
            ("pack-size", lot),
            f"Packs of {lot} are reckoned otherwise than its record says: {units.show(pack.value, pack.unit)} a pack.",
            f"Find out which is right, and amend the packing of {lot} or the others.",
            (lot,),
        ),
    )


def _packs(mention: Mention) -> tuple[int, Amount | None] | None:
    """How many packs of a lot that is there already an entry names, and the size that it gives them itself."""
    if mention.field.makes:
        return None
    for source in mention.field.amount:
        if isinstance(source, tuple):
            count, size = mention.scope.get(source[0]), mention.scope.get(source[1])
            if isinstance(count, int) and not isinstance(count, bool):
                return count, size if isinstance(size, Amount) else None
    return (mention.packs, None) if mention.packs is not None else None


def _returned(version: Version, kinds: Kinds, names: Names) -> list[str]:
    found = []
    for mention in content_of(version, kinds).mentions:
        for code in mention.codes:
            thing = names.find(code)
            if thing and "returned" in facts(mention.field, mention.scope, (thing.kind, thing.cls)):
                found.append(thing.code)
    return found


def _amount_of(version: Version, lot: str) -> tuple[Decimal, str] | None:
    """How much of a lot an entry took or named, as the book understood it."""
    for use in version.uses:
        if fold(use.code) == fold(lot) and use.amount is not None and use.unit:
            return use.amount, use.unit
    return None
