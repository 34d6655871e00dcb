"""The fields of a PDF form and what stands in them, read with pypdf, whatever the file is."""

import io
import logging
from collections.abc import Iterator
from typing import Any

from lotwalk.errors import NotUnderstood

BEGINS = b"%PDF-"
"""What a PDF starts with, within its first bytes."""

LARGEST = 16_000_000
"""Bytes. A form of every kind is a fifth of this; what is larger holds scans, or is meant to do damage."""

_LOOKED_AT = 1024
_MOST_FIELDS = 100_000
_DEEPEST = 12
_FORM = "a form printed with `lotwalk form KIND --fillable`, filled in and saved"

# pypdf warns of each oddity in a file. What matters of that is told as a refusal.
logging.getLogger("pypdf").addHandler(logging.NullHandler())


def is_pdf(content: bytes) -> bool:
    """Return whether a file's content is that of a PDF, whatever its name is."""
    return BEGINS in content[:_LOOKED_AT]


def read_fields(content: bytes) -> dict[str, str | bool]:
    """Return what stands in each field of a PDF form: text, or whether a box is ticked.

    A name is that of the field with those of its parents, parted by full stops. Raises NotUnderstood for a file that
    cannot be read, is locked, or has no form.
    """
    if len(content) > LARGEST:
        raise NotUnderstood(f"the file is larger than {LARGEST // 1_000_000} MB", _FORM)
    try:
        return dict(_fields(content))
    except NotUnderstood:
        raise
    except MemoryError:
        raise NotUnderstood("the file needs more memory than there is", _FORM) from None
    except Exception as error:  # a damaged file makes the reader fail in any way there is
        raise NotUnderstood(f"the PDF is damaged ({type(error).__name__})", f"{_FORM} by a program for PDFs") from None


def _fields(content: bytes) -> Iterator[tuple[str, str | bool]]:
    from pypdf import PdfReader
    from pypdf.errors import DependencyError

    locked = NotUnderstood("the PDF is locked with a password", "a copy saved without one")
    try:
        reader = PdfReader(io.BytesIO(content))
    except DependencyError:  # pypdf would need another library to unlock it
        raise locked from None
    if reader.is_encrypted:
        raise locked
    form = _plain(reader.trailer["/Root"]).get("/AcroForm")
    if form is None:
        raise NotUnderstood("the PDF has no fields; it may be a scan, or was printed to a file", _FORM)
    seen: set[tuple[int, int]] = set()
    # Each field with its name so far, and what its parents say of its type and value.
    waiting: list[tuple[Any, str, dict[str, Any], int]] = [
        (one, "", {}, 0) for one in reversed(_list(_plain(form).get("/Fields")))
    ]
    while waiting:
        reference, parent, above, depth = waiting.pop()
        number = (getattr(reference, "idnum", 0), getattr(reference, "generation", 0))
        if number[0] and number in seen:
            continue
        seen.add(number)
        if len(seen) > _MOST_FIELDS or len(waiting) > _MOST_FIELDS or depth > _DEEPEST:
            raise NotUnderstood("the PDF has more fields than any form", _FORM)
        node = _plain(reference)
        own = _text(node.get("/T"))
        name = f"{parent}.{own}" if parent and own else parent or own
        held = above | {key: node[key] for key in ("/FT", "/V") if key in node}
        kids = _list(node.get("/Kids"))
        if any("/T" in _plain(kid) for kid in kids):
            waiting += [(kid, name, held, depth + 1) for kid in reversed(kids)]
        elif name:
            yield name, _value(held, node, kids)


def _value(held: dict[str, Any], node: Any, kids: list[Any]) -> str | bool:
    value = _resolved(held.get("/V"))
    if _resolved(held.get("/FT")) == "/Btn":
        # Some programs set the value alone and some only how the box looks. A tick that was seen is never lost.
        states = [value, *(_resolved(one.get("/AS")) for one in (node, *map(_plain, kids)))]
        return any(state is not None and str(state) not in ("/Off", "Off", "") for state in states)
    if isinstance(value, list):
        return "\n".join(_text(one) for one in value)
    return _text(value)


def _text(value: Any) -> str:
    value = _resolved(value)
    if value is None:
        return ""
    if hasattr(value, "get_data"):
        value = value.get_data()
    if isinstance(value, bytes):
        return value.decode("utf-16" if value[:2] in (b"\xfe\xff", b"\xff\xfe") else "latin-1")
    return str(value)


def _resolved(value: Any) -> Any:
    return value.get_object() if hasattr(value, "get_object") else value


def _plain(value: Any) -> dict[str, Any]:
    """Return a dictionary of the file, its reference followed; an empty one for anything else."""
    found = _resolved(value)
    return found if isinstance(found, dict) else {}


def _list(value: Any) -> list[Any]:
    found = _resolved(value)
    return list(found) if isinstance(found, list) else []
