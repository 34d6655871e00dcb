"""Candidates that differ in their code only, such as the trays of one load, put together."""

from collections.abc import Iterable

from lotwalk.recall.model import Candidate


def alike(found: Iterable[Candidate]) -> list[tuple[Candidate, list[str]]]:
    """Return the candidates in their order, of those alike the first, each with the codes of all that are alike.

    They are those of one recall, whose lists are of the same lots and deliveries.
    """
    groups: dict[tuple[object, ...], tuple[Candidate, list[str]]] = {}
    for one in found:
        # A lot in the list of what it reaches differs from its twin by itself alone.
        reached = (one.lots.bits(besides=one.thing.code), one.deliveries.bits())
        key = (one.thing.kind, one.link, one.spell, one.explains, one.others, *reached, one.evidence, one.assumed)
        groups.setdefault(key, (one, []))[1].append(one.thing.code)
    return list(groups.values())
