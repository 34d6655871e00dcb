"""The options of `record KIND`, read off the kind's fields."""

import re
from collections.abc import Mapping
from typing import Any

import click

from lotwalk.errors import Problem, Refused
from lotwalk.kinds.model import Field, Kind
from lotwalk.values.text import Written

OWN = ("again", "help")
"""Options that `record` has itself. A field of such a name can be written on a sheet only."""

_PREFIX = "field_"
_SIGNS = {
    "yes-no": "yes|no",
    "date": "DATE",
    "at": "TIME",
    "count": "NUMBER",
    "number": "NUMBER",
    "numbers": "RANGE",
    "amount": "AMOUNT",
    "range": "RANGE",
    "code": "CODE",
    "codes": "CODES",
    "trays": "TRAYS",
    "files": "FILE",
}
_KEY = r"[A-Za-z][\w-]*\s*="
_PAIRS = re.compile(rf"\s*{_KEY}")
_NEXT_PAIR = re.compile(rf";\s*(?={_KEY})")


def options(kind: Kind) -> list[click.Option]:
    """Return one option for each field of a kind. None is required here: what is missing is asked for, or told."""
    return [_option(field) for field in kind.fields.values() if field.name not in OWN]


def _option(field: Field) -> click.Option:
    # `--washed` alone says yes.
    alone: dict[str, Any] = {"is_flag": False, "flag_value": "yes"} if field.read == "yes-no" else {}
    return click.Option(
        [f"{_PREFIX}{field.name}", f"--{field.name.replace('_', '-')}"],
        help=_help(field),
        metavar=_sign(field),
        multiple=many(field),
        envvar="LOTWALK_BY" if field.name == "by" else None,
        show_envvar=field.name == "by",
        **alone,
    )


def many(field: Field) -> bool:
    """Return whether a field takes a list, and so its option may be given several times."""
    return field.form == "rows" or field.read in ("codes", "words", "files", "trays")


def _sign(field: Field) -> str:
    if field.form == "rows":
        return f'"{row_form(field)}"'
    if field.choices and field.read != "yes-no":
        return "|".join(f'"{choice}"' if " " in choice else choice for choice in field.choices)
    return _SIGNS.get(field.read, "TEXT")


def row_form(field: Field) -> str:
    """Return how one row of a field is written: its short form, or `name=value; name=value`."""
    if field.short:
        return field.short.replace("{", "").replace("}", "").upper()
    return "; ".join(f"{name}=..." for name in list(field.fields)[:3])


def _help(field: Field) -> str:
    more = " [required]" if field.required else ""
    if field.form == "rows":
        more = f" In full: {'; '.join(f'{name}=...' for name in field.fields)}{more}"
    if field.name == "at":
        more = " This minute, if nothing is said."
    return f"{field.description or field.title}.{more}"


def fields_given(kind: Kind, given: Mapping[str, Any]) -> dict[str, Written]:
    """Return what the options say, as it would stand on a sheet. Raises Refused for a row that cannot be read."""
    out: dict[str, Written] = {}
    for name, value in given.items():
        field = kind.fields.get(name.removeprefix(_PREFIX))
        if field and name.startswith(_PREFIX) and value not in (None, ()):
            out[field.name] = from_words(field, list(value)) if isinstance(value, tuple) else value
    return out


def from_words(field: Field, words: list[str]) -> Written:
    """Return a field's value from one or several texts of a command line."""
    if field.form == "rows":
        return [row(word, field.name) for word in words]
    return words[0] if len(words) == 1 else list(words)


def row(text: str, name: str) -> Written:
    """Return one row: a mapping for `lot=P-1; packs=12`, else the text itself, which is in the short form."""
    if not _PAIRS.match(text):
        return text
    pairs: dict[str, Written] = {}
    for part in _NEXT_PAIR.split(text):
        key, _, value = part.partition("=")
        key = key.strip().replace("-", "_")
        if key in pairs:
            raise Refused([Problem(f"`{key}` stands twice in `{text}`", "each name once in a row", name)])
        pairs[key] = value.strip()
    return pairs
