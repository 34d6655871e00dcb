"""Every entry of a log is proved, against every head that it ever had; pymerkle, an independent library, agrees."""

import copy
import json
import random

import pymerkle
import pytest
from tests.ledger.stranger import proves, run, words

from lotwalk.ledger.model import Head
from lotwalk.ledger.verify.proof import IN_FORCE, REPLACED, VOID
from lotwalk.values.merkle import verify_consistency

WHY = {"because": "a slip", "by": ["TO"]}


@pytest.fixture
def grown(book):
    """The farm's book after forty more entries, amendments and voids at random; all heads since, and what was done."""
    chance = random.Random(9162)
    heads, done = [_head(book)], {}
    live = []
    for day in range(40):
        act = chance.choice(["record", "record", "amend", "void"]) if live else "record"
        if act == "record":
            items = f"M-0{chance.randint(1, 6)}"
            receipt = book.record("washing", at=f"2026-04-{1 + day % 28:02}", by="TO", items=items, method=f"way {day}")
            live.append(int(receipt.name[1:]))
            done[live[-1]] = [IN_FORCE]
        else:
            number = chance.choice(live)
            if act == "amend":
                book.amend(number, {"method": f"another way {day}"}, **WHY)
            else:
                book.void(number, **WHY)
                live.remove(number)
            done[number] = [*[REPLACED] * len(done[number]), VOID if act == "void" else IN_FORCE]
        heads.append(_head(book))
    return book, heads, done


def _head(book):
    with book.ledger.reading() as connection:
        return book.ledger.head(connection)


def _proof(book, asked, older=None, opens=None):
    with book.ledger.reading() as connection:
        return book.proof(asked, older=older, opens=opens, at=connection)


def test_every_version_of_every_entry_is_proved(grown, tmp_path):
    book, heads, done = grown
    newest = heads[-1]
    numbers = sorted({*range(1, 20), *done})
    found = _proof(book, [f"E{number}" for number in numbers])
    assert [one.leaf for one in found.entries] == list(range(newest.size))
    for number, states in done.items():
        assert [one.state for one in found.entries if one.entry == f"E{number}"] == states
    theirs = pymerkle.InmemoryTree(algorithm="sha256")
    for one in found.entries:
        theirs.append_entry(one.record.encode())
    assert theirs.get_root() == newest.root
    for one in found.entries:
        # Their paths start with the leaf itself.
        assert [one.digest, *one.path] == theirs.prove_inclusion(one.leaf + 1, newest.size).path
    told = found.json()
    assert proves(told, words(newest))
    assert run(tmp_path, told, words(newest)) == (
        0,
        f"Proved: {newest.size} entries stand in the log; {newest.size} of them stood in it by the head given.\n",
    )


def test_each_head_that_the_log_ever_had_is_its_start(grown):
    book, heads, _ = grown
    all_heads = []
    theirs = pymerkle.InmemoryTree(algorithm="sha256")
    whole = _proof(book, [f"E{number}" for number in range(1, 20)])
    for one in whole.entries:
        theirs.append_entry(one.record.encode())
        all_heads.append(Head(one.leaf + 1, theirs.get_root()))
    assert all_heads[-1] == heads[0]
    for older in [*all_heads, *heads]:
        found = _proof(book, ["E5"], older=older)
        assert verify_consistency(older.size, found.head.size, older.root, found.head.root, found.consistency)
        assert proves(found.json(), words(older)), older.size


def test_the_stranger_is_told_how_many_stood_in_the_log_by_the_head_given(book, tmp_path):
    """E19 stood in the book when its head was printed, E20 was recorded afterwards."""
    older = _head(book)
    book.record("washing", at="2026-04-01", by="TO", items="M-01", method="brushed")
    told = _proof(book, ["E19", "E20"], older=older).json()
    said = "Proved: 2 entries stand in the log; 1 of them stood in it by the head given.\n"
    assert run(tmp_path, told, words(older)) == (0, said)


def test_whatever_is_changed_in_a_proof_is_not_proved(grown):
    book, heads, _ = grown
    older = heads[7]
    told = _proof(book, ["M-01"], older=older).json()
    assert proves(told, words(older))
    assert not proves(told, words(heads[-1])), "the head from the paper is another"
    places = [
        ("tree", "root"),
        ("against", "root"),
        *(("against", "path", at) for at in _range(told["against"]["path"])),
    ]
    for number, one in enumerate(told["entries"]):
        places += [("entries", number, name) for name in ("record", "leaf_hash")]
        places += [("entries", number, "path", at) for at in _range(one["path"])]
    chance = random.Random(6962)
    for place in places:
        said = told
        for step in place:
            said = said[step]
        for at in {0, len(said) - 1, *chance.sample(range(len(said)), 3)}:
            assert not proves(_with(told, place, _other(said, at)), words(older)), (place, at)
    for number, one in enumerate(told["entries"]):
        for leaf in (one["leaf"] - 1, one["leaf"] + 1, -1, told["tree"]["size"]):
            assert not proves(_with(told, ("entries", number, "leaf"), leaf), words(older))
        assert not proves(_with(told, ("entries", number, "path"), one["path"][:-1]), words(older))
        assert not proves(_with(told, ("entries", number, "path"), [*one["path"], one["path"][0]]), words(older))
    for path in ([], told["against"]["path"][:-1], [*told["against"]["path"], told["tree"]["root"]]):
        assert not proves(_with(told, ("against", "path"), path), words(older))


def test_a_changed_proof_is_refused_by_a_process_without_lotwalk(grown, tmp_path):
    book, heads, _ = grown
    told = _proof(book, ["M-01"], older=heads[7]).json()
    record = told["entries"][0]["record"]
    forged = _with(told, ("entries", 0, "record"), record.replace("2026", "2025"))
    status, said = run(tmp_path, forged, words(heads[7]))
    assert (status, said) == (1, f"NOT PROVED: the text of {told['entries'][0]['entry']}\n")


def test_a_text_cannot_stand_at_another_place(grown):
    """Two entries change places whole, text, hash and path: each path leads up from its own leaf only."""
    book, heads, _ = grown
    told = _proof(book, ["E20", "E3"]).json()
    first, second = told["entries"][:2]
    first["leaf"], second["leaf"] = second["leaf"], first["leaf"]
    assert not proves(told, words(heads[-1]))


def test_what_an_amendment_took_off_a_thing_is_not_left_out(book):
    """E20 named M-01 by mistake; since the amendment it names M-02. Who asks about M-01 gets both versions."""
    book.record("washing", at="2026-04-01", by="TO", items="M-01", method="brushed")
    book.amend(20, {"items": "M-02"}, **WHY)
    found = [one for one in _proof(book, ["m-01"]).entries if one.entry == "E20"]
    assert [(one.leaf, one.state) for one in found] == [(19, REPLACED), (20, IN_FORCE)]
    assert [json.loads(one.record)["fields"]["items"] for one in found] == ["M-01", "M-02"]


def test_a_closed_text_is_proved_by_place_and_hash_alone(book):
    found = _proof(book, ["M-01", "TO"], opens=lambda version, _: version.name == "E2")
    assert found.closed == len(found.entries) - 1 > 0
    told = found.json()
    assert told["counts"] == {"with_text": 1, "closed": found.closed}
    assert [one["entry"] for one in told["entries"] if one["record"] is not None] == ["E2"]
    assert "Tess Orr" in json.dumps(told)
    assert "Ana Kost" not in json.dumps(told)
    assert proves(told, words(found.head))


def _range(listed):
    return range(len(listed))


def _other(text, at):
    """The text with one letter changed; a hexadecimal digit to another one."""
    letter = {"f": "e", "0": "1"}.get(text[at], "0" if text[at] in "123456789abcde" else "#")
    return text[:at] + letter + text[at + 1 :]


def _with(told, place, value):
    changed = copy.deepcopy(told)
    inside = changed
    for step in place[:-1]:
        inside = inside[step]
    inside[place[-1]] = value
    return changed
