"""The machine-readable codes of labels: squares of light and dark modules."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, TypeAlias, cast

import zxingcpp
from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel

MOST_MODULE = 2.13
"""Points (0.75 mm): a module where there is room."""

LEAST_MODULE = 0.852
"""Points (0.3 mm): the smallest module. A printer of 203 dots an inch draws it with two or three dots."""

_LEVELS = (QRErrorCorrectLevel.M, QRErrorCorrectLevel.L)


@dataclass(frozen=True, slots=True)
class Symbol:
    """A code: its rows of modules, true for dark, and how many modules around it stay white."""

    rows: tuple[tuple[bool, ...], ...]
    quiet: int

    @property
    def across(self) -> int:
        """The modules from edge to edge, the quiet zone included."""
        return len(self.rows) + 2 * self.quiet


Choices: TypeAlias = Sequence[Callable[[], Symbol]]
"""Symbols that say the same, the largest first, each made when it is asked for."""


def qr(text: str) -> Choices:
    """Return QR codes (ISO/IEC 18004) that hold a text as UTF-8: with more and with less for repair."""
    return [partial(_qr, text, level) for level in _LEVELS]


def _qr(text: str, level: int) -> Symbol:
    code = QRCode(None, level)
    code.addData(text)
    code.make()
    size = range(code.getModuleCount())
    return Symbol(tuple(tuple(bool(code.isDark(row, column)) for column in size) for row in size), 4)


def data_matrix(elements: str) -> Choices:
    """Return the GS1 DataMatrix (ISO/IEC 16022, with FNC1 first) of an element string with brackets."""
    return [partial(_data_matrix, elements)]


def _data_matrix(elements: str) -> Symbol:
    code = zxingcpp.create_barcode(elements, zxingcpp.BarcodeFormat.DataMatrix, gs1=True, force_square=True)
    image: Any = memoryview(cast(Any, code.to_image(scale=1, add_quiet_zones=False))).tolist()
    return Symbol(tuple(tuple(value < 128 for value in row) for row in image), 2)
