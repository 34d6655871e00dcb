"""`lotwalk export`, as a person runs it."""

import csv

import openpyxl
import pytest
from click.testing import CliRunner
from tests.exchange.conftest import small

from lotwalk.cli.main import program


@pytest.fixture
def run(tmp_path, monkeypatch):
    small(tmp_path / "lotwalk.db").ledger.engine.dispose()
    monkeypatch.chdir(tmp_path)

    def lotwalk(*arguments):
        return CliRunner().invoke(program, ["export", *arguments], standalone_mode=True)

    return lotwalk


def test_a_spreadsheet_for_a_lot(run, tmp_path):
    done = run("spreadsheet", "p-1", "-o", "request.xlsx")
    assert done.exit_code == 0 and "Shipping 2" in done.output and "missing" in done.output
    assert openpyxl.load_workbook(tmp_path / "request.xlsx").sheetnames[0] == "About"


def test_a_lot_is_found_by_what_a_scanner_reads_off_its_label(run):
    assert "Shipping 2" in run("spreadsheet", "https://id.gs1.org/01/00614141777778/10/P-1").output


def test_events_for_another_program(run, tmp_path):
    done = run("epcis", "P-1", "--for", "Cafe Under", "--ids", "urn")
    assert done.exit_code == 0 and "epcis.json: 5 events" in done.output
    assert run("epcis").exit_code == 0
    (tmp_path / "epcis.json").write_text('{"mine": 1}')
    assert "is no EPCIS document" in str(run("epcis").exception)


def test_one_table_is_a_file_and_several_are_a_folder(run, tmp_path):
    assert run("csv", "harvest", "-o", "cut.csv").exit_code == 0
    assert run("csv", "--event", "shipping", "--event", "receiving").exit_code == 0
    assert sorted(path.name for path in (tmp_path / "export").iterdir()) == ["receiving.csv", "shipping.csv"]
    with (tmp_path / "cut.csv").open(newline="", encoding="utf-8") as file:
        assert len(list(csv.reader(file))) == 2


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("spreadsheet", "NONE-SUCH"), "NONE-SUCH is not in the book"),
        (("spreadsheet", "CHILL"), "CHILL is a place"),
        (("spreadsheet", "--for", "NOBODY"), "no customer is called `NOBODY`"),
        (("spreadsheet", "--from", "2026-03-02", "--until", "2026-03-01"), "--until is before --from"),
        (("csv", "--event", "eating"), "there is no event named eating"),
        (("csv", "eating"), "there is no kind of record named 'eating'"),
        (("csv", "delivery", "--for", "CAFE"), "may name other customers"),
        (("csv", "harvest", "--event", "shipping"), "the one or the other"),
        (("csv", "-o", "all.csv"), "a folder in --out"),
    ],
)
def test_what_cannot_be_answered_is_told_and_nothing_is_written(run, tmp_path, arguments, told):
    before = {path.name for path in tmp_path.iterdir()}
    done = run(*arguments)
    assert done.exit_code != 0 and told in str(done.exception)
    assert {path.name for path in tmp_path.iterdir()} - before <= {"lotwalk.db-shm", "lotwalk.db-wal"}


@pytest.mark.parametrize("arguments", [("spreadsheet",), ("csv", "harvest")])
def test_nothing_else_is_written_over(run, tmp_path, arguments):
    (tmp_path / "mine.csv").write_text("my own notes")
    assert "is there already" in str(run(*arguments, "-o", "mine.csv").exception)
    assert (tmp_path / "mine.csv").read_text() == "my own notes"


def test_an_earlier_export_is_written_over(run):
    assert run("spreadsheet").exit_code == run("spreadsheet").exit_code == 0
    assert run("csv", "harvest", "-o", "h.csv").exit_code == run("csv", "harvest", "-o", "h.csv").exit_code == 0
