"""Canonical JSON: one value, one sequence of bytes (RFC 8785), restricted to what a ledger hashes."""

from json import JSONEncoder
from typing import TypeAlias

JSON: TypeAlias = "str | int | list[JSON] | dict[str, JSON]"
"""Strings, integers, lists and mappings. Decimals are written as strings."""

LARGEST_INTEGER = 2**53 - 1
"""RFC 8785 reads every number as a double; beyond this, two integers could be written alike."""

_encode = JSONEncoder(ensure_ascii=False, check_circular=False, separators=(",", ":")).encode
_encode_sorted = JSONEncoder(ensure_ascii=False, check_circular=False, separators=(",", ":"), sort_keys=True).encode


def canonical(value: JSON) -> bytes:
    """Return the canonical UTF-8 bytes of a value.

    Raises TypeError on a float, a bool, None, a key that is no string and any other type: they have no place
    in what is hashed. Raises ValueError on an integer beyond 2^53 - 1 and on half a surrogate pair.
    """
    # Python orders ASCII keys as RFC 8785 does, so what has no others need not be put in order here, which is slow.
    text = _encode_sorted(value) if _check(value) else _encode(_ordered(value))
    return text.encode("utf-8")


def _check(value: object) -> bool:
    """Return whether all keys at every depth are ASCII. Raises TypeError and ValueError as `canonical`."""
    simple = True
    left = [value]
    while left:
        one = left.pop()
        if isinstance(one, str):
            continue
        if isinstance(one, dict):
            for key in one:
                if not isinstance(key, str):
                    raise TypeError(f"a key of canonical JSON is a string, not {type(key).__name__}")
                simple = simple and key.isascii()
            left += one.values()
        elif isinstance(one, list):
            left += one
        elif isinstance(one, int) and not isinstance(one, bool):
            if abs(one) > LARGEST_INTEGER:
                raise ValueError(f"the integer {one} is beyond 2^53 - 1")
        else:
            raise TypeError(f"canonical JSON holds strings, integers, lists and mappings, not {type(one).__name__}")
    return simple


def _ordered(value: JSON) -> JSON:
    """Return a checked value with the keys of its mappings in RFC 8785's order at every depth."""
    if isinstance(value, dict):
        # By UTF-16 code units, which is another order than Python's beyond U+FFFF.
        return {key: _ordered(value[key]) for key in sorted(value, key=lambda key: key.encode("utf-16-be"))}
    if isinstance(value, list):
        return [_ordered(item) for item in value]
    return value
