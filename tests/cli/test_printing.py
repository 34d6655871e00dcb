"""Tables, CSV and JSON: what any text does to them."""

import csv
import io
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from lotwalk.cli import output

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=60)
tables = st.integers(1, 12).flatmap(
    lambda columns: st.lists(st.lists(texts, min_size=columns, max_size=columns), min_size=1, max_size=5)
)


def _printed(capsys, rows, **how):
    output.print_table([f"Column {number}" for number in range(len(rows[0]))], rows, **how)
    return capsys.readouterr().out


@given(rows=tables, whole=st.integers(0, 2))
def test_no_table_is_wider_than_a_hundred_columns_nor_steers_the_terminal(rows, whole):
    with pytest.MonkeyPatch.context() as patch:
        out = io.StringIO()
        patch.setattr("sys.stdout", out)
        output.print_table([f"Column {number}" for number in range(len(rows[0]))], rows, whole=whole)
    for line in out.getvalue().split("\n"):
        assert cell_len(line) <= output.WIDEST
    assert not [letter for letter in out.getvalue() if letter < " " and letter != "\n"]


def test_no_word_is_broken_while_there_is_room(capsys):
    words = "sodium hypochlorite on hard and non-porous surfaces that touch what is eaten raw"
    rows = [["STUBBIN:SH-F-007", words, words, "2026-01-14 13:21 to 2026-01-30 13:22"]]
    printed = _printed(capsys, rows).split()
    for word in [*words.split(), "STUBBIN:SH-F-007", "2026-01-14"]:
        assert word in printed


def test_the_first_columns_stay_on_one_line(capsys):
    rows = [["2026-01-14 13:21", "word " * 60]]
    assert "2026-01-14 13:21 " in _printed(capsys, rows, whole=1)


def test_wide_letters_are_measured_as_wide(capsys):
    rows = [["川川川", "end"], ["abcdef", "end"]]
    lines = [line for line in _printed(capsys, rows).splitlines() if line.endswith("end")]
    assert len({cell_len(line) for line in lines}) == 1


def test_markup_and_smileys_are_printed_as_written(capsys):
    assert "[bold]x[/bold] :smile:" in _printed(capsys, [["[bold]x[/bold] :smile:"]])


def test_piped_output_has_no_colours(ledger, shell):
    for arguments in (["log", "sanitising"], ["trace", "S-1", "--forward"], ["kinds"], ["--help"]):
        done = shell(*arguments)
        assert done.status == 0
        assert "\x1b" not in done.out


@given(rows=tables)
def test_csv_gives_back_what_was_put_in(rows):
    with pytest.MonkeyPatch.context() as patch:
        out = io.StringIO()
        patch.setattr("sys.stdout", out)
        output.print_csv(["a"] * len(rows[0]), rows)
    read = list(csv.reader(io.StringIO(out.getvalue(), newline="")))[1:]
    for told, row in zip(read, rows, strict=True):
        for cell, text in zip(told, row, strict=True):
            plain = text.replace("\r\n", "\n").replace("\r", "\n")
            assert cell in (plain, f"'{plain}")


@pytest.mark.parametrize("text", ["=1+1", "@SUM(A1)", "+1+cmd|' /C calc'!A0", "-2+3+cmd|' /C calc'!A0", "\t=1"])
def test_a_cell_does_not_run_as_a_formula(capsys, text):
    output.print_csv(["a"], [[text]])
    (cell,) = list(csv.reader(io.StringIO(capsys.readouterr().out)))[1]
    assert cell == f"'{text}"


@pytest.mark.parametrize("text", ["-2 degC", "+4", "-3.5", "5 %", "M-001", ""])
def test_amounts_and_codes_stand_in_csv_as_written(capsys, text):
    output.print_csv(["a", "b"], [[text, "x"]])
    assert list(csv.reader(io.StringIO(capsys.readouterr().out)))[1] == [text, "x"]


@given(
    value=st.recursive(texts | st.none() | st.integers(), lambda inner: st.lists(inner) | st.dictionaries(texts, inner))
)
def test_json_gives_back_what_was_put_in(value):
    with pytest.MonkeyPatch.context() as patch:
        out = io.StringIO()
        patch.setattr("sys.stdout", out)
        output.print_json(value)
    assert json.loads(out.getvalue()) == value
