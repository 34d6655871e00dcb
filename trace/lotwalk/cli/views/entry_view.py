"""What `show` tells of an entry: fields, uses, verdict, files, and every version with who and why."""

from collections.abc import Iterable, Sequence
from textwrap import shorten
from typing import Any
from zoneinfo import ZoneInfo

from lotwalk.cli.output import print_pairs, print_table, say
from lotwalk.cli.shapes import entry_json
from lotwalk.cli.words import code_list, minute, role_words, verdict_words, written_words
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import Version
from lotwalk.ledger.use import Use
from lotwalk.recall.words.common import at_words
from lotwalk.values.roles import Role

_SUMMARY = 48
"""Characters of what an entry says in a list of entries."""

_LEADS = {"break": "", "residue": "Residue: ", "unshown": "Not shown: ", "note": "Note: "}


class EntryView:
    """One entry with all its versions, the newest last."""

    columns = ("Field", "Value")

    def __init__(self, versions: Sequence[Version], kinds: Kinds, zone: ZoneInfo) -> None:
        self.versions = versions
        self.now = versions[-1]
        self.kind = kinds[self.now.kind]
        self.kinds = kinds
        self.zone = zone

    def json(self) -> dict[str, Any]:
        """Return the entry in force, and under `versions` each version of it, the oldest first."""
        return entry_json(self.now, self.zone) | {"versions": [entry_json(one, self.zone) for one in self.versions]}

    def csv(self) -> tuple[Sequence[str], Sequence[Sequence[object]]]:
        """Return the fields of the entry in force, a row each."""
        return self.columns, [list(pair) for pair in self._pairs()]

    def table(self) -> None:
        """Print the entry in force, then how it came to be so."""
        now = self.now
        say(f"{now.name}: {self.kind.title}{', VOID' if now.void else ''}")
        print_pairs(self._pairs())
        self._print_uses()
        self._print_verdict()
        if now.files:
            say("Files:")
            print_pairs((file.name, f"{file.media_type}, SHA-256 {file.digest}") for file in now.files)
        say()
        self._print_versions()

    def _pairs(self) -> list[tuple[str, str]]:
        now = self.now
        pairs = [("When", at_words(now, self.zone)), ("By", code_list(now.by))]
        return [(name, value) for name, value in [*pairs, *field_pairs(now, self.kinds)] if value]

    def _print_uses(self) -> None:
        rows = [
            (role_words(role, self.kind.verdict), code_list(codes), amount, "assumed" if assumed else "")
            for (role, amount, assumed), codes in _grouped(self.now.uses).items()
        ]
        if rows:
            say()
            print_table(("How", "Things", "Amount", ""), rows)

    def _print_verdict(self) -> None:
        verdict = self.now.verdict
        if verdict:
            for line in verdict_words(self.kind.verdict, verdict.passed, verdict.failed):
                say(line)
            for reason in verdict.reasons:
                say(f"  {_LEADS[reason.kind]}{reason}")
            if verdict.now:
                say(f"What to do then: {verdict.now}.")
            if verdict.evidence:
                say(f"It rests on {', '.join(f'E{number}' for number in verdict.evidence)}.")

    def _print_versions(self) -> None:
        rows = []
        for before, one in zip([None, *self.versions], self.versions, strict=False):
            typed = f"typed by {one.typed_by}" if one.typed_by else ""
            because = f"{one.because} ({', '.join(one.evidence)})" if one.evidence else one.because
            rows.append((minute(one.recorded_at, self.zone), _what(one), code_list(one.amended_by), because, typed))
            for name, old, new in _differences(before, one, self.kinds):
                rows.append(("", f"  {name}", "", f"{old or '(nothing)'}  ->  {new or '(nothing)'}", ""))
        print_table(("Recorded", "Version", "By", "Because", ""), rows, title="How it came to be so:", whole=1)


def field_pairs(version: Version, kinds: Kinds) -> list[tuple[str, str]]:
    """Return the fields of an entry by their titles, in the order of its kind."""
    fields = kinds[version.kind].fields
    said = version.fields
    pairs = [(field.title, written_words(said[name], field)) for name, field in fields.items() if name in said]
    # A kind file that lost a field since then hides nothing of what was recorded.
    return pairs + [(name, written_words(value)) for name, value in said.items() if name not in fields]


def summary(version: Version, kinds: Kinds) -> str:
    """Return in a few words what an entry says: the first columns of its kind's log."""
    fields = kinds[version.kind].fields
    names = [name for name in kinds[version.kind].log if name in version.fields]
    words = "; ".join(written_words(version.fields[name], fields[name]) for name in names[:2])
    return shorten(words, _SUMMARY, placeholder=" ...")


def _grouped(uses: Iterable[Use]) -> dict[tuple[Role, str, bool], list[str]]:
    groups: dict[tuple[Role, str, bool], list[str]] = {}
    for use in uses:
        amount = "" if use.amount is None else f"{use.amount:f} {use.unit}"
        groups.setdefault((use.role, amount, use.assumed), []).append(use.code)
    return groups


def _what(version: Version) -> str:
    if version.amends is None:
        return "recorded"
    if version.void:
        return "void"
    return "amended" if version.amended_by else "judged anew" if version.verdict else "filed anew"


def _differences(before: Version | None, after: Version, kinds: Kinds) -> list[tuple[str, str, str]]:
    """The fields in which two versions differ, with what they said and say."""
    if before is None or after.void:
        return []
    old, new = (dict(_compared(one, kinds)) for one in (before, after))
    return [(name, old.get(name, ""), new.get(name, "")) for name in {**old, **new} if old.get(name) != new.get(name)]


def _compared(version: Version, kinds: Kinds) -> list[tuple[str, str]]:
    files = ", ".join(file.name for file in version.files)
    return [
        ("When", version.at),
        ("By", code_list(version.by)),
        *field_pairs(version, kinds),
        ("Files", files),
        ("Did not pass", code_list(version.judged.failed)),
    ]
