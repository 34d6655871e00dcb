"""Things that were written off as lost or retired, and what still names them."""

from lotwalk.checks.records import Records
from lotwalk.finding import Cause
from lotwalk.judge.words import listed, many
from lotwalk.ledger.entry import Entry


class Gone:
    """The things that the book writes off, read at once."""

    def __init__(self, records: Records) -> None:
        self._left = records.told_of("gone")
        self._back = records.told_of("back")

    @property
    def codes(self) -> list[str]:
        """The things that were ever written off."""
        return list(self._left)

    def by(self, code: str, record: Entry) -> Entry | None:
        """Return the entry that wrote a thing off before another, unless the thing may have come back by then."""
        for left in self._left.get(code, ()):
            if left.record.surely_before(record) and not any(
                not back.record.surely_before(left.record) and not record.surely_before(back.record)
                for back in self._back.get(code, ())
            ):
                return left.record
        return None

    def at_last(self, code: str) -> bool:
        """Return whether a thing is written off as the book stands."""
        left, back = self._left.get(code, []), self._back.get(code, [])
        return bool(left) and (not back or back[-1].record.end < left[-1].record.start)

    def cause(self, left: Entry) -> Cause:
        """Return what each use comes of that names what an entry wrote off."""
        codes = [code for code, told in self._left.items() if any(one.record.name == left.name for one in told)]
        return Cause(
            ("written-off", left.name),
            f"{left.name} ({left.at}) wrote off {listed(codes)} as lost or retired, and entries since then still name"
            f" {many(codes, 'it', 'them')}.",
            f"Check the {many(codes, 'code', 'codes')} in each, or record that {many(codes, 'it was', 'they were')}"
            " found. Where one was in use, decide what becomes of the lots.",
            (left.name, *codes),
        )
