"""`check --names`: what is looked for."""

from lotwalk.finding import sought


def test_check_lists_the_names_without_a_ledger(lotwalk):
    told = lotwalk("check", "--names", "--format", "json").json["names"]
    assert {one["name"] for one in told} == sought().keys()
    row = next(one for one in lotwalk("check", "--names").out.splitlines() if one.startswith("held-moved"))
    assert row.split(maxsplit=2) == ["held-moved", "critical", "a lot moved while on hold"]
