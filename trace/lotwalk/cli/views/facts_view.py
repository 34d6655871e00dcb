"""The hard facts of a recall as JSON: what tests found, and who was to be kept away."""

from collections.abc import Iterable
from typing import Any

from lotwalk.recall.model import Done, Found, KeptAway


def found_json(one: Found) -> dict[str, Any]:
    """Return a test that found a germ as JSON; `candidate` is false for what was asked about itself."""
    return {
        "code": one.thing.code,
        "kind": one.thing.kind,
        "germs": list(one.evidence.germs),
        "looked_for": one.evidence.looked_for or None,
        "says": one.evidence.says or None,
        "entry": one.evidence.entry,
        "at": one.evidence.at,
        "candidate": one.candidate is not None,
    }


def kept_away_json(one: KeptAway) -> dict[str, Any]:
    """Return somebody who was to be kept away as JSON; `back` is null while no return counts."""
    return {
        "person": one.person,
        "since": _done(one.since),
        "back": _done(one.back) if one.back else None,
        "candidate": one.candidate,
        "behind": _all(one.behind),
        "handled": _all(one.handled),
    }


def _all(done: Iterable[Done]) -> list[dict[str, str]]:
    return [_done(one) for one in done]


def _done(one: Done) -> dict[str, str]:
    return {"entry": one.entry, "at": one.at}
