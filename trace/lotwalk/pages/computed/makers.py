"""Which function works out which rows."""

from collections.abc import Mapping

from lotwalk.pages.computed.computed import Maker
from lotwalk.pages.computed.gaps import causes, closed_gaps, dues, open_gaps
from lotwalk.pages.computed.items import crops, items_behind, water_behind
from lotwalk.pages.computed.lots import deliveries_ahead, lots_ahead, lots_behind
from lotwalk.pages.computed.paragraphs import paragraphs
from lotwalk.pages.computed.water import failures, standing

MAKERS: Mapping[str, Maker] = {
    "lots-behind": lots_behind,
    "items-behind": items_behind,
    "water-behind": water_behind,
    "lots-ahead": lots_ahead,
    "deliveries-ahead": deliveries_ahead,
    "crops": crops,
    "water-standing": standing,
    "water-failures": failures,
    "gaps-causes": causes,
    "gaps-open": open_gaps,
    "gaps-closed": closed_gaps,
    "due": dues,
    "paragraphs": paragraphs,
}
"""By the words that a definition's `rows` names them with."""
