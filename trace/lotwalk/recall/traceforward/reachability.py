"""Sets of bits handed down a graph or up: its strongly connected parts, and a table of bits turned on its side."""

from array import array
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from itertools import compress
from operator import eq
from typing import overload


class Parts:
    """The strongly connected parts of a graph (Tarjan's algorithm, iterative). `of` gives each vertex its part.

    A part's number is higher than those of all parts that it leads to.
    """

    def __init__(self, edges: Sequence[Sequence[int]]) -> None:
        self._edges = edges
        self.of = array("i", [-1]) * len(edges)
        self.count = 0
        self._by_part: array[int] = array("i")
        self._order = array("i", [0]) * len(edges)
        self._low = array("i", [0]) * len(edges)
        for root in range(len(edges)):
            if not self._order[root]:
                self._search(root)
        del self._order, self._low

    def hand_down(self, bits: list[int]) -> None:
        """Give each part also the bits of all parts that lead to it."""
        for vertex in reversed(self._by_part):
            part = self.of[vertex]
            given = bits[part]
            if given:
                for target in self._edges[vertex]:
                    other = self.of[target]
                    if other != part:
                        bits[other] = bits[other] | given if bits[other] else given

    def hand_up(self, bits: list[int]) -> None:
        """Give each part also the bits of all parts that it leads to."""
        for vertex in self._by_part:
            part = self.of[vertex]
            for target in self._edges[vertex]:
                other = self.of[target]
                if other != part and bits[other]:
                    bits[part] |= bits[other]

    def _search(self, root: int) -> None:
        order, low, part_of = self._order, self._low, self.of
        clock = len(self._by_part)
        stack: list[int] = []
        work = [(root, iter(self._edges[root]))]
        clock += 1
        order[root] = low[root] = clock
        stack.append(root)
        while work:
            vertex, targets = work[-1]
            for target in targets:
                if not order[target]:
                    clock += 1
                    order[target] = low[target] = clock
                    stack.append(target)
                    work.append((target, iter(self._edges[target])))
                    break
                if part_of[target] < 0 and order[target] < low[vertex]:
                    low[vertex] = order[target]
            else:
                work.pop()
                if work and low[vertex] < low[work[-1][0]]:
                    low[work[-1][0]] = low[vertex]
                if low[vertex] == order[vertex]:
                    self._close(vertex, stack)

    def _close(self, vertex: int, stack: list[int]) -> None:
        """Take one whole part off the stack."""
        member = -1
        while member != vertex:
            member = stack.pop()
            self.of[member] = self.count
            self._by_part.append(member)
        self.count += 1


def turned(rows: Sequence[int], width: int) -> list[int]:
    """Return the columns of a table of bits: bit r of column c is bit c of row r. `width` is how many columns."""
    size = (width + 7) // 8
    table = b"".join(row.to_bytes(size, "little") for row in reversed(rows))
    columns = []
    for number in range(width):
        # Eight columns lie in one byte of each row; one of them, written as digits, is the column in base two.
        digits = table[number // 8 :: size].translate(_DIGITS[number % 8])
        columns.append(int(digits or b"0", 2))
    return columns


_DIGITS = [bytes(48 + (byte >> bit & 1) for byte in range(256)) for bit in range(8)]


class Codes(Sequence[str]):
    """Some of many codes, held as bits: a thousand candidates may each reach nearly every lot there is."""

    __slots__ = ("_bits", "_names")

    def __init__(self, names: Sequence[str], bits: int) -> None:
        """`names` are all codes in order; bit n stands for names[n]."""
        self._names = names
        self._bits = bits

    def bits(self, besides: str = "") -> int:
        """Return the bits, without that of a code: a thousand lists of as many codes are soon compared by them."""
        place = bisect_left(self._names, besides)
        named = besides and place < len(self._names) and self._names[place] == besides
        return self._bits & ~(1 << place) if named else self._bits

    def __len__(self) -> int:
        return self._bits.bit_count()

    def __iter__(self) -> Iterator[str]:
        return compress(self._names, f"{self._bits:b}"[::-1].encode().translate(_FLAGS))

    @overload
    def __getitem__(self, index: int) -> str: ...
    @overload
    def __getitem__(self, index: slice) -> Sequence[str]: ...
    def __getitem__(self, index: int | slice) -> str | Sequence[str]:
        return tuple(self)[index]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and len(self) == len(other) and all(map(eq, self, other))

    def __hash__(self) -> int:
        return hash(tuple(self))

    def __repr__(self) -> str:
        return f"Codes({', '.join(self)})"


_FLAGS = bytes.maketrans(b"01", b"\0\1")
