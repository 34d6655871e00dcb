"""Reads a GS1 DataMatrix by hand, as ISO/IEC 16022 describes it: `tests/published` holds it against published symbols.

Square symbols of one region, in the ASCII and EDIFACT encodations, without mending: every codeword has to be right.
"""

from itertools import product

FNC1 = 232
PAD = 129
EDIFACT, UNLATCH = 240, 31
SIZES = {10: (3, 5), 12: (5, 7), 14: (8, 10), 16: (12, 12), 18: (18, 14), 20: (22, 18), 22: (30, 20), 24: (36, 24)}
"""Codewords of data and of error correction by the modules on a side. All of them are one block."""


def read(rows):
    """Return what a symbol says, GS for a mark between fields, and whether FNC1 stands first. Raises ValueError."""
    words = codewords(rows)
    data, _ = SIZES[len(rows)]
    if any(syndromes(words, len(words) - data)):
        raise ValueError("the codewords are not those of a whole symbol")
    return decoded(words[:data])


def codewords(rows):
    """Return the codewords in their order: the finder at the left and below, and the clock tracks, are looked at."""
    size = len(rows)
    clock = [at % 2 == 0 for at in range(size)]
    finder = all(row[0] for row in rows) and all(rows[-1])
    if not finder or list(rows[0]) != clock or [row[-1] for row in rows[::-1]] != clock:
        raise ValueError("no finder pattern")
    side = size - 2
    places = placement(side)
    bits = {spot: rows[spot[0] + 1][spot[1] + 1] for spot in product(range(side), repeat=2)}
    # What no codeword takes of the last corner is dark, light; light, dark.
    if any(dark != (row == column) for (row, column), dark in bits.items() if (row, column) not in places):
        raise ValueError("no fixed pattern in the corner")
    of_word = {place: bits[spot] for spot, place in places.items()}
    count = sum(SIZES[size])
    return [sum(of_word[word, bit] << (8 - bit) for bit in range(1, 9)) for word in range(1, count + 1)]


def placement(side):
    """Which bit of which codeword stands where (annex F): both counted from 1, bit 1 the most significant."""
    places = {}

    def put(row, column, word, bit):
        if row < 0:
            row, column = row + side, column + 4 - (side + 4) % 8
        if column < 0:
            row, column = row + 4 - (side + 4) % 8, column + side
        places[row, column] = (word, bit)

    def utah(row, column, word):
        for bit, (down, right) in enumerate(
            [(-2, -2), (-2, -1), (-1, -2), (-1, -1), (-1, 0), (0, -2), (0, -1), (0, 0)], 1
        ):
            put(row + down, column + right, word, bit)

    def corner(spots, word):
        for bit, (row, column) in enumerate(spots, 1):
            put(row % side, column % side, word, bit)

    word, row, column = 1, 4, 0
    while row < side or column < side:
        for at, spots in _corners(side):
            if (row, column) == at:
                corner(spots, word)
                word += 1
        while row >= 0 and column < side:
            if row < side and column >= 0 and (row, column) not in places:
                utah(row, column, word)
                word += 1
            row, column = row - 2, column + 2
        row, column = row + 1, column + 3
        while row < side and column >= 0:
            if row >= 0 and column < side and (row, column) not in places:
                utah(row, column, word)
                word += 1
            row, column = row + 2, column - 2
        row, column = row + 3, column + 1
    return places


def _corners(side):
    """The codewords that are bent around corners: where the walk is then, and the modules, counted from the ends."""
    yield (side, 0), [(-1, 0), (-1, 1), (-1, 2), (0, -2), (0, -1), (1, -1), (2, -1), (3, -1)]
    if side % 4:
        yield (side - 2, 0), [(-3, 0), (-2, 0), (-1, 0), (0, -4), (0, -3), (0, -2), (0, -1), (1, -1)]
    if side % 8 == 4:
        yield (side - 2, 0), [(-3, 0), (-2, 0), (-1, 0), (0, -2), (0, -1), (1, -1), (2, -1), (3, -1)]
    if side % 8 == 0:
        yield (side + 4, 2), [(-1, 0), (-1, -1), (0, -3), (0, -2), (0, -1), (1, -3), (1, -2), (1, -1)]


def syndromes(words, many):
    """The word polynomial at the powers 1 to `many` of 2, over GF(256) with 301: zeros for a whole symbol."""
    found = []
    point = 1
    for _ in range(many):
        point = _times(point, 2)
        total = 0
        for word in words:
            total = _times(total, point) ^ word
        found.append(total)
    return found


def _times(one, other):
    out = 0
    while other:
        out ^= one if other & 1 else 0
        one = one << 1 ^ (301 if one & 128 else 0)
        other >>= 1
    return out


def decoded(words):
    """What codewords of data say in the ASCII and EDIFACT encodations, and whether FNC1 stands first."""
    text, place = "", 0
    while place < len(words) and words[place] != PAD:
        word = words[place]
        place += 1
        if word == EDIFACT:
            more, place = _edifact(words, place)
            text += more
        elif word == FNC1:
            text += "\x1d" if place > 1 else ""
        elif 1 <= word <= 128:
            text += chr(word - 1)
        elif 130 <= word <= 229:
            text += f"{word - 130:02}"
        else:
            raise ValueError(f"codeword {word} is of another encodation")
    return text, words[0] == FNC1


def _edifact(words, place):
    """The letters from there on, four in three codewords, and where ASCII goes on: what is left over is that anyhow."""
    text = ""
    while len(words) - place > 2:
        held = int.from_bytes(bytes(words[place : place + 3]), "big")
        for number, value in enumerate((held >> 18, held >> 12 & 63, held >> 6 & 63, held & 63)):
            if value == UNLATCH:
                return text, place + (number * 6 + 6 + 7) // 8
            text += chr(value if value & 32 else value + 64)
        place += 3
    return text, place
