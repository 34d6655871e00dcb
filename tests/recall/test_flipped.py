"""One bit of the book is wrong, as an ageing card makes them: the recall is the same, or it is refused in words."""

import pytest
from tests.bench.flips import OTHER, TRACEBACK, flips
from tests.recall.damaged import farm

READ = ("use", "use_in", "use_out", "use_clear", "use_named", "thing", "entry", "sqlite_autoindex_thing_1",
        "sqlite_autoindex_entry_1", "entry_first", "entry_kind")  # fmt: skip


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    path = tmp_path_factory.mktemp("flipped") / "farm.db"
    farm(str(path)).ledger.engine.dispose()
    return path


@pytest.mark.parametrize(
    ("names", "seed"), [((), 1), (READ, 2), (("use_in", "use_out"), 3)], ids=["any", "read", "walked"]
)
def test_no_flip_gives_another_answer_or_a_traceback(book, names, seed):
    found = list(flips(book, ("recall", "D-1", "--format", "json"), 60, seed, names=names))
    assert [one for one in found if one.came in (OTHER, TRACEBACK)] == []
    assert all(one.seen for one in found if one.came == "refused"), "what a recall refuses, verify tells of"
    assert len({one.came for one in found}) == 2, "some of the bits are read, and some are not"
