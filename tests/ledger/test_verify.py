"""Whatever is changed behind the ledger's back is found, and the first entry that is wrong is named."""

import json
from contextlib import contextmanager

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from sqlalchemy import LargeBinary, Text, and_, delete, insert, select, text, update
from sqlalchemy.exc import DBAPIError
from tests.conftest import ENGINES
from tests.ledger.farm import load
from tests.ledger.whole import Truth, unguarded, whole
from tests.trees import consistency_proof, inclusion_proof, root_of

from lotwalk.ledger.model import Head
from lotwalk.ledger.verify.entries import verify
from lotwalk.store.tables import metadata
from lotwalk.values.canonical import canonical
from lotwalk.values.merkle import (
    Peaks,
    leaf_hash,
    verify_consistency,
    verify_inclusion,
)
from lotwalk.values.roles import Role

TABLES = metadata.tables
COLUMNS = sorted((table.name, column.name) for table in metadata.sorted_tables for column in table.columns)


@pytest.fixture(scope="module", params=ENGINES)
def ledger(request, tmp_path_factory):
    """The small ledger, and the truth about it. Tests change it in transactions that are rolled back."""
    folder = tmp_path_factory.mktemp("whole")
    server = request.getfixturevalue("postgres") if request.param == "postgresql" else None
    book = whole(server.fresh() if server else str(folder / "farm.db"), folder)
    with book.ledger.reading() as connection:
        truth = Truth(connection)
    yield book, truth
    book.ledger.engine.dispose()


@contextmanager
def behind_its_back(book):
    """A connection on which anything can be changed; it is undone in the end."""
    with book.ledger.engine.connect() as connection:
        transaction = connection.begin()
        unguarded(connection)
        yield connection
        transaction.rollback()


def check(book, connection, older=None):
    return verify(connection, book.ledger.kinds, older)


def this(table, row):
    return and_(*(column == row[column.name] for column in table.primary_key))


def test_the_ledger_has_something_in_every_column_to_tamper_with(ledger):
    """A row in every table, a use in every role, mixed and assumed uses, entries void and not, on sheets and not."""
    _, truth = ledger
    assert all(truth.rows.values())
    assert {row["role"] for row in truth.rows["use"]} == {role.stored for role in Role}
    assert {row["node"] & 1 for row in truth.rows["use"]} == {0, 1}
    assert {row["assumed"] for row in truth.rows["use"]} == {0, 1}
    assert {row["void"] for row in truth.rows["entry"]} == {0, 1}
    assert {row["sheet"] is None for row in truth.rows["entry"]} == {True, False}
    assert {bool(row["silent"]) for row in truth.rows["entry"]} == {True, False}


def test_what_was_recorded_is_whole(ledger):
    book, truth = ledger
    with book.ledger.reading() as connection:
        found = check(book, connection)
        assert (found.ok, found.first_bad, found.why) == (True, None, "")
        assert found.entries == len(truth.rows["entry"])
        assert found.head == book.ledger.head(connection)


def other_values(column, old, rows):
    """Values of the column's type, and those that other rows have, that differ from the old one."""
    if isinstance(column.type, LargeBinary):
        values = st.binary(max_size=40)
        if old:
            flips = st.integers(0, len(old) - 1)
            values |= flips.map(lambda at: old[:at] + bytes([old[at] ^ 1]) + old[at + 1 :])
    elif isinstance(column.type, Text):
        values = st.text("abcXYZ019 .-:", max_size=12)
        if old:
            values |= st.sampled_from((f"{old} ", old.upper(), old.lower(), old[1:]))
    else:
        # Far from any number that is in use, or next to the old one.
        values = st.integers(20_000, 30_000) | st.integers(1, 3).map(lambda more: (old or 0) + more)
    others = [row[column.name] for row in rows]
    values |= st.sampled_from(others)
    if column.nullable:
        values |= st.none()
    return values.filter(lambda value: value != old)


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_any_change_of_any_column_is_found_and_the_first_wrong_entry_is_named(ledger, data):
    book, truth = ledger
    table_name, column_name = data.draw(st.sampled_from(COLUMNS))
    table = TABLES[table_name]
    column = table.c[column_name]
    row = data.draw(st.sampled_from(truth.rows[table_name]))
    value = data.draw(other_values(column, row[column_name], truth.rows[table_name]))
    with behind_its_back(book) as connection:
        try:
            connection.execute(update(table).where(this(table, row)).values({column_name: value}))
        except DBAPIError:
            assume(False)  # the database itself does not have it: a second row of the same key
        found = check(book, connection)
    assert not found.ok
    assert found.why
    expected = truth.owner(table_name, row, column_name)
    # A row that is moved to another entry is missing in the one and too much in the other: the earlier is named.
    moved = table_name in ("use", "ref", "farm") and column_name in ("node", "seq")
    if moved:
        seq = value >> 1 if column_name == "node" else value
        there = truth.names.get(seq)
        before = int(row["node"] >> 1) if table_name == "use" else row["seq"]
        expected = there if there and seq < before else expected
    assert found.first_bad == expected


@pytest.mark.parametrize("ledger", ["sqlite"], indirect=True)
@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_a_value_of_another_type_is_told_and_not_stumbled_over(ledger, data):
    """A SQLite column takes anything."""
    book, truth = ledger
    table_name, column_name = data.draw(st.sampled_from(COLUMNS))
    row = data.draw(st.sampled_from(truth.rows[table_name]))
    value = data.draw(st.sampled_from((b"\xff\x00", "not a number", 1.5, "", b"")))
    assume(value != row[column_name])
    keys = [column.name for column in TABLES[table_name].primary_key]
    where = " AND ".join(f"{key} = ?" for key in keys)
    with behind_its_back(book) as connection:
        try:
            statement = f'UPDATE "{table_name}" SET {column_name} = ? WHERE {where}'
            connection.exec_driver_sql(statement, (value, *(row[key] for key in keys)))
        except DBAPIError:
            assume(False)
        found = check(book, connection)
    assert not found.ok
    assert found.why


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_any_row_that_is_removed_is_missed(ledger, data):
    book, truth = ledger
    table_name = data.draw(st.sampled_from(sorted(truth.rows)))
    row = data.draw(st.sampled_from(truth.rows[table_name]))
    last = truth.rows["entry"][-1]["seq"]
    with behind_its_back(book) as connection:
        connection.execute(delete(TABLES[table_name]).where(this(TABLES[table_name], row)))
        found = check(book, connection)
    assert not found.ok
    if table_name == "entry":
        # Its uses are left behind, also when it was the last.
        assert found.first_bad == (f"E{row['seq']}" if row["seq"] != last else None)
    else:
        column = "id" if table_name == "thing" else "digest"
        assert found.first_bad == truth.owner(table_name, row, column)


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_any_use_that_is_added_is_found(ledger, data):
    book, truth = ledger
    like = data.draw(st.sampled_from(truth.rows["use"]))
    changes = data.draw(
        st.fixed_dictionaries(
            {},
            optional={
                "role": st.sampled_from(sorted({role.stored for role in Role})),
                "thing": st.sampled_from([row["id"] for row in truth.rows["thing"]]) | st.just(9_999),
                "node": st.sampled_from([2 * seq + part for seq in truth.names for part in (0, 1)]),
            },
        )
    )
    with behind_its_back(book) as connection:
        try:
            connection.execute(insert(TABLES["use"]), {**like, **changes})
        except DBAPIError:
            assume(False)
        found = check(book, connection)
    assert (found.ok, found.first_bad) == (False, truth.names[changes.get("node", like["node"]) >> 1])


@pytest.mark.parametrize(
    ("table", "row", "why"),
    [
        ("use", {"node": 20_000, "role": 1, "thing": 1}, "uses are stored for entry number 10000, which there is not"),
        ("use", {"node": 0, "role": 1, "thing": 1}, "uses are stored for entry number 0, which there is not"),
        ("ref", {"seq": 9_000, "first": 3}, "references are stored for entry number 9000, which there is not"),
        ("thing", {"id": 900, "code": "X-1", "fold": "x-1", "kind": "medium", "cls": "item"}, "no entry makes X-1"),
        ("sheet", {"id": 900, "digest": "00", "name": "x.yaml", "in_order": 0}, "no entry stands on the sheet x.yaml"),
        (
            "attachment",
            {"digest": "00", "name": "x.pdf", "media_type": "application/pdf", "content": b"%PDF-"},
            "no entry has the attached file x.pdf",
        ),
    ],
    ids=["use", "use before all", "reference", "thing", "sheet", "file"],
)
def test_rows_that_belong_to_no_entry_are_found(ledger, table, row, why):
    book, truth = ledger
    with behind_its_back(book) as connection:
        connection.execute(insert(TABLES[table]), {**truth.rows[table][0], **row})
        found = check(book, connection)
    assert (found.ok, found.first_bad, found.why) == (False, None, why)


def test_settings_that_no_entry_sets_are_found(ledger):
    book, truth = ledger
    with behind_its_back(book) as connection:
        connection.execute(insert(TABLES["farm"]), {**truth.rows["farm"][0], "seq": 20, "rules": "eu"})
        found = check(book, connection)
    assert (found.ok, found.first_bad) == (False, "E20")


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_entries_that_change_places_are_found(ledger, data):
    """Two entries with all their columns but the number, or with their texts and hashes only."""
    book, truth = ledger
    one, two = data.draw(st.lists(st.sampled_from(truth.rows["entry"]), min_size=2, max_size=2, unique_by=id))
    table = TABLES["entry"]
    columns = data.draw(st.sampled_from((("record",), ("record", "digest"), ("record", "digest", "root", "peaks"))))
    with behind_its_back(book) as connection:
        for here, there in ((one, two), (two, one)):
            values = {name: there[name] for name in columns}
            connection.execute(update(table).where(table.c.seq == here["seq"]).values(values))
        found = check(book, connection)
    assert (found.ok, found.first_bad) == (False, truth.names[min(one["seq"], two["seq"])])


def rewritten(truth, seq: int, change) -> list[dict]:
    """The entries from `seq` on as a forger writes them who changes one text and derives every hash anew."""
    peaks = Peaks()
    out = []
    for row in truth.rows["entry"]:
        content = row["record"]
        if row["seq"] == seq:
            content = canonical(change(json.loads(content))).decode()
        digest = leaf_hash(content.encode())
        peaks = peaks.append(digest)
        if row["seq"] >= seq:
            out.append({**row, "record": content, "digest": digest, "root": peaks.root(), "peaks": peaks.to_bytes()})
    return out


@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_a_log_written_anew_is_found_against_an_older_head(ledger, data):
    """Somebody changes a note, and all hashes after it. The log is whole in itself, but not the one on the paper."""
    book, truth = ledger
    seq = data.draw(st.sampled_from(sorted(truth.names)))
    head = truth.rows["entry"][data.draw(st.integers(seq, len(truth.names))) - 1]
    table = TABLES["entry"]
    with behind_its_back(book) as connection:
        for row in rewritten(truth, seq, lambda record: {**record, "typed_by": "somebody else"}):
            connection.execute(update(table).where(table.c.seq == row["seq"]).values(row))
        assert check(book, connection).ok
        found = check(book, connection, Head(head["seq"], head["root"]))
    assert (found.ok, found.first_bad) == (False, truth.names[head["seq"]])
    assert found.why == "the log up to this entry is not the one whose head is given"


@pytest.mark.parametrize(
    "change",
    [
        lambda record: [],
        lambda record: "",
        lambda record: {},
        lambda record: {**record, "uses": 5},
        lambda record: {**record, "fields": "x", "amends": "y"},
        lambda record: {name: value for name, value in record.items() if name != "silent"},
        lambda record: {**record, "uses": [{"role": "ate", "code": "S-1", "field": "seed"}]},
    ],
)
def test_a_forged_text_that_is_no_entrys_is_told_and_not_stumbled_over(ledger, change):
    book, truth = ledger
    table = TABLES["entry"]
    with behind_its_back(book) as connection:
        for row in rewritten(truth, 22, change):
            connection.execute(update(table).where(table.c.seq == row["seq"]).values(row))
        found = check(book, connection)
    assert (found.ok, found.first_bad) == (False, "E22")


def test_a_cut_tail_is_found_against_an_older_head_only(ledger):
    """The last entries, with all that hangs on them, are gone without a trace."""
    book, truth = ledger
    last = truth.rows["entry"][-1]
    with behind_its_back(book) as connection:
        connection.execute(delete(TABLES["use"]).where(TABLES["use"].c.node >= 2 * last["seq"]))
        for name in ("ref", "farm", "entry"):
            connection.execute(delete(TABLES[name]).where(TABLES[name].c.seq == last["seq"]))
        assert check(book, connection).ok
        found = check(book, connection, Head(last["seq"], last["root"]))
        assert (found.ok, found.first_bad) == (False, None)
        assert found.why == "1 entries at the end are missing: the head given has more"


def test_older_heads_of_a_log_that_went_on_are_found_in_it(ledger):
    book, truth = ledger
    with book.ledger.reading() as connection:
        for row in truth.rows["entry"]:
            assert check(book, connection, Head(row["seq"], row["root"])).ok


def test_keys_of_the_database_may_be_renumbered(ledger):
    """What the keys of things and sheets are means nothing: nobody can know, and nothing follows from it."""
    book, _ = ledger
    with behind_its_back(book) as connection:
        for statement in (
            "UPDATE use SET thing = thing + 1000",
            "UPDATE thing SET id = id + 1000",
            "UPDATE use SET grp = grp + 1000 WHERE grp > 0",
            "UPDATE entry SET sheet = sheet + 1000",
            "UPDATE sheet SET id = id + 1000",
        ):
            connection.execute(text(statement))
        assert check(book, connection).ok


# The log itself.


def test_every_root_is_that_of_the_leaves_up_to_it(ledger):
    _, truth = ledger
    leaves = [leaf_hash(row["record"].encode()) for row in truth.rows["entry"]]
    assert [row["digest"] for row in truth.rows["entry"]] == leaves
    for size, row in enumerate(truth.rows["entry"], 1):
        assert row["root"] == root_of(leaves[:size])


def test_a_proof_shows_one_entry_in_the_log_without_the_others(ledger):
    book, truth = ledger
    with book.ledger.reading() as connection:
        head = book.ledger.head(connection)
        digests = [bytes(row[0]) for row in connection.execute(select(TABLES["entry"].c.digest).order_by("seq"))]
    for index, row in enumerate(truth.rows["entry"]):
        leaf = leaf_hash(row["record"].encode())
        proof = inclusion_proof(digests, index)
        assert verify_inclusion(leaf, index, head.size, proof, head.root)
        forged = leaf_hash(row["record"].replace("2026", "2025").encode())
        assert not verify_inclusion(forged, index, head.size, proof, head.root)


def test_a_proof_shows_that_the_log_only_grew(opened):
    book = opened("sqlite")
    with book.ledger.reading() as connection:
        old = book.ledger.head(connection)
    load(book, "- {kind: washing, at: 2026-03-02, by: TO, items: M-01..M-02, method: brushed}\n")
    book.amend(20, {"items": "M-01"}, because="a slip", by=["TO"])
    with book.ledger.reading() as connection:
        new = book.ledger.head(connection)
        digests = [bytes(row[0]) for row in connection.execute(select(TABLES["entry"].c.digest).order_by("seq"))]
    assert (old.size, new.size) == (19, 21)
    assert verify_consistency(old.size, new.size, old.root, new.root, consistency_proof(digests, old.size))


def test_entries_alike_have_digests_that_cannot_be_guessed_from_each_other(lite):
    """Each carries random bytes, so that a proof gives away nothing of its neighbours."""
    washing = "- {kind: washing, at: 2026-03-02, by: TO, items: M-01, method: brushed}\n"
    load(lite, washing + washing)
    with lite.ledger.reading() as connection:
        truth = Truth(connection)
    salts = [record["salt"] for record in truth.records.values()]
    assert len(set(salts)) == len(salts)
    assert {len(bytes.fromhex(salt)) for salt in salts} == {16}
