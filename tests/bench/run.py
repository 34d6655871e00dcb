"""Measures Lotwalk and prints the table that stands in DEVELOPERS.md: `python -m tests.bench.run [S] [M] [MH] [L]`.

Without sizes: S, M and MH, a few minutes and a gigabyte of disk. L takes four gigabytes and half an hour, and with
--networkx-at-L nine gigabytes of memory. Farms are kept in --farms and made once.
"""

import argparse
import tempfile
from collections.abc import Iterator
from pathlib import Path

from tests.bench import doors, walks
from tests.bench.shape import SIZES, all_deeds
from tests.bench.timing import Row
from tests.bench.writer import write

_HEAD = "| what / against what | Lotwalk | the other | ratio | at most | aim |\n| --- | --- | --- | --- | --- | --- |"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sizes", nargs="*", choices=[[], *SIZES], default=["S", "M", "MH"])
    parser.add_argument("--farms", type=Path, default=Path(tempfile.gettempdir()) / "lotwalk-farms")
    parser.add_argument("--networkx-at-L", action="store_true", dest="networkx_at_l")
    options = parser.parse_args()
    options.farms.mkdir(parents=True, exist_ok=True)
    farms = {name: _farm(name, options.farms) for name in dict.fromkeys(["S", *options.sizes])}
    print(_HEAD)
    for row in _rows(farms, options.farms, options.networkx_at_l):
        print(row, flush=True)


def _farm(name: str, folder: Path) -> Path:
    path = folder / f"{name}.db"
    if not path.exists():
        part = folder / f"{name}.part"
        write(part, all_deeds(SIZES[name]))
        part.rename(path)
    return path


def _rows(farms: dict[str, Path], folder: Path, networkx_at_l: bool) -> Iterator[Row]:
    for name, path in farms.items():
        graph = walks.Graph(path) if name != "L" else None
        yield from walks.walks(name, path, graph)
    small = ("S", farms["S"])
    if "M" in farms:
        yield from walks.against_networkx("M", farms["M"])
        yield from walks.analysed("M", farms["M"], folder)
    for name in ("MH", "M", "L"):
        if name in farms:
            yield from walks.same_part(small, (name, farms[name]), 1.25 if name == "MH" else None)
    for name in ("M", "L"):
        if name in farms:
            with_networkx = name == "M" or networkx_at_l
            yield from walks.memory(name, farms[name], networkx=with_networkx)
    yield from doors.checking()
    yield from doors.bulk(folder)
    yield from doors.single(folder)
    yield from doors.verifying(farms["S"])
    yield from doors.starting(folder)


if __name__ == "__main__":
    main()
