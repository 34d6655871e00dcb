"""Canonical JSON: one value, one sequence of bytes (RFC 8785), restricted to what a ledger hashes."""

from json import JSONEncoder
from typing import TypeAlias

JSON: TypeAlias = "str | int | list[JSON] | dict[str, JSON]"
"""Strings, integers, lists and mappings. Decimals are written as strings."""

LARGEST_INTEGER = 2**53 - 1
"""RFC 8785 reads every number as a double; beyond this, two integers could be written alike."""

_encode = JSONEncoder(ensure_ascii=False, check_circular=False, separators=(",", ":")).encode


def canonical(value: JSON) -> bytes:
    """Return the canonical UTF-8 bytes of a value.

    Raises TypeError on a float, a bool, None, a key that is no string and any other type: they have no place
    in what is hashed. Raises ValueError on an integer beyond 2^53 - 1 and on half a surrogate pair.
    """
    return _encode(_ordered(value)).encode("utf-8")


def _ordered(value: JSON) -> JSON:
    """Return the value, checked, with the keys of its mappings in RFC 8785's order at every depth."""
    if isinstance(value, str):
        return value
    if isinstance(value, dict):
        return {key: _ordered(value[key]) for key in _sorted(value)}
    if isinstance(value, list):
        return [_ordered(item) for item in value]
    if isinstance(value, int) and not isinstance(value, bool):
        if abs(value) > LARGEST_INTEGER:
            raise ValueError(f"the integer {value} is beyond 2^53 - 1")
        return value
    raise TypeError(f"canonical JSON holds strings, integers, lists and mappings, not {type(value).__name__}")


def _sorted(mapping: dict[str, JSON]) -> list[str]:
    for key in mapping:
        if not isinstance(key, str):
            raise TypeError(f"a key of canonical JSON is a string, not {type(key).__name__}")
    # Keys are ordered by UTF-16 code units, which is another order than Python's beyond U+FFFF.
    if all(map(str.isascii, mapping)):
        return sorted(mapping)
    return sorted(mapping, key=lambda key: key.encode("utf-16-be"))
