"""Hostile text in every text field of every kind of record: it goes through the ledger onto the page, whole."""

import shutil
from pathlib import Path

import pytest

from lotwalk.kinds.library import Kinds
from lotwalk.pages.definitions.definition import load, shipped
from lotwalk.pages.typeface.fonts import load_fonts

KINDS = Kinds.load()
# NUL the ledger refuses itself. Letters without a space come in front of it: others in each field, very many in one.
HOSTILE = "<b>&amp;</b> \\ ( ) שלום مرحبا z\u0300\u0301\u0302\u0303 \U0001f600\U0001f468\u200d\U0001f33e a\x07b"
SIGNS = "ЖФЩЮЯЭЪЫЛДПБЦЧШЙГИУЗНТМКРСЕВ"
VERY_MANY, MANY = 2_000, 150
MEANT = ("timezone", "rules")
"""Text that is understood, and refused where it is not."""
UNTIL = 1_772_000_000
# Kinds that the sample farm has no entry of: one with just what is asked for.
NEW = {
    "tank-fill": {"tank": "TUB-1"},
    "recall-exercise": {"started_from": "P-0209-1", "took": "40 min"},
    "release": {"lots": "P-0209-1", "reason": "found in order"},
}


@pytest.fixture(scope="module")
def hostile(sample, tmp_path_factory):
    """A copy of the sample farm, to be changed."""
    from tests.pages.conftest import Sample

    path = tmp_path_factory.mktemp("hostile") / "hostile.db"
    shutil.copy(sample, path)
    return Sample(Path(path))


def _texts(kind: str) -> list[str]:
    """The fields that hold a person's own words."""
    fields = KINDS[kind].fields.values()
    own = [field for field in fields if field.form == "text" and field.read == "text" and not field.choices]
    return [
        field.name
        for field in own
        if field.pattern in (None, "\\S") and field.length[1] is None and field.name not in MEANT
    ]


def _entry(book, kind: str, changes: dict[str, str]) -> None:
    """Write the changes over an entry of the period, or into a new one."""
    inside = [one for one in book.records(kind) if one["from"] < UNTIL]
    if KINDS[kind].settings:
        kept = {name: value for name, value in inside[-1]["fields"].items() if name not in changes}
        book.book.record(kind, at="2026-02-20 09:00", **(kept | changes | {"rules": "us"}))
    elif inside:
        book.book.amend(int(inside[-1]["name"][1:]), changes, because=HOSTILE, by=["DK"])
    else:
        book.book.record(kind, at="2026-02-20 09:00", by="DK", **(NEW[kind] | changes))


@pytest.mark.parametrize("kind", [kind for kind in KINDS.names if _texts(kind)])
def test_hostile_text_in_every_text_field_prints(hostile, kind):
    fields = dict(zip(_texts(kind), SIGNS, strict=False))
    many = {sign: MANY if number else VERY_MANY for number, sign in enumerate(fields.values())}
    _entry(hostile, kind, {name: f"{sign * many[sign]} {HOSTILE}" for name, sign in fields.items()})
    name = next(name for name in shipped() if not load(name, KINDS).asks and kind in load(name, KINDS).kinds)
    hostile.forget()
    pdf = hostile.print(name)
    printed = "".join(pdf.text.split())
    for field, sign in fields.items():
        assert printed.count(sign) >= many[sign], field
    assert "".join(load_fonts().printable(HOSTILE).split())[-30:] in printed
    assert "<b>&amp;</b>" in printed
    assert pdf.summary.pages == len(pdf.pages)
