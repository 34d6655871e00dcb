"""The JSON shapes of entries and things, and their times for people."""

from collections.abc import Sequence
from typing import Any
from zoneinfo import ZoneInfo

from lotwalk.cli.words import moment
from lotwalk.ledger.model import Version


def entry_json(version: Version, zone: ZoneInfo) -> dict[str, Any]:
    """Return one version of an entry as JSON; `at` is as written, `from` and `until` are first and last second."""
    out: dict[str, Any] = {
        "entry": version.name,
        "number": version.seq,
        "kind": version.kind,
        "at": version.at,
        "from": moment(version.start, zone),
        "until": moment(version.end, zone),
        "by": list(version.by),
        "place": version.place,
        "fields": dict(version.fields),
        "uses": [use.json() for use in version.uses],
        "files": [{"name": file.name, "type": file.media_type, "sha256": file.digest} for file in version.files],
        "verdict": version.verdict.json() if version.verdict else None,
        "recorded": moment(version.recorded_at, zone),
        "typed_by": version.typed_by,
        "void": version.void,
    }
    if version.amends:
        out["amends"] = {
            "number": version.amends,
            "because": version.because,
            "by": list(version.amended_by),
            "evidence": list(version.evidence),
        }
    return out


def was_amended(versions: Sequence[Version]) -> bool:
    """Return whether a person changed the entry; the book's own change of a verdict is none."""
    return any(version.amended_by for version in versions)
