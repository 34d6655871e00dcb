"""What an answer of today lacks of one that an older program gave. A recall may become wider, and never narrower."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

Answer = Mapping[str, Any]
Covers = Callable[[Answer, Answer], bool]
"""Whether one thing of today's answer says all that one said then."""

_MORE = ("stands_for", "lots")
"""What is told of each of the asked of which there may be more."""


def lost(asked: list[str], now: Answer, then: Answer) -> list[str]:
    """What was answered then and is not any more; `asked` are the words after `lotwalk`.

    Everything reached then is reached now, at a level as close or closer, by a link as sure, in spells at least as
    long; of every lot, delivery, customer and call the same. A balance has the same numbers.
    """
    return list(_COMMANDS[asked[0]](now, then))


def _trace(now: Answer, then: Answer) -> Iterator[str]:
    yield from _each("reached", now["reached"], then["reached"], _reaches)
    yield from _gone("entry", now["entries"], then["entries"])
    yield from (
        f"{count} without {name}" for name, count in then["silent"].items() if now["silent"].get(name, 0) < count
    )


def _recall(now: Answer, then: Answer) -> Iterator[str]:
    yield from _each("candidate", now["candidates"], then["candidates"], _is_as_wide)
    for scope in ("affected", "affected_if_believed"):
        if then[scope]:
            yield from _scope(scope, now[scope] or now["affected"], then[scope])
    for name in ("holds", "packages"):
        yield from _gone(name, (one["lot"] for one in now[name]), (one["lot"] for one in then[name]))
    yield from _each("call", now["calls"], then["calls"], _is_called, "customer")
    for mine, other in zip(now["rings"], then["rings"], strict=True):
        if any(mine[name] < other[name] for name in ("lots", "deliveries", "customers")):
            yield f"ring {other['ring']}: {other} then, {mine} now"
    for mine, other in zip(now["asked_about"], then["asked_about"], strict=True):
        for name in _MORE:
            yield from _gone(f"{other['code']}: {name}", mine[name], other[name])
        yield from _balance(mine, {name: told for name, told in other.items() if name not in _MORE})
    for name in ("asked", "log_fits"):
        yield from _balance(now[name], then[name])


def _balance(now: Any, then: Any) -> Iterator[str]:
    """Nothing may differ; fields may be added."""
    if isinstance(then, Mapping):
        for name in then:
            yield from _balance(now.get(name), then[name]) if isinstance(now, Mapping) else [name]
    elif isinstance(then, list) and isinstance(now, list) and len(now) == len(then):
        for mine, other in zip(now, then, strict=True):
            yield from _balance(mine, other)
    elif now != then:
        yield f"{then} then, {now} now"


_COMMANDS: Mapping[str, Callable[[Any, Any], Iterator[str]]] = {
    "trace": _trace,
    "recall": _recall,
    "balance": _balance,
}


def _each(
    what: str, now: Iterable[Answer], then: Iterable[Answer], covers: Covers, name: str = "code"
) -> Iterator[str]:
    """What was listed then and has none in the list of today, of the same name, that says as much."""
    mine: dict[str, list[Answer]] = {}
    for one in now:
        mine.setdefault(one[name], []).append(one)
    for one in then:
        if not any(covers(other, one) for other in mine.get(one[name], [])):
            yield f"{what}: {one} then, {mine.get(one[name])} now"


def _gone(what: str, now: Iterable[str], then: Iterable[str]) -> list[str]:
    return [f"{what} {one}" for one in sorted(set(then) - set(now))]


def _scope(what: str, now: Answer, then: Answer) -> Iterator[str]:
    yield from _gone(f"{what}: lot", now["lots"], then["lots"])
    yield from _gone(f"{what}: customer", now["customers"], then["customers"])
    yield from _each(what, now["deliveries"], then["deliveries"], _holds_as_much)


def _reaches(now: Answer, then: Answer) -> bool:
    spells = now.get("spells", [])
    return _near(now, then) and all(any(_spans(one, other) for one in spells) for other in then.get("spells", []))


def _is_as_wide(now: Answer, then: Answer) -> bool:
    more = all(now[name] >= then[name] for name in ("explains", "others"))
    return _near(now, then) and more and _spans(now["spell"], then["spell"]) and _names_as_many(now, then, "customers")


def _is_called(now: Answer, then: Answer) -> bool:
    return now["ring"] <= then["ring"] and _names_as_many(now, then)


def _names_as_many(now: Answer, then: Answer, *more: str) -> bool:
    return all(set(then[name]) <= set(now[name]) for name in ("lots", "deliveries", *more))


def _holds_as_much(now: Answer, then: Answer) -> bool:
    return {one["lot"] for one in then["items"]} <= {one["lot"] for one in now["items"]}


def _near(now: Answer, then: Answer) -> bool:
    sure = now["link"] in (then["link"], "ingredient")
    return sure and now["ring"] <= then["ring"] and now["assumed"] <= then["assumed"]


def _spans(now: Answer | None, then: Answer | None) -> bool:
    """Whether a spell is at least as long; an end that is open is None. Both are in the farm's winter time."""
    if now is None or then is None:
        return now is then
    begins = now["from"] is None or (then["from"] is not None and now["from"] <= then["from"])
    return begins and (now["until"] is None or (then["until"] is not None and now["until"] >= then["until"]))
