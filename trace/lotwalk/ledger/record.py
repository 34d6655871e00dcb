"""The hashed text of an entry: built once when it is appended, read back whenever it is shown or verified.

Every stored column is in this text or follows from it. It holds strings and integers only (RFC 8785), decimals as
strings, and 16 random bytes, so that nobody who holds a neighbour's proof can guess what it says.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from lotwalk.kinds.model import Checked, Value
from lotwalk.ledger.model import File, Pending, Settings, Version
from lotwalk.ledger.use import Use
from lotwalk.ledger.verdict import FIRST_JUDGE, Verdict
from lotwalk.values.merkle import leaf_hash
from lotwalk.values.text import Written, plain
from lotwalk.values.times import When
from lotwalk.values.units import Amount

PLAIN = json.JSONEncoder(ensure_ascii=False, check_circular=False, separators=(",", ":"), sort_keys=True)
"""Gives the canonical form of what has ASCII keys only, and many times as fast."""

SETTINGS = ("name", "location", "timezone", "measures", "rules", "rules_digest")
"""What of the farm's settings is stored in columns. The number of the judge stands beside them in the text alone."""

FORM = 2
"""The form of the text that is hashed. Form 1 does not say its own number, nor that of the judge in a verdict."""


def build(
    pending: Pending, settings: Settings, *, recorded_at: int, typed_by: str, salt: bytes, prior: str = ""
) -> dict[str, Any]:
    """Return the JSON value of an entry, ready to be made canonical.

    `prior` is the digest (hex) of the version that is amended.
    """
    checked = pending.checked
    amendment = pending.amendment
    record: dict[str, Any] = {
        "form": FORM,
        "seq": pending.seq,
        "kind": checked.kind.name,
        "at": str(checked.at.written),
        "from": checked.at.start,
        "to": checked.at.end,
        "zone": amendment.zone if amendment else settings.zone.key,
        "measures": amendment.measures if amendment else settings.measures,
        "rules": settings.rules_digest,
        "recorded": recorded_at,
        "typed_by": typed_by,
        "by": [str(code) for code in checked.by],
        "fields": plain(dict(checked.fields)),
        "read": dict(amounts(checked.values)),
        "uses": [use.use().json() for use in pending.uses],
        "silent": list(pending.silent),
        "salt": salt.hex(),
    }
    if checked.place:
        record["place"] = str(checked.place)
    if checked.kind.own:
        record["kind_file"] = checked.kind.digest
    if pending.files:
        record["files"] = [
            {"digest": file.digest, "name": file.name, "type": file.media_type} for file in pending.files
        ]
    if pending.refs:
        record["refs"] = list(pending.refs)
    if pending.sets:
        record["settings"] = {**settings_row(pending.sets), "judge": pending.sets.judge}
    if pending.sheet:
        record["sheet"] = {
            "digest": pending.sheet.digest,
            "name": pending.sheet.name,
            "in_order": "yes" if pending.sheet.in_order else "no",
            "line": pending.line,
        }
    if pending.verdict:
        record["verdict"] = pending.verdict.json()
    if amendment:
        record["amends"] = {
            "seq": amendment.seq,
            "first": amendment.number,
            "digest": prior,
            "because": amendment.because,
            "by": list(amendment.by),
            "void": "yes" if amendment.void else "no",
            "evidence": [f"E{number}" for number in amendment.evidence],
        }
    return record


def amounts(values: Mapping[str, Value], prefix: str = "") -> Iterable[tuple[str, list[str | int]]]:
    """Yield each amount and time among the values as (field path, what the book understood)."""
    for name, value in values.items():
        path = f"{prefix}{name}"
        if isinstance(value, Amount):
            yield path, [format(value.value, "f"), value.unit]
        elif isinstance(value, tuple):
            yield path, _pair(value)
        elif isinstance(value, When):
            yield path, [value.start, value.end]
        elif isinstance(value, Decimal):
            yield path, [format(value, "f")]
        elif isinstance(value, list):
            for number, row in enumerate(value):
                if isinstance(row, dict):
                    yield from amounts(row, f"{path}[{number}].")


def _pair(value: tuple[Any, Any]) -> list[str | int]:
    low, high = value
    if isinstance(low, Amount):
        return [format(low.value, "f"), format(high.value, "f"), low.unit]
    return [format(low, "f"), format(high, "f")]


def settings_row(settings: Settings) -> dict[str, str]:
    """Return the farm's settings as they are stored in columns."""
    told = (settings.name, settings.location, settings.zone.key, settings.measures, settings.rules)
    return dict(zip(SETTINGS, (*told, settings.rules_digest), strict=True))


def alike(checked: Checked) -> str:
    """Return what two entries share when they are alike in kind, time, people and fields."""
    place, fields = str(checked.place or ""), plain(dict(checked.fields))
    return _alike(checked.kind.name, checked.at.start, checked.at.end, checked.by, place, fields)


def alike_text(record: Mapping[str, Any]) -> str:
    """Return the same of an entry's hashed text."""
    place, fields = record.get("place", ""), record["fields"]
    return _alike(record["kind"], record["from"], record["to"], record["by"], place, fields)


def _alike(kind: str, start: int, end: int, by: Iterable[str], place: str, fields: Written) -> str:
    same: list[Any] = [kind, start, end, sorted(str(code).casefold() for code in by), place, fields]
    return hashlib.sha256(PLAIN.encode(same).encode()).hexdigest()


def written(version: Version) -> dict[str, Written]:
    """Return a stored version as a person would have written it, ready to be checked again."""
    out: dict[str, Written] = dict(version.fields)
    out |= {"kind": version.kind, "at": version.at}
    if version.by:
        out["by"] = list(version.by)
    if version.place:
        out["place"] = version.place
    return out


def settings_judge(text: str) -> int:
    """Return the number of the judge in the text of an entry that sets the farm's settings."""
    return int(json.loads(text)["settings"].get("judge", FIRST_JUDGE))


def written_at(text: str, digest: bytes) -> str:
    """Return when a stored entry was, as it was written. Raises ValueError as `parse` does."""
    return str(_hashed(text, digest)["at"])


def parse(text: str, digest: bytes) -> Version:
    """Return a stored entry's version from its text and the digest that was stored with it.

    Raises ValueError where the text is not what was hashed: nothing is read from an entry that was changed.
    """
    record = _hashed(text, digest)
    amends: Any = record.get("amends")
    sheet: Any = record.get("sheet")
    verdict: Any = record.get("verdict")
    return Version(
        seq=record["seq"],
        number=amends["first"] if amends else record["seq"],
        amends=amends["seq"] if amends else None,
        void=bool(amends) and amends["void"] == "yes",
        kind=record["kind"],
        at=record["at"],
        start=record["from"],
        end=record["to"],
        recorded_at=record["recorded"],
        typed_by=record["typed_by"],
        by=tuple(record["by"]),
        place=record.get("place"),
        fields=record["fields"],
        read=record["read"],
        uses=tuple(map(Use.read, record["uses"])),
        because=amends["because"] if amends else "",
        amended_by=tuple(amends["by"]) if amends else (),
        evidence=tuple(amends["evidence"]) if amends else (),
        verdict=Verdict.read(verdict) if verdict else None,
        zone=record["zone"],
        measures=record["measures"],
        sheet=sheet["digest"] if sheet else None,
        line=sheet["line"] if sheet else 0,
        files=tuple(File(file["digest"], file["name"], file["type"], None) for file in record.get("files", [])),
        digest=bytes(digest),
        rules=record["rules"],
        silent=tuple(record["silent"]),
        form=record.get("form", 1),
    )


def _hashed(text: str, digest: bytes) -> dict[str, Any]:
    if leaf_hash(text.encode()) != bytes(digest):
        raise ValueError("the text of an entry is not what was hashed when it was recorded")
    record: dict[str, Any] = json.loads(text)
    return record
