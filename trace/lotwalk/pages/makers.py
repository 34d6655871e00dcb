"""Which module works out which rows."""

from collections.abc import Mapping

from lotwalk.pages.worked import Maker

MAKERS: Mapping[str, Maker] = {}
"""By the words that a definition's `rows` names them with."""
