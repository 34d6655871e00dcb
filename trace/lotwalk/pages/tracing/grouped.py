"""The lists that say what stands together in a map's boxes."""

from collections.abc import Sequence

from lotwalk.pages.maps.model import Box, Map
from lotwalk.pages.tracing.flow import Column, Flow
from lotwalk.recall.words.common import code_list


def add_groups(flow: Flow, maps: Sequence[Map]) -> None:
    """Place, for each map in which things were put together, a row a box with all its codes."""
    for drawn in maps:
        groups = sorted((box for box in drawn.boxes if box.group), key=lambda box: box.group)
        if groups:
            flow.heading(f"What stands together in the map `{drawn.title}`")
            columns = (Column("List", 7, bold=True), Column("Box", 25), Column("Codes", 68))
            flow.grid(columns, [(str(box.group), box.title, code_list(codes_of(box))) for box in groups])


def codes_of(box: Box) -> Sequence[str]:
    """Return the codes in a box, in order."""
    return sorted(box.members)
