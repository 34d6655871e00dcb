"""The Merkle tree of RFC 9162 (and RFC 6962), with SHA-256: roots, peaks and proofs.

Leaves are given as their hashes (`leaf_hash` of the data), 32 bytes each. Hashes of leaves and of nodes start
with different bytes, so neither can be passed off as the other.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import TypeAlias

HASH_SIZE = 32
"""Bytes of a SHA-256 hash."""

Part: TypeAlias = tuple[int, int]
"""A part of a tree that stands under one node: its first leaf (from 0), and the one after its last."""

EMPTY_ROOT = sha256(b"").digest()
"""The root of the tree without leaves."""


def leaf_hash(data: bytes) -> bytes:
    """Return the hash of a leaf that holds `data`."""
    return sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Return the hash of the node above two others."""
    return sha256(b"\x01" + left + right).digest()


@dataclass(frozen=True, slots=True)
class Peaks:
    """All that is needed to go on with a tree: the roots of its whole subtrees, the largest first.

    A tree of `size` leaves has one peak for each 1 among the binary digits of `size`: 64 at the very most.
    """

    size: int = 0
    hashes: tuple[bytes, ...] = ()

    def append(self, leaf: bytes) -> "Peaks":
        """Return the peaks after one more leaf (its hash)."""
        hashes = self.hashes
        size = self.size
        # Each trailing 1 of the size is a whole subtree as large as what is on its right by now.
        while size & 1:
            leaf = node_hash(hashes[-1], leaf)
            hashes = hashes[:-1]
            size >>= 1
        return Peaks(self.size + 1, (*hashes, leaf))

    def root(self) -> bytes:
        """Return the root of the tree."""
        if not self.hashes:
            return EMPTY_ROOT
        root = self.hashes[-1]
        for peak in self.hashes[-2::-1]:
            root = node_hash(peak, root)
        return root

    def to_bytes(self) -> bytes:
        """Return the peaks end to end; the size is kept beside them."""
        return b"".join(self.hashes)

    @classmethod
    def from_bytes(cls, size: int, blob: bytes) -> "Peaks":
        """Return the peaks of a tree of `size` leaves. Raises ValueError if the length is another tree's."""
        count = size.bit_count()
        if size < 0 or len(blob) != count * HASH_SIZE:
            raise ValueError(f"a tree of {size} leaves has {count} peaks, not {len(blob)} bytes")
        return cls(size, tuple(blob[at : at + HASH_SIZE] for at in range(0, len(blob), HASH_SIZE)))


def root_of_part(part: Part, before: Peaks, last: bytes) -> bytes:
    """Return the root of a part of a tree from the peaks of all leaves before its last one, and that leaf (its hash).

    So no other leaf need be read: whatever the part's size, two neighbours in a log that keeps peaks are enough.
    """
    low, high = part
    # A part starts at a multiple of a power of two that it does not exceed, so what lies left of it are whole peaks.
    return Peaks(high - 1 - low, before.hashes[low.bit_count() :]).append(last).root()


def inclusion_parts(index: int, size: int) -> list[Part]:
    """Return the parts whose roots lead from leaf `index` (the first is 0) to the root of a tree of `size` leaves.

    They stand in the order in which `verify_inclusion` takes their roots (RFC 9162, 2.1.3.1). Raises IndexError.
    """
    if not 0 <= index < size:
        raise IndexError(f"there is no leaf {index} in a tree of {size}")
    parts = []
    low, high = 0, size
    while high - low > 1:
        middle = _middle(low, high)
        if index < middle:
            parts.append((middle, high))
            high = middle
        else:
            parts.append((low, middle))
            low = middle
    return parts[::-1]


def verify_inclusion(leaf: bytes, index: int, size: int, proof: Sequence[bytes], root: bytes) -> bool:
    """Return whether the proof shows the leaf at `index` of the tree of that size and root (9162, 2.1.3.2)."""
    if not 0 <= index < size:
        return False
    here, last, computed = index, size - 1, leaf
    for step in proof:
        if last == 0:
            return False
        if here & 1 or here == last:
            computed = node_hash(step, computed)
            while here and not here & 1:
                here, last = here >> 1, last >> 1
        else:
            computed = node_hash(computed, step)
        here, last = here >> 1, last >> 1
    return last == 0 and computed == root


def consistency_parts(old_size: int, size: int) -> list[Part]:
    """Return the parts whose roots show the tree of the first `old_size` leaves to be the start of one of `size`.

    They stand in the order in which `verify_consistency` takes their roots (RFC 9162, 2.1.4.1). Nothing needs showing
    for an old size of 0, or of the whole. Raises IndexError beyond it.
    """
    if not 0 <= old_size <= size:
        raise IndexError(f"there are no {old_size} leaves in a tree of {size}")
    if old_size in (0, size):
        return []
    parts: list[Part] = []
    low, high, whole = 0, size, True
    # SUBPROOF, walked down from the root. `whole`: the old tree starts where this part does.
    while old_size != high:
        middle = _middle(low, high)
        if old_size <= middle:
            parts.append((middle, high))
            high = middle
        else:
            parts.append((low, middle))
            low, whole = middle, False
    if not whole:
        parts.append((low, high))
    return parts[::-1]


def verify_consistency(old_size: int, new_size: int, old_root: bytes, new_root: bytes, proof: Sequence[bytes]) -> bool:
    """Return whether the proof shows the old tree to be the start of the new one (RFC 9162, 2.1.4.2)."""
    if not 0 <= old_size <= new_size:
        return False
    if old_size == 0:
        return not proof and old_root == EMPTY_ROOT and (new_size > 0 or new_root == EMPTY_ROOT)
    if old_size == new_size:
        return not proof and old_root == new_root
    # An old tree that is a whole subtree of the new one is its own first step.
    steps = [old_root, *proof] if old_size & (old_size - 1) == 0 else list(proof)
    if not proof:
        return False
    here, last = old_size - 1, new_size - 1
    while here & 1:
        here, last = here >> 1, last >> 1
    old = new = steps[0]
    for step in steps[1:]:
        if last == 0:
            return False
        if here & 1 or here == last:
            old, new = node_hash(step, old), node_hash(step, new)
            while here and not here & 1:
                here, last = here >> 1, last >> 1
        else:
            new = node_hash(new, step)
        here, last = here >> 1, last >> 1
    return last == 0 and old == old_root and new == new_root


def _middle(low: int, high: int) -> int:
    """Return where a part parts: its left side holds the largest power of two of leaves that is less than all."""
    return low + (1 << (high - low - 1).bit_length() - 1)
