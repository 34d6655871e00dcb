"""A head of the log as people type it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lotwalk.ledger.model import Head

# On a printed page it stands as `Ledger head: size 120, root 5a...`.
_HEAD = re.compile(
    r"\s*(?:ledger head:\s*)?(?:size\s*)?([1-9][0-9]{0,17})\s*(?::|,?\s*root)\s*([0-9a-f]{64})\s*", re.IGNORECASE
)


def read_head(text: str) -> Head:
    """Return the head that a text says, as `verify` or a printed page has it. Raises NotUnderstood."""
    from lotwalk.errors import NotUnderstood
    from lotwalk.ledger.model import Head

    found = _HEAD.fullmatch(text)
    if not found:
        raise NotUnderstood(f"`{text}` is not a head", "SIZE:ROOT as it is printed, the root of 64 hexadecimal digits")
    return Head(int(found[1]), bytes.fromhex(found[2]))
