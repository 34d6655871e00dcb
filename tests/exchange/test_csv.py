"""CSV files, read back by the standard library's reader, with the words as they were written."""

import csv
import io

from tests.exchange.conftest import FARM, small

from lotwalk.exchange.csv_files import event_table, kind_tables
from lotwalk.exchange.export_request import answer, ask
from lotwalk.exchange.scope import Question
from lotwalk.ledger.read.versions import entries


def _kind(book, *names):
    with book.ledger.reading() as connection:
        return {one.name: one for one in kind_tables(ask(connection, book.ledger, Question()), names)}


def _read(table):
    titles, *rows = csv.reader(io.StringIO(table.text(), newline=""))
    return [dict(zip(titles, row, strict=True)) for row in rows]


def test_every_entry_in_force_of_every_kind_is_a_row(book):
    tables = _kind(book)
    with book.ledger.reading() as connection:
        for name in book.ledger.kinds.names:
            names = sorted(one.name for one in entries(connection, name))
            told = sorted(row["Entry"] for row in _read(tables[name])) if name in tables else []
            assert told == names


def test_a_field_stands_as_it_was_written(tmp_path):
    [row] = _read(_kind(small(tmp_path / "farm.db"), "harvest")["harvest"])
    assert (row["Lot"], row["From"], row["Amount"], row["Into"]) == ("H-1", "T-1", "1 kg", "CHILL")
    assert (row["Starts"], row["Ends"]) == ("2026-03-10T09:00:00+00:00", "2026-03-10T09:00:59+00:00")


def test_lines_end_and_quotes_double_as_rfc_4180_says(tmp_path):
    changed = [{**one, "name": 'a "b", c'} if one.get("code") == "PEA" else one for one in FARM]
    text = _kind(small(tmp_path / "farm.db", changed), "product")["product"].text()
    assert text.count("\r\n") == 2 and text.endswith("\r\n")
    assert '"a ""b"", c"' in text


def test_no_text_runs_as_a_formula_and_none_is_lost(tmp_path):
    for number, text in enumerate(
        ("=1+1", "+cmd|x", "@SUM(A1)", "-x", "\t=1", "two\nlines", "lone\rreturn", "\u202ey")
    ):
        changed = [{**one, "name": text} if one.get("code") == "PEA" else one for one in FARM]
        [row] = _read(_kind(small(tmp_path / f"{number}.db", changed), "product")["product"])
        told = row["Name"]
        assert told[:1] not in ("=", "+", "@", "-", "\t")
        assert told.removeprefix("'") == text.replace("\r", "\n")


def test_an_event_has_its_amounts_as_numbers_and_its_days_as_days(book):
    with book.ledger.reading() as connection:
        [sheet] = answer(ask(connection, book.ledger, Question()), events=["shipping"]).sheets
    rows = _read(event_table(sheet))
    assert len(rows) == len(sheet.rows) and sum(float(row["Quantity"]) for row in rows) > 0
    assert rows[0]["Ship date"] == "2026-01-05"
