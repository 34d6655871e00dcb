"""Fills in forms as a viewer does, with pikepdf: another library than the one that reads them."""

import io
from collections.abc import Iterable, Mapping
from typing import Any

import pikepdf

from lotwalk.forms.names import Name
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Kind
from lotwalk.pages.forms.about import About
from lotwalk.pages.forms.form import write_forms


def printed(kinds: Kinds, *names: str, measures: str = "metric", **more: Any) -> bytes:
    """Return a fillable form of these kinds, without a ledger."""
    out = io.BytesIO()
    about = About.of_nobody(kinds, measures)
    write_forms([kinds[name] for name in names], about, out=out, fillable=True, **more)
    return out.getvalue()


def filled(form: bytes, values: Mapping[str, str | bool]) -> bytes:
    """Return the form with these boxes filled in. Each must be there."""
    with pikepdf.open(io.BytesIO(form)) as pdf:
        fields = {str(field.T): field for field in pdf.Root.AcroForm.Fields}
        for name, value in values.items():
            field = fields[name]
            if isinstance(value, bool):
                field.V = field.AS = pikepdf.Name.Yes if value else pikepdf.Name.Off
            else:
                field.V = pikepdf.String(value)
        out = io.BytesIO()
        pdf.save(out)
        return out.getvalue()


def boxes(kind: Kind, entry: Mapping[str, Any], row: int = 1) -> dict[str, str | bool]:
    """Return what a person would type and tick to write an entry into a row of a form."""
    found: dict[str, str | bool] = {}
    for name, value in entry.items():
        field = kind.fields.get(name)
        if field is None:
            continue
        if field.form == "rows":
            for line, member in enumerate(value if isinstance(value, list) else [value], 1):
                for inner, text in member.items():
                    place = Name(kind.name, row, name, line, inner)
                    found.update(_box(place, field.fields[inner].choices, text))
        else:
            found.update(_box(Name(kind.name, row, name), field.choices, value))
    return found


def _box(place: Name, choices: Iterable[str], value: Any) -> dict[str, str | bool]:
    texts = value if isinstance(value, list) else [value]
    if not choices:
        return {str(place): "\n".join(texts)}
    words = [word.strip() for text in texts for word in text.split(",")]
    return {str(Name(place.kind, place.row, place.field, place.line, place.inner, word)): True for word in words}
