"""Reads the `x-` annotations of a kind file, and refuses any that names what does not exist."""

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

from lotwalk.errors import KindError
from lotwalk.kinds.facts import FACTS
from lotwalk.kinds.files import Schema
from lotwalk.kinds.model import (
    LEAVES,
    TAKEN,
    Condition,
    Fact,
    FieldLimit,
    Instead,
    Makes,
    RoleCase,
    Shared,
    ThingKind,
    With,
)
from lotwalk.values.roles import WORDS, Role

DIMENSIONS = (
    "mass",
    "volume",
    "concentration",
    "time",
    "temperature",
    "count",
    "percent",
    "bacteria",
    "pressure",
    "length",
)
"""The dimensions in which an amount may be measured."""

LIMIT_SENSES = ("at_most", "at_least", "between", "within", "none_in")
"""How a number of the rule set bounds a field."""

LABEL_NUMBERS = ("strength", "contact")
"""Which numbers of a product's label a field must keep to."""

READ_OUT = ("text", "date")
"""How a field is read that a caller may read out from a package or a paper."""

MOST_LINES = 12
"""A page of a form has room for so many lines of one field."""

NOT_THINGS = ("entry", "finding")
"""What a field may name besides things."""


@dataclass(frozen=True, slots=True)
class Site:
    """Where an annotation stands: `beside` are the fields of the same object, `around` those of the entry."""

    where: str
    beside: Mapping[str, Schema]
    around: Mapping[str, Schema]
    things: Mapping[str, ThingKind]

    def error(self, key: str, what: str) -> KindError:
        """Return the error to raise, saying where."""
        return KindError(f"{self.where}: {key}: {what}")

    def one_of(self, key: str, name: Any, known: Iterable[str], noun: str) -> str:
        """Return the name if it is known; otherwise raise KindError with the names that are close."""
        known = tuple(known)
        if isinstance(name, str) and name in known:
            return name
        close = difflib.get_close_matches(str(name), known, 3)
        hint = f"did you mean {' or '.join(close)}" if close else f"there are {', '.join(sorted(known))}"
        raise self.error(key, f"there is no {noun} named {name!r}; {hint}")

    def field(self, key: str, name: Any, *, near: bool = True) -> str:
        """Return the name of a field that exists, beside this one or (unless `near`) in the entry."""
        known = self.beside if near else {**self.around, **self.beside}
        return self.one_of(key, name, known, "field beside it")

    def thing_kinds(self, key: str, value: Any) -> tuple[str, ...]:
        """Return kinds or classes of thing, all of which exist."""
        known = {*self.things, *(thing.cls for thing in self.things.values())}
        return tuple(self.one_of(key, name, known, "kind or class of thing") for name in self.listed(key, value))

    def listed(self, key: str, value: Any) -> list[Any]:
        """Return a list that is not empty."""
        if not isinstance(value, list) or not value:
            raise self.error(key, "a list was expected")
        return value

    def mapped(self, key: str, value: Any, must: Iterable[str], may: Iterable[str] = ()) -> dict[str, Any]:
        """Return a mapping with the keys it must have and none but those it may have."""
        must = set(must)
        if not isinstance(value, dict) or not must <= set(value) or not set(value) <= must | set(may):
            wanted = ", ".join(sorted(must)) + "".join(f", perhaps {name}" for name in sorted(may))
            raise self.error(key, f"a mapping with {wanted} was expected, not {value!r}")
        return value


def read_things(schema: Schema, site: Site) -> tuple[str, ...]:
    """Return what `x-thing` lets a code name."""
    found = site.listed("x-thing", schema["x-thing"]) if "x-thing" in schema else []
    plain = [name for name in found if name not in NOT_THINGS]
    kinds = site.thing_kinds("x-thing", plain) if plain else ()
    return (*kinds, *(name for name in NOT_THINGS if name in found))


def read_makes(schema: Schema, site: Site) -> Makes | None:
    """Return what `x-makes` says of the things that new codes name."""
    key = "x-makes"
    value = schema.get(key)
    if value is None:
        return None
    if isinstance(value, str):
        value = {"kind": value}
    value = site.mapped(key, value, (), ("kind", "from", "kind-of", "type", "type-of", "like"))
    if len(value.keys() & {"kind", "from", "kind-of"}) != 1 or len(value.keys() & {"type", "type-of"}) > 1:
        raise site.error(key, "one of kind, from and kind-of was expected, and at most one of type and type-of")
    if "kind" in value:
        site.one_of(key, value["kind"], site.things, "kind of thing")
    if "from" in value:
        choices = site.beside.get(site.field(key, value["from"]), {}).get("enum", ())
        if not choices or not set(choices) <= set(site.things):
            raise site.error(key, f"{value['from']} must list kinds of thing as its enum")
    for name in value.keys() - {"kind"}:
        site.field(key, value[name])
    if "like" in value and schema.get("format") != "code":
        raise site.error(key, "only one new code can be like another")
    return Makes(
        value.get("kind"),
        value.get("from"),
        value.get("kind-of"),
        value.get("type"),
        value.get("type-of"),
        value.get("like"),
    )


def read_condition(value: Any, key: str, site: Site) -> Condition:
    """Return a `when`, its values as text."""
    if value is None or value in ("passes", "fails"):
        return value  # type: ignore[no-any-return]
    if not isinstance(value, dict) or not value:
        raise site.error(key, f"passes, fails or a mapping was expected, not {value!r}")
    condition: dict[str, str | list[str | None] | None] = {}
    for name, wanted in value.items():
        several = [_spelled(item) for item in (wanted if isinstance(wanted, list) else [wanted])]
        if name == "thing":
            site.thing_kinds(key, several)
        elif name in ("given", "absent"):
            for other in several:
                site.field(key, other, near=False)
        elif name == LEAVES:
            for fact in several:
                site.one_of(key, fact, (*FACTS, TAKEN), "fact")
        else:
            _check_values(site.field(key, name, near=False), several, key, site)
        condition[name] = several
    return condition


def _spelled(value: Any) -> str | None:
    # YAML reads a bare yes or no as true or false.
    if isinstance(value, bool):
        return "yes" if value else "no"
    return None if value is None else str(value)


def _check_values(name: str, wanted: list[str | None], key: str, site: Site) -> None:
    choices = {**site.around, **site.beside}[name].get("enum")
    for value in wanted:
        if choices and value is not None and value not in choices:
            raise site.error(key, f"{name} is never {value!r}; it is one of {', '.join(choices)}")


def read_roles(schema: Schema, site: Site) -> tuple[RoleCase, ...]:
    """Return the cases of `x-role`; `about` for a field that names things and says nothing."""
    key = "x-role"
    if key not in schema:
        if "x-makes" in schema:
            raise site.error(key, "a field that makes things must say made or names")
        return (RoleCase(Role.ABOUT),)
    cases = schema[key]
    if not isinstance(cases, list):
        raise site.error(key, "a list was expected")
    return tuple(
        RoleCase(
            _role(key, site.mapped(key, case, ["role"], ["when"])["role"], site),
            read_condition(case.get("when"), key, site),
        )
        for case in cases
    )


def read_facts(schema: Schema, site: Site, allowed: Iterable[str] = FACTS) -> tuple[Fact, ...]:
    """Return the lines of `x-tells`, of a field or, with the `ENTRY_FACTS` allowed, of the entry itself."""
    key = "x-tells"
    if key not in schema:
        return ()
    return tuple(
        Fact(
            site.one_of(key, site.mapped(key, line, ["fact"], ["when"])["fact"], allowed, "fact"),
            read_condition(line.get("when"), key, site),
        )
        for line in site.listed(key, schema[key])
    )


def read_called(schema: Schema, site: Site) -> tuple[str, ...]:
    """Return the sibling fields of `x-called`, by which people call what a new code names."""
    key = "x-called"
    if key not in schema:
        return ()
    if "x-makes" not in schema:
        raise site.error(key, "only a field that makes things says what they are called")
    return tuple(site.field(key, name) for name in site.listed(key, schema[key]))


def read_instead(schema: Schema, site: Site) -> Instead | None:
    """Return `x-instead`: which things the codes of a field stand for others by, and the field that then says so."""
    key = "x-instead"
    if key not in schema:
        return None
    value = site.mapped(key, schema[key], ["of", "told"])
    if schema.get("format") != "codes" or "x-makes" in schema:
        raise site.error(key, "only a field of codes of things that are there may have others instead")
    told = site.field(key, value["told"])
    if site.beside[told].get("format") != "codes":
        raise site.error(key, f"{told} must be a field of codes")
    return Instead(site.thing_kinds(key, site.listed(key, value["of"])), told)


def read_read_out(schema: Schema, site: Site) -> bool:
    """Return whether a field stands on a package or a paper, so that a caller may read it out (`x-read-out`)."""
    key = "x-read-out"
    value = schema.get(key, False)
    if not isinstance(value, bool) or (value and schema.get("format", "text") not in READ_OUT):
        raise site.error(key, f"true, on a field read as {' or '.join(READ_OUT)}, was expected")
    return value


def read_bounds(schema: Schema, site: Site) -> tuple[Decimal | None, Decimal | None]:
    """Return `x-least` and `x-most` of a number; None where there is no bound."""
    found: list[Decimal | None] = []
    for key in ("x-least", "x-most"):
        value = schema.get(key)
        if value is not None and schema.get("format") not in ("number", "numbers"):
            raise site.error(key, "only a number or numbers have bounds")
        try:
            found.append(None if value is None else Decimal(str(value)))
        except InvalidOperation:
            raise site.error(key, f"a number was expected, not {value!r}") from None
    return found[0], found[1]


def read_order(schema: Schema, site: Site) -> tuple[tuple[str, str], ...]:
    """Return the pairs of `x-order` of the whole entry."""
    key = "x-order"
    pairs = []
    for pair in site.listed(key, schema[key]) if key in schema else ():
        names = [site.field(key, name) for name in site.listed(key, pair)]
        if len(names) != 2:
            raise site.error(key, "pairs of fields were expected")
        if {site.beside[name].get("format") for name in names} != {"date"}:
            raise site.error(key, f"{' and '.join(names)} must be dates")
        pairs.append((names[0], names[1]))
    return tuple(pairs)


def read_amount(schema: Schema, site: Site) -> tuple[str | tuple[str, str], ...]:
    """Return the sibling fields of `x-amount`, in the order in which they count."""
    key = "x-amount"
    found: list[str | tuple[str, str]] = []
    for name in site.listed(key, schema[key]) if key in schema else []:
        if isinstance(name, list) and len(name) == 2:
            packs, size = name
            found.append((_measure(packs, ("count",), key, site), _measure(size, ("amount",), key, site)))
        else:
            found.append(_measure(name, ("amount", "count", "trays"), key, site))
    return tuple(found)


def _measure(name: Any, forms: tuple[str, ...], key: str, site: Site) -> str:
    found = site.field(key, name)
    if site.beside[found].get("format") not in forms:
        raise site.error(key, f"{found} is not read as {' or '.join(forms)}")
    return found


def _role(key: str, word: object, site: Site) -> Role:
    return Role.named(site.one_of(key, word, WORDS, "role"))


def read_with(schema: Schema, site: Site) -> With | None:
    """Return `x-with`."""
    key = "x-with"
    if key not in schema:
        return None
    value = site.mapped(key, schema[key], ["role", "thing"], ["only"])
    role = _role(key, value["role"], site)
    only = site.field(key, value["only"]) if "only" in value else None
    return With(role, site.thing_kinds(key, value["thing"]), only)


def read_there(schema: Schema, site: Site) -> tuple[str, ...]:
    """Return the fields in `x-there`, of which the first that names something tells what the lots stood on."""
    key = "x-there"
    return tuple(site.field(key, name) for name in site.listed(key, schema[key])) if key in schema else ()


def read_usual(schema: Schema, site: Site) -> tuple[str | None, tuple[str, ...], bool]:
    """Return the field of the place in `x-usual`, the kinds of thing that it fills silence with (none: all), and
    whether it does so only where a judge says that something is asked there."""
    key = "x-usual"
    said = schema.get(key)
    if said is None or isinstance(said, str):
        return said, (), False
    said = site.mapped(key, said, ["field", "thing"], ["when"])
    if not isinstance(said["field"], str) or said.get("when", "asked") != "asked":
        raise site.error(key, "the name of a field of the place was expected, and perhaps when: asked")
    return said["field"], site.thing_kinds(key, said["thing"]), "when" in said


def read_follows(schema: Schema, site: Site) -> bool:
    """Return `x-follows`. Raises KindError unless the field's roles do hang on the verdict."""
    key = "x-follows"
    follows = schema.get(key, False)
    cases = schema.get("x-role", [])
    hangs = any(isinstance(case, dict) and case.get("when") in ("passes", "fails") for case in cases)
    if not isinstance(follows, bool) or (follows and not hangs):
        raise site.error(key, "true was expected, beside roles with when: passes or fails")
    return follows


def read_limits(schema: Schema, site: Site) -> tuple[FieldLimit, ...]:
    """Return the lines of `x-limit`. Which limits there are, the rule sets know."""
    key = "x-limit"
    found = []
    for line in site.listed(key, schema[key]) if key in schema else []:
        given = site.mapped(key, line, [], [*LIMIT_SENSES, "label", "of"])
        senses = [name for name in given if name != "of"]
        if len(senses) != 1 or not all(isinstance(value, str) and value for value in given.values()):
            raise site.error(key, f"each line says one of {', '.join(LIMIT_SENSES)} or label, and perhaps of")
        if senses[0] == "label":
            site.one_of(key, given["label"], LABEL_NUMBERS, "number of a label")
        found.append(FieldLimit(senses[0], given[senses[0]], given.get("of", "")))
    return tuple(found)


def read_lines(schema: Schema, site: Site) -> int:
    """Return `x-lines`, 1 where nothing is said."""
    lines = schema.get("x-lines", 1)
    if isinstance(lines, bool) or not isinstance(lines, int) or not 1 <= lines <= MOST_LINES:
        raise site.error("x-lines", f"a whole number from 1 to {MOST_LINES} was expected")
    return lines


def read_shared(schema: Schema, site: Site) -> Shared | None:
    """Return `x-shared` of the whole entry."""
    key = "x-shared"
    if key not in schema:
        return None
    value = site.mapped(key, schema[key], ["kind", "by", "role"])
    names = [site.field(key, name) for name in site.listed(key, value["by"])]
    if len(names) != 2:
        raise site.error(key, "by must name two fields")
    kind = site.one_of(key, value["kind"], site.things, "kind of thing")
    return Shared(kind, (names[0], names[1]), _role(key, value["role"], site))
