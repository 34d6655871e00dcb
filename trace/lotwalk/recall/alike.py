"""Candidates that differ in their code only, such as the trays of one load, put together."""

from collections.abc import Iterable

from lotwalk.recall.model import Candidate


def alike(found: Iterable[Candidate]) -> list[tuple[Candidate, list[str]]]:
    """Return the candidates in their order, of those alike the first, each with the codes of all that are alike."""
    groups: dict[tuple[object, ...], tuple[Candidate, list[str]]] = {}
    for one in found:
        # A lot in the list of what it reaches differs from its twin by itself alone.
        lots = tuple(code for code in one.lots if code != one.thing.code)
        key = (one.thing.kind, one.link, one.spell, one.explains, one.others, lots, one.deliveries, one.evidence)
        groups.setdefault(key, (one, []))[1].append(one.thing.code)
    return list(groups.values())
