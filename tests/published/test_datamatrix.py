"""DataMatrix symbols as they were published, read by hand (`tests/datamatrix.py`) and written by the labels' writer.

Sources:

- ISO/IEC 16022:2006, figures 1 and O.2, and GS1 General Specifications 21.0.1, figures 2.6.14-3, 2.6.14-4, 4.15-1 and
  5.6.2-1, as zint transcribed and checked them (zint/zint, backend/tests/test_dmatrix.c, `test_encode`).
- The codewords of figure O.2 with their error correction: zxing/zxing, ReedSolomonDecoderDataMatrixTestCase.java.
"""

import pytest
from tests import datamatrix

from lotwalk.pages.labels.label_symbols import data_matrix

ISO_1 = """
101010101010101010 101000101010001111 101100000111000010 100000101110100111 100100000100011100 101011111010101111
100110011111110110 110011101111111101 111111111101111100 101110110100101101 100010110101001110 101101111001100001
110001101010011110 110110100000100011 101101001101011010 100010011001011011 100011000000100100 111111111111111111
"""
ISO_O2 = """
1010101010 1100101101 1100000100 1100011101 1100001000 1000001111 1110110000 1111011001 1001110100 1111111111
"""
GS1_2_6_14_3 = """
10101010101010101010 11001111010100000111 10001010001001010100 10110011010100010001 11101010000001101010
10000100111011010111 10011010101101010110 11010001001110101001 11101000110100101100 11001111010111001101
10001010000001100000 11010000100010111011 10110010011000001000 10011010000011010011 11111010101110100110
11010010111011100001 11010100101100111110 11000001110010010101 10011011100101011010 11111111111111111111
"""
GS1_2_6_14_4 = """
10101010101010101010 11011000001101000111 10001001100001110100 10110110110000010001 11100010000111110110
10101010110011101101 11111000100000100010 10010010001011110001 10101010110011010110 11011110011010001111
10001010011101010010 10111111011110110011 11110100101101011000 11010111011100100111 10000000011001100000
11101111110100001011 11010001001000101010 11010011101000100101 10001000100001111010 11111111111111111111
"""
GS1_4_15_1 = """
10101010101010101010 11011000010100000111 10001001100001010100 10110111001100000001 11100010000101101110
10101100110001010101 11111010101000100110 10010011001000100011 10101000110010111010 11001111001010101111
10001010000111000010 10110000010101000011 11110010000001011000 11011000000110101111 11111010111011110110
11001001001110101111 11011010000001110010 11010111010111101101 10001000000101111010 11111111111111111111
"""
GS1_5_6_2_1 = """
10101010101010101010 11001111010111100111 10001010100101010100 10110111010010011001 11100010010101101110
10101100101000111101 11111010011000000110 10010011100000101101 10101001101011000010 11000110000100011111
10001011010001100010 10110000101001000011 11110011011001011100 11011101001000101011 11111101001000110110
11011100110000101111 11000100001111110000 11011111110010101101 10011010101001110010 11111111111111111111
"""
GS1 = [
    (GS1_2_6_14_3, "(01)09501101530003(17)150119(10)AB-123"),
    (GS1_2_6_14_4, "(01)04012345678901(21)ABCDEFG123456789"),
    (GS1_4_15_1, "(01)04012345678901(17)170101(10)ABC123"),
    (GS1_5_6_2_1, "(01)09512345678901(15)170810(21)abcde"),
]


def _rows(figure):
    return [[module == "1" for module in row] for row in figure.split()]


def _plain(elements):
    """What is in a symbol of an element string in which no field needs a mark at its end."""
    return elements.replace("(", "").replace(")", "")


def test_the_worked_symbol_of_the_standard_holds_its_codewords():
    words = datamatrix.codewords(_rows(ISO_O2))
    assert words == [142, 164, 186, 114, 25, 5, 88, 102]
    assert datamatrix.syndromes(words, 5) == [0] * 5
    assert datamatrix.read(_rows(ISO_O2)) == ("123456", False)


def test_the_first_symbol_of_the_standard_is_whole():
    """Of the size of a small label's symbol; its text is in C40, which is not read here."""
    words = datamatrix.codewords(_rows(ISO_1))
    assert words[0] == 230
    assert datamatrix.syndromes(words, 14) == [0] * 14


@pytest.mark.parametrize(("figure", "elements"), GS1)
def test_the_symbols_of_the_general_specifications_are_read(figure, elements):
    assert datamatrix.read(_rows(figure)) == (_plain(elements), True)


@pytest.mark.parametrize(("figure", "elements"), GS1)
def test_what_labels_write_says_the_same_with_the_mark_of_gs1_first(figure, elements):
    (symbol,) = (choice() for choice in data_matrix(elements))
    assert datamatrix.read(symbol.rows) == datamatrix.read(_rows(figure))


def test_where_the_encodation_is_the_same_the_published_symbol_is_written():
    (symbol,) = (choice() for choice in data_matrix("(01)09512345678901(15)170810(21)abcde"))
    assert [list(row) for row in symbol.rows] == _rows(GS1_5_6_2_1)


def test_a_symbol_with_a_wrong_module_is_not_read():
    """Wherever it stands: the finder is looked at, and error correction finds the rest."""
    rows = _rows(GS1_5_6_2_1)
    for row in range(20):
        for column in range(20):
            rows[row][column] ^= True
            with pytest.raises(ValueError):
                datamatrix.read(rows)
            rows[row][column] ^= True


@pytest.mark.parametrize("side", [8, 10, 12, 14, 16, 18, 20, 22])
def test_each_bit_of_each_codeword_has_one_place(side):
    places = datamatrix.placement(side)
    words = sum(datamatrix.SIZES[side + 2])
    assert sorted(places.values()) == [(word, bit) for word in range(1, words + 1) for bit in range(1, 9)]
