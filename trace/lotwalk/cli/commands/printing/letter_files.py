"""The files of a recall's letters: each has a name of its own, and none takes the place of the report."""

from collections.abc import Sequence
from pathlib import Path

import click

from lotwalk.cli.files import check_free, file_name
from lotwalk.errors import NotUnderstood


def letter_files(folder: Path, names: Sequence[str], report: Path) -> list[Path]:
    """Return where to write each letter, before anything is written.

    Raises NotUnderstood where the folder is a file, where a letter would be written over the report, and where one
    would be written over what is no PDF.
    """
    if folder.exists() and not folder.is_dir():
        raise NotUnderstood(f"{folder} is no folder", "a folder, or a name that is free, in --letters")
    found = places(folder, names)
    for place in found:
        if _same(place, report):
            raise NotUnderstood(f"{place} is the report's own file", "another name in --out, or another --letters")
        check_free(place)
    return found


def places(folder: Path, names: Sequence[str]) -> list[Path]:
    """Return a file for each letter, by its name.

    A code may hold what a file's name may not, and a file system may tell no capitals from small letters, so two codes
    may be alike: the later one has a number.
    """
    found: list[Path] = []
    taken: set[str] = set()
    for name in names:
        base, number = file_name(name), 1
        kept = base
        while kept.casefold() in taken:
            number += 1
            kept = f"{base}-{number}"
        taken.add(kept.casefold())
        found.append(folder / f"{kept}.pdf")
    return found


def tell_letters(folder: Path, written: Sequence[Path], report: Path) -> None:
    """Say how many letters were written, and what else lies in their folder that must not be handed over."""
    from lotwalk.recall.words.common import count

    if written:
        click.echo(f"{folder}: {count(len(written), 'letter')} to hand over, a file each")
    there = [one for one in folder.glob("*.pdf") if one not in written] if folder.is_dir() else []
    older = sorted(one.name for one in there if not _same(one, report))
    if older:
        click.echo(f"Not of this recall as it stands now, so hand none of it over: {', '.join(older)}", err=True)
    if len(older) < len(there):
        told = f"{report.name} stands among the letters and names every customer: do not hand it over"
        click.echo(told, err=True)


def _same(one: Path, other: Path) -> bool:
    """Whether two names may lead to one file, where a file system tells no capitals from small letters too."""
    return str(one.resolve()).casefold() == str(other.resolve()).casefold()
