"""Try many farms and print what came of it: `python -m tests.physics.run 1000 [FIRST] [ACT ..]`.

FIRST is the number of the first farm. An ACT named is drawn although lists.py leaves it out.
"""

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.physics import lists
from tests.physics.book import started
from tests.physics.probe import Total, try_many


def main(arguments: list[str]) -> None:
    """Print the counts, and the first farms with something wrong."""
    farms, first = int(arguments[0]), int(arguments[1]) if len(arguments) > 1 else 0
    for act in arguments[2:]:
        for left_out in (lists.LEFT_OUT, lists.NOT_YET, lists.FOUND):
            left_out.pop(act, None)
    with TemporaryDirectory() as folder:
        total = try_many(range(first, first + farms), started(Path(folder) / "template.db"), most=3)
    print("\n\n".join(total.told))
    print(f"{total.farms} farms, {total.causes} causes traced, {total.recalls} recalls; wrong: {dict(total.wrong)}")
    print("drawn:", ", ".join(f"{name} {count}" for name, count in total.drawn.most_common()))
    print("\n".join(_wider(total)))


def _wider(total: Total) -> list[str]:
    """How many of the lots reached at each level nothing made dirty."""
    lines = ["level  lots reached  dirty  share that is not"]
    for level in sorted(total.reached):
        reached, dirty = total.reached[level], total.dirty[level]
        lines.append(f"{level:5}  {reached:12}  {dirty:5}  {1 - dirty / reached:.0%}")
    return lines


if __name__ == "__main__":
    main(sys.argv[1:])
