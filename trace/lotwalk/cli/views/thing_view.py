"""What `show` tells of a thing: what it is, its record, and by time every entry in force that names it."""

from collections.abc import Sequence
from typing import Any
from zoneinfo import ZoneInfo

from lotwalk.book.known import Known
from lotwalk.cli.output import print_pairs, print_table, say
from lotwalk.cli.shapes import entry_json
from lotwalk.cli.views.entry_view import field_pairs, summary
from lotwalk.cli.words import code_list, role_words
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.read.uses import Mentioned
from lotwalk.recall.words.common import at_words


class ThingView:
    """What the book knows of one thing."""

    columns = ("When", "Entry", "Record", "How", "What", "By")

    def __init__(self, known: Known, kinds: Kinds, zone: ZoneInfo) -> None:
        self.known = known
        self.thing = known.thing
        self.record = known.record
        self.level = known.level
        self.kinds = kinds
        self.zone = zone

    def json(self) -> dict[str, Any]:
        """Return the thing, its record and the entries that name it, by time."""
        return {
            "code": self.thing.code,
            "kind": self.thing.kind,
            "class": self.thing.cls,
            "type": self.thing.type,
            "void": self.known.void,
            **({"level": self.level.json()} if self.level else {}),
            "record": entry_json(self.record, self.zone) if self.record else None,
            "entries": [
                {
                    "entry": one.version.name,
                    "kind": one.version.kind,
                    "role": one.role.word,
                    "at": one.version.at,
                    "by": list(one.version.by),
                }
                for one in self.known.mentions
            ],
        }

    def csv(self) -> tuple[Sequence[str], Sequence[Sequence[object]]]:
        """Return the entries that name it as columns and rows."""
        return self.columns, [self._row(one) for one in self.known.mentions]

    def table(self) -> None:
        """Print the thing, its record and the entries that name it."""
        kind = self.kinds.things[self.thing.kind]
        of_type = f" ({self.thing.type})" if self.thing.type and self.thing.type != self.thing.kind else ""
        say(f"{self.thing.code}: {kind.title.lower()}{of_type}{', VOID' if self.known.void else ''}")
        if self.known.read_as:
            say(self.known.read_as.sentence)
        if self.record:
            title = self.kinds[self.record.kind].title
            by = f", by {code_list(self.record.by)}" if self.record.by else ""
            say(f"{title} {self.record.name}, {at_words(self.record, self.zone)}{by}")
            print_pairs(field_pairs(self.record, self.kinds))
        if self.level:
            say()
            say(self.level.text)
        say()
        if self.known.mentions:
            print_table(self.columns, self.csv()[1], title="Entries that name it, by time:", whole=2)
        else:
            say("No entry in force names it.")
        for entry in self.known.voided:
            say(f"{entry.name} made it once, and is void: {entry.because} ({code_list(entry.amended_by)})")

    def _row(self, one: Mentioned) -> list[object]:
        version = one.version
        kind = self.kinds[version.kind]
        how = role_words(one.role, kind.verdict)
        if self.thing.code in version.judged.failed:
            how += ", did not pass"
        if any(use.assumed and use.code == self.thing.code for use in version.uses):
            how += ", assumed"
        when, what = at_words(version, self.zone), summary(version, self.kinds)
        return [when, version.name, kind.title, how, what, code_list(version.by)]
