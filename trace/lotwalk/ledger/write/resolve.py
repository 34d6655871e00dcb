"""From a checked entry to its uses: codes looked up, new things made, silence filled, roles given.

What cannot be understood becomes a problem with its field and line; what is merely bad is left for the checks.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from lotwalk.errors import NotUnderstood, Problem
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Checked, Field, Mention, Value
from lotwalk.kinds.roles import depends_on_verdict, facts, roles
from lotwalk.ledger.model import ThingRow, UseRow
from lotwalk.ledger.write.lookup import Lookup, article
from lotwalk.ledger.write.names import Names
from lotwalk.ledger.write.standing import Standing
from lotwalk.ledger.write.usual import fills
from lotwalk.values.roles import Role

_CLASSES = {
    Role.TOOK: ("lot",),
    Role.MADE: ("lot",),
    Role.TENDED: ("lot",),
    Role.HANDLED: ("lot",),
    Role.TOUCHED: ("item", "water-source"),
    Role.CLEARED: ("item", "water-source"),
    Role.DREW: ("water-source",),
}

_WAS_THERE = (Role.TOOK, Role.HANDLED, Role.TENDED)
_BEARS = "bears"
"""The fact that a thing bears the lot which the entry makes: it is a medium, a tray or the like."""


@dataclass(slots=True)
class Resolved:
    """The uses of an entry. `judged` are those on which the judge is asked, `following` those whose role follows from
    what he says of them; all wait for the verdict, and are in `uses` too."""

    uses: list[UseRow]
    judged: list[tuple[UseRow, Mention]]
    following: list[tuple[UseRow, Mention]]
    silent: tuple[str, ...]
    problems: list[Problem]
    refs: set[int]


class Resolver:
    """Resolves entries one after another against the things known so far."""

    def __init__(
        self, names: Names, kinds: Kinds, standing: Standing, stored: int, unread: Collection[str] = ()
    ) -> None:
        # `stored` and `unread` are those of the lookup.
        self.kinds = kinds
        self.names = names
        self.standing = standing
        self.lookup = Lookup(names, kinds, stored, unread)

    def resolve(self, checked: Checked, amended: int | None = None) -> Resolved:
        """Return the entry's uses. `amended` is the version that this entry replaces, if it does."""
        out = Resolved([], [], [], checked.silent, [], set())
        assumed = self._assumed(checked, out)
        given = tuple(name for name, _ in assumed)
        for mention in _makers_first(checked.mentions):
            self._mention(mention, checked, given, amended, out)
        for name, things in assumed:
            for thing in things:
                self._assume(checked, name, thing, given, out)
        self._shared(checked, out)
        self._sum(out, checked.line)
        self._check_classes(out, checked.line)
        return out

    def unknown(self, mention: Mention) -> list[Problem]:
        """Return what is wrong with the codes that an entry names which is refused for other mistakes."""
        return [] if mention.field.makes else self.lookup.find(mention, ranged=True).problems

    def _mention(
        self, mention: Mention, checked: Checked, given: tuple[str, ...], amended: int | None, out: Resolved
    ) -> None:
        if mention.field.makes:
            found = self.lookup.make(mention, amended)
        else:
            ranged = ".." in str(checked.fields.get(mention.field.name, ""))
            found = self.lookup.find(mention, ranged=ranged)
        out.refs |= found.refs
        out.problems += found.problems
        for thing in found.things:
            try:
                amount, unit = self._amount(mention, thing)
            except NotUnderstood as error:
                out.problems.append(error.problem(mention.path, mention.line))
                amount, unit = None, None
            self._use(mention.field, mention, thing, given, out, amount=amount, unit=unit)

    def _use(
        self,
        field: Field,
        mention: Mention,
        thing: ThingRow,
        given: tuple[str, ...],
        out: Resolved,
        *,
        amount: Decimal | None = None,
        unit: str | None = None,
        assumed: bool = False,
    ) -> None:
        path = mention.path
        if depends_on_verdict(field):
            use = UseRow(None, thing, path, amount, unit, assumed)
            out.uses.append(use)
            (out.following if field.follows else out.judged).append((use, mention))
            return
        found = roles(field, mention.scope, passes=None, thing=(thing.kind, thing.cls), given=given)
        for number, role in enumerate(found):
            held = (amount, unit) if number == 0 else (None, None)
            introduces = field.makes is not None
            out.uses.append(UseRow(role, thing, path, *held, assumed, introduces=introduces))

    def _amount(self, mention: Mention, thing: ThingRow) -> tuple[Decimal | None, str | None]:
        if mention.field.makes:
            return self._made_amount(mention)
        if mention.amount is None and mention.packs is None:
            return None, None
        if mention.packs is not None:
            made = self.standing.made(thing)
            pack = made.pack if made else None
            if pack is not None:
                return pack.value * mention.packs, pack.unit
            if made and made.unit == "count":
                return Decimal(mention.packs), "count"
            raise NotUnderstood(f"the packing of {thing.code} gives no pack size", "an amount with its unit")
        assert mention.amount is not None, "what is measured is measured in packs or by an amount"
        unit = self.standing.unit(thing)
        if unit and unit != mention.amount.unit:
            raise NotUnderstood(
                f"{mention.amount.written} of {thing.code}, which is kept in {unit}", f"an amount in {unit}"
            )
        return mention.amount.value, mention.amount.unit

    def _made_amount(self, mention: Mention) -> tuple[Decimal | None, str | None]:
        """How much is made; packs of which no size is written have that of a thing named beside them (a product)."""
        if mention.amount:
            return mention.amount.value, mention.amount.unit
        if mention.packs is None:
            return None, None
        field = next(name[1] for name in mention.field.amount if isinstance(name, tuple))
        for value in mention.scope.values():
            thing = self.lookup.named(value) if isinstance(value, str) else None
            if thing and thing.cls == "paper" and (size := self.standing.size(thing, field)):
                return size.value * mention.packs, size.unit
        return Decimal(mention.packs), "count"

    def _assumed(self, checked: Checked, out: Resolved) -> list[tuple[str, list[ThingRow]]]:
        """The things that the place's record names for the fields that name nothing like them.

        A sowing that names only its mats names no tool, and a cut that names only its bench no knife: of each sort of
        thing the usual ones are used when none of that sort is named.
        `out.silent` keeps what is named by nobody: a field, or the `tool` or the `medium` of a field that holds both.
        """
        place = self.names.find(checked.place) if checked.place else None
        usual = self.standing.usual(place) if place else {}
        filled: list[tuple[str, list[ThingRow]]] = []
        silent: list[str] = []
        for name, field in checked.kind.fields.items():
            if not field.usual or field.usual_asked or checked.values.get(name) == []:
                continue
            if field.follows and not self._dipped(checked):
                # What follows the verdict on a load says nothing of what was sprayed or wiped.
                continue
            named = self._things(checked.values.get(name))
            theirs = fills(field, named, self._things(list(usual.get(field.usual, []))), self.kinds)
            if theirs:
                filled.append((name, theirs))
            silent += _unnamed(field, [*named, *theirs], checked)
        out.silent = tuple(silent)
        return filled

    def _dipped(self, checked: Checked) -> bool:
        """Whether a load went into a bath: of a mix, or of hot water where it takes nothing."""
        taken = [
            code
            for mention in checked.mentions
            if any(case.role is Role.TOOK for case in mention.field.roles)
            for code in mention.codes
        ]
        return not taken or any(map(self.names.is_bath, taken))

    def _things(self, codes: Value | None) -> list[ThingRow]:
        listed = codes if isinstance(codes, list) else []
        return [thing for code in listed if isinstance(code, str) and (thing := self.names.find(code))]

    def _assume(self, checked: Checked, name: str, thing: ThingRow, given: tuple[str, ...], out: Resolved) -> None:
        field = checked.kind.fields[name]
        mention = Mention(name, field, (thing.code,), checked.values, line=checked.line)
        self._use(field, mention, thing, given, out, assumed=True)

    def _shared(self, checked: Checked, out: Resolved) -> None:
        shared = checked.kind.shared
        if not shared:
            return
        parts = [checked.values.get(name) for name in shared.by]
        if all(isinstance(part, str) and part for part in parts):
            words = [str(part) for part in parts]
            code = self.standing.shared_code(words)
            known = self.names.find(code)
            if known and known.kind != shared.kind:
                code = self.standing.shared_code(words, taken=True)
                known = self.names.find(code)
            thing = known or self.names.make(code, shared.kind, None)
            out.uses.append(UseRow(shared.role, thing, shared.by[-1], introduces=True))

    def _sum(self, out: Resolved, line: int) -> None:
        """A role and thing stand once in an entry: repeated rows are summed."""
        kept: dict[tuple[Role | None, int, str], UseRow] = {}
        for use in out.uses:
            held = kept.setdefault((use.role, use.thing.id, "" if use.role else use.field), use)
            if held is use:
                continue
            if use.amount is not None and held.amount is not None and use.unit != held.unit:
                what = f"{use.thing.code} is named twice, in {held.unit} and in {use.unit}"
                out.problems.append(Problem(what, "one kind of unit for one lot", use.field, line=line))
            elif use.amount is not None:
                held.amount, held.unit = use.amount + (held.amount or 0), use.unit
        out.uses = list(kept.values())

    def _check_classes(self, out: Resolved, line: int) -> None:
        roles_of: dict[int, set[Role]] = {}
        made = {use.thing.id for use in out.uses if use.role is Role.MADE}
        for use in out.uses:
            if use.role is None:
                continue
            allowed = _CLASSES.get(use.role)
            if allowed and use.thing.cls not in allowed:
                out.problems.append(
                    Problem(
                        f"{use.thing.code} is {article(use.thing.cls)}, which cannot be {use.role.word}",
                        field=use.field,
                        line=line,
                    )
                )
            roles_of.setdefault(use.thing.id, set()).add(use.role)
            if use.role in _WAS_THERE and use.thing.id in made:
                what = f"{use.thing.code} is made here, so it cannot be {use.role.word} here"
                out.problems.append(Problem(what, "a lot that was there before", use.field, line=line))
        for use, mention in out.judged:
            if use.thing.cls == "item" and Role.TOUCHED in roles_of.get(use.thing.id, ()):
                out.problems.append(
                    Problem(
                        f"{use.thing.code} is sanitised here and also touched",
                        "it in one field only",
                        mention.path,
                        line=line,
                    )
                )


def _unnamed(field: Field, things: Sequence[ThingRow], checked: Checked) -> list[str]:
    """What a field says nothing of: itself, or the tool or the medium where it can name what bears a lot as well.

    What bears the lot may stand in another field.
    """
    if not any(fact.name == _BEARS for fact in field.facts):
        return [] if things else [field.name]
    bearing = [_BEARS in facts(field, checked.values, (thing.kind, thing.cls)) for thing in things]
    medium = any(bearing) or any(
        any(fact.name == _BEARS for fact in mention.field.facts)
        for mention in checked.mentions
        if mention.field is not field
    )
    if not things and not medium:
        return [field.name]
    return [word for word, missing in (("medium", not medium), ("tool", all(bearing))) if missing]


def _makers_first(mentions: Iterable[Mention]) -> list[Mention]:
    """New codes first, since a person's own first entry may name itself; but after what fixes their kind."""
    ordered = list(mentions)
    return sorted(ordered, key=lambda one: 0 if one.field.makes and not one.field.makes.kind_of else 1)
