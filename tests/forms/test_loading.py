"""A filled form through the record book, on a file and on a server: as the sheet that says the same."""

import pytest
from tests.forms.filling import filled, printed
from tests.ledger.farm import load, start

from lotwalk.errors import Refused
from lotwalk.ledger.read.versions import versions
from lotwalk.ledger.verify.entries import verify

SHEET = """
    - {kind: washing, at: 2026-03-02 09:00, by: TO, items: "M-01, M-02", method: brushed, seen_clean: yes, note: grün}
"""
TYPED = {
    "washing/3/at": "2026-03-02 09:00",
    "washing/3/by": "TO",
    "washing/3/items": "M-01, M-02",
    "washing/3/method": "brushed",
    "washing/3/seen_clean=yes": True,
    "washing/3/note": "grün",
}


@pytest.fixture
def book(where):
    book = start(where)
    yield book
    book.ledger.engine.dispose()


@pytest.fixture
def form(book, tmp_path):
    path = tmp_path / "filled.pdf"
    path.write_bytes(filled(printed(book.ledger.kinds, "washing"), TYPED))
    return path


def stored(book, receipt):
    with book.ledger.reading() as connection:
        (version,) = versions(connection, int(receipt.name[1:]))
    return version


def test_it_is_stored_as_the_sheet_would_be_and_hashed(book, form):
    (by_form,) = book.load(form)
    (by_sheet,) = load(book, SHEET, again=True)
    one, other = stored(book, by_form), stored(book, by_sheet)
    assert (one.kind, one.fields, one.at, one.by) == (other.kind, other.fields, other.at, other.by)
    assert (one.start, one.end, one.place) == (other.start, other.end, other.place)
    uses = [[(use.role, use.code, use.field) for use in each.uses] for each in (one, other)]
    assert uses[0] == uses[1]
    assert one.line == 3
    with book.ledger.reading() as connection:
        assert verify(connection, book.ledger.kinds).ok


def test_it_goes_in_once_and_not_beside_what_is_alike(book, form):
    book.load(form)
    with pytest.raises(Refused, match="this form is already in the book"):
        book.load(form, again=True)
    with pytest.raises(Refused, match="this washing is already in the book"):
        load(book, SHEET)


def test_one_row_with_a_mistake_keeps_all_of_it_out(book, form):
    second = {name.replace("/3/", "/1/"): value for name, value in TYPED.items()} | {"washing/1/items": "M-99"}
    form.write_bytes(filled(form.read_bytes(), second))
    with book.ledger.reading() as connection:
        before = book.ledger.head(connection)
    with pytest.raises(Refused) as caught:
        book.load(form)
    (problem,) = caught.value.problems
    assert str(problem).startswith(f"{form} row 1, Items: M-99 is not in the book")
    with book.ledger.reading() as connection:
        assert book.ledger.head(connection) == before
