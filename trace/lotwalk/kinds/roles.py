"""Which roles and facts of a field hold, given what the entry says and how its checks came out."""

from collections.abc import Collection, Mapping

from lotwalk.kinds.model import LEAVES, Condition, Field, Value
from lotwalk.values.roles import Role


def roles(
    field: Field,
    scope: Mapping[str, Value],
    *,
    passes: bool | None,
    thing: tuple[str, str] | None,
    given: Collection[str] = (),
) -> list[Role]:
    """Return the roles in which an entry uses a thing that the field names, in the order of the kind file.

    `scope` is a mention's. `passes` is the verdict on the thing; None, undecided, leaves out the cases that wait
    for it. `thing` is the thing's (kind, class), or None: no case that asks for one holds. `given` are fields that
    silence filled.
    """
    found: list[Role] = []
    for case in field.roles:
        if case.role not in found and holds(case.when, scope, passes=passes, thing=thing, given=given):
            found.append(case.role)
    return found


def left_by_the_book(field: Field, scope: Mapping[str, Value], thing: tuple[str, str] | None) -> frozenset[str]:
    """Return the facts by which a later entry shows that some of a lot was left by this one, which says nothing of it.

    None where the entry says itself whether some was left, or its field does not ask. The arguments are those of
    `roles`.
    """
    found: set[str] = set()
    for case in field.roles:
        if isinstance(case.when, Mapping) and LEAVES in case.when:
            rest = {key: wanted for key, wanted in case.when.items() if key != LEAVES}
            if holds(rest, scope, passes=None, thing=thing):
                named = case.when[LEAVES]
                found.update(one for one in (named if isinstance(named, list) else [named]) if one)
    return frozenset(found)


def facts(
    field: Field, scope: Mapping[str, Value], thing: tuple[str, str] | None, given: Collection[str] = ()
) -> list[str]:
    """Return what the entry is evidence of, about a thing that the field names. The arguments are those of `roles`."""
    found: list[str] = []
    for fact in field.facts:
        if fact.name not in found and holds(fact.when, scope, passes=None, thing=thing, given=given):
            found.append(fact.name)
    return found


def holds(
    when: Condition,
    scope: Mapping[str, Value],
    *,
    passes: bool | None,
    thing: tuple[str, str] | None,
    given: Collection[str] = (),
) -> bool:
    """Return whether a condition holds. The arguments are those of `roles`."""
    if when is None:
        return True
    if isinstance(when, str):
        return passes is (when == "passes")
    return all(_line_holds(key, wanted, scope, thing, given) for key, wanted in when.items())


def _line_holds(
    key: str,
    wanted: str | list[str | None] | None,
    scope: Mapping[str, Value],
    thing: tuple[str, str] | None,
    given: Collection[str],
) -> bool:
    names = wanted if isinstance(wanted, list) else [wanted]
    if key == "given":
        return all(_is_given(name, scope, given) for name in names)
    if key == "absent":
        return not any(_is_given(name, scope, given) for name in names)
    if key == LEAVES:
        # The book tells, and not the entry.
        return False
    if key == "thing":
        return thing is not None and (thing[0] in names or thing[1] in names)
    return _spelled(scope.get(key)) in names


def _is_given(name: str | None, scope: Mapping[str, Value], given: Collection[str]) -> bool:
    # A field that says `none` holds an empty list: it is written, and names nothing.
    return name is not None and (name in given or (name in scope and scope[name] != []))


def _spelled(value: Value | None) -> str | None:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return None if value is None or value == [] else str(value)


def depends_on_verdict(field: Field) -> bool:
    """Return whether some role of the field waits for the entry's verdict."""
    return any(case.when in ("passes", "fails") for case in field.roles)
