"""The whole tour on a file and on a server: what the commands answer is the same."""

from pathlib import Path

SHEET = Path(__file__).parent / "farm.yaml"
START = ("start", "--name", "Hill Farm", "--location", "Up", "--timezone", "America/New_York", "--measures", "metric")
WHY = ("--because", "typed twice", "--by", "TO")


def test_the_same_farm_gives_the_same_answers(lotwalk, where, ledger):
    place = ("--ledger", where)
    assert lotwalk(*place, *START, "--rules", "us").status == 0
    assert lotwalk(*place, "load", SHEET).status == 0
    for arguments in (
        ["trace", "S-1", "--forward"],
        ["trace", "Q-1", "--back", "--format", "json"],
        ["recall", "Q-1"],
        ["recall", "Q-1", "--distrust", "all", "--format", "csv"],
        ["show", "M-003"],
        ["show", "0302"],
        ["log", "delivery"],
    ):
        answer = lotwalk(*place, *arguments)
        assert answer.err == ""
        assert answer.out == lotwalk(*arguments).out, arguments
    for target in (place, ()):
        assert lotwalk(*target, "amend", "E15", "--set", "amount=950 g", *WHY).status == 0
        assert lotwalk(*target, "void", "E22", *WHY).status == 0
        assert lotwalk(*target, "verify").status == 0
    for arguments in (["recall", "Q-1"], ["show", "D-2"], ["log", "harvest"], ["trace", "H-1", "--forward"]):
        answer = lotwalk(*place, *arguments)
        assert answer.err == ""
        assert answer.out == lotwalk(*arguments).out, arguments
    assert lotwalk(*place, *START).status == 2
