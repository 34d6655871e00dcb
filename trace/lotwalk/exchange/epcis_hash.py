"""The hash that names an EPCIS event by what it says (GS1 CBV 2.0, section 8.9): `ni:///sha-256;...?ver=CBV2.0`.

It is taken over the event's parts in a fixed order, times in UTC, words of the vocabulary as addresses, and leaves out
the event's identifier, the time of its recording and any declaration that it was an error. Only what the events of this
project hold is here, and lots with a GS1 number must be Digital Links at GS1's own address.
"""

import hashlib
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from typing import Any

_VOCABULARY = "https://ref.gs1.org/cbv/"
_LISTS = (("bizTransactionList", "bizTransaction", "BTT"), ("sourceList", "source", "SDT"),
          ("destinationList", "destination", "SDT"))  # fmt: skip


def event_id(event: Mapping[str, Any], namespaces: Mapping[str, str]) -> str:
    """Return the identifier of an event. `namespaces` are those of the document, by prefix."""
    digest = hashlib.sha256(pre_hash(event, namespaces).encode()).hexdigest()
    return f"ni:///sha-256;{digest}?ver=CBV2.0"


def pre_hash(event: Mapping[str, Any], namespaces: Mapping[str, str]) -> str:
    """Return the text that is hashed."""
    parts = [f"eventType={event['type']}", f"eventTime={_utc(event['eventTime'])}"]
    parts += _plain(event, "eventTimeZoneOffset")
    parts += sorted(f"certificationInfo={one}" for one in event.get("certificationInfo", ()))
    for name in ("quantityList", "inputQuantityList", "outputQuantityList"):
        if name in event:
            parts += [name, *sorted(map(_quantity, event[name]))]
    parts += _plain(event, "action")
    parts += [f"bizStep={_VOCABULARY}BizStep-{event['bizStep']}"]
    parts += [f"disposition={_VOCABULARY}Disp-{event['disposition']}"] if "disposition" in event else []
    parts += [f"{name}id={event[name]['id']}" for name in ("readPoint", "bizLocation") if name in event]
    for name, inner, prefix in _LISTS:
        if name in event:
            told = (f"type={_VOCABULARY}{prefix}-{one['type']}{inner}={one[inner]}" for one in event[name])
            parts += [name, *sorted(told)]
    return "".join([*parts, *_further(event, namespaces)])


def _plain(event: Mapping[str, Any], name: str) -> list[str]:
    return [f"{name}={event[name]}"] if name in event else []


def _quantity(element: Mapping[str, Any]) -> str:
    return "quantityElement" + "".join(
        f"{name}={element[name]}" for name in ("epcClass", "quantity", "uom") if name in element
    )


def _further(event: Mapping[str, Any], namespaces: Mapping[str, str]) -> Iterable[str]:
    """The attributes of the lots, and what the farm adds in its own namespace."""
    told = sorted(f"{_whole(name, namespaces)}={value}" for name, value in event.get("ilmd", {}).items())
    own = sorted(f"{_whole(name, namespaces)}={value}" for name, value in event.items() if ":" in name)
    return ["ilmd" + "".join(told), *own] if told else own


def _whole(name: str, namespaces: Mapping[str, str]) -> str:
    prefix, _, rest = name.partition(":")
    return f"{{{namespaces[prefix]}}}{rest}"


def _utc(text: str) -> str:
    moment = datetime.fromisoformat(text).astimezone(UTC)
    return f"{moment:%Y-%m-%dT%H:%M:%S}.{moment.microsecond // 1000:03d}Z"
