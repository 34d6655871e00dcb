"""What a recall does not follow stands where people read it, from one list."""

from pathlib import Path

from lotwalk.recall.not_followed import not_followed

README = Path(__file__).parents[2] / "README.md"


def test_the_readme_holds_each_line():
    section = README.read_text("utf-8").partition("## What a recall does not follow")[2].partition("\n## ")[0]
    told = [line.removeprefix("- ") for line in section.splitlines() if line.startswith("- ")]
    assert told == [one.line for one in not_followed()]
