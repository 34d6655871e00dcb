"""Which entries may be handed to one customer in full, word by word as they were hashed.

A text can be shown whole or not at all, so it is shown only where all of it may be told: by the scope of an export for
that customer, and by what each field can hold. In doubt it stays closed.
"""

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from string import Formatter

from lotwalk.exchange.epcis_file import read_vocabulary
from lotwalk.exchange.events_file import Events, read_events
from lotwalk.exchange.export_request import Desk, others_named
from lotwalk.exchange.scope import Scope
from lotwalk.kinds.model import Field
from lotwalk.ledger.model import Version
from lotwalk.values.text import Written

_LOT = "lot"
_FREE = ("text", "words", "files")
"""How fields are read in which people write what they like."""


def opened(desk: Desk, own: Sequence[Path] = ()) -> Callable[[Version, str], bool]:
    """Return what says of a version, and of its text as it was hashed, whether the desk's customer may have it.

    It may where the entry is of a kind that exports tell a customer, and is in their scope; where every lot that it
    names is; where nothing in it was written freely, save what a column of the spreadsheet gives and what stands on a
    package or a paper that travels; where it corrects nothing, since why is written freely; and where no other
    customer's code or name stands in what is left: such words, the sheet's name and who typed it. `own` are the folders
    of the grower's own kinds.
    """
    kinds = desk.ledger.kinds
    events, vocabulary = read_events(kinds, own), read_vocabulary(kinds, own)
    told = {*events.kinds, *(one.kind for one in vocabulary.events if not one.inside)}
    given = _given(events)
    others = others_named(desk)

    def opens(version: Version, text: str) -> bool:
        if version.kind not in told or version.because or version.files or not _in_scope(desk.scope, version):
            return False
        free = list(_free(version.fields, kinds[version.kind].fields))
        if any(field is None or not (field.read_out or (version.kind, field.name) in given) for field, _ in free):
            return False
        record = json.loads(text)
        words = [record["typed_by"], record.get("sheet", {}).get("name", ""), *(said for _, said in free)]
        return not any(map(others.search, words))

    return opens


def _given(events: Events) -> set[tuple[str, str]]:
    """The fields that a column of the spreadsheet gives as they were written, each with its kind of record."""
    return {
        (source.kind, path)
        for event in events.events
        for source in event.sources
        for column in event.columns
        for path in (source.instead or {}).get(column.title, column.paths)
    }


def _in_scope(scope: Scope, version: Version) -> bool:
    """Whether the entry may be told, and every lot that it names, whatever for, lies in the scope."""
    if not scope.tells(version):
        return False
    things = (scope.reader.thing(use.code) for use in version.uses)
    return all(thing is None or thing.cls != _LOT or scope.holds(thing.code) for thing in things)


def _free(written: Mapping[str, Written], fields: Mapping[str, Field]) -> Iterator[tuple[Field | None, str]]:
    """Yield what was written freely, with its field (None: of no field that there is)."""
    for name, value in written.items():
        field = fields.get(name)
        if field is None:
            yield None, str(value)
        elif field.form == "rows":
            for row in value if isinstance(value, list) else [value]:
                # In short, a row is one text, out of which these fields are read.
                short = [inner for _, inner, _, _ in Formatter().parse(field.short or "") if inner]
                yield from _free(row if isinstance(row, dict) else dict.fromkeys(short, str(row)), field.fields)
        elif field.read in _FREE and not field.choices:
            yield field, str(value)
