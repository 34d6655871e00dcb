"""Reads a kind file: its YAML, the subset of JSON Schema that it may use, and the references it holds.

The subset is the keywords in `KEYWORDS` and the annotations in `ANNOTATIONS`; anything else is refused, so that no
file can say something that the program would quietly pass over.
"""

from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from typing import Any, TypeAlias

from lotwalk.errors import KindError
from lotwalk.values.yaml_text import file_text, values_of

Schema: TypeAlias = dict[str, Any]
"""A JSON Schema as read from YAML."""

KEYWORDS: Mapping[str, str] = {
    "$schema": "text",
    "$id": "text",
    "$ref": "text",
    "$defs": "schemas",
    "title": "text",
    "description": "text",
    "type": "words",
    "properties": "schemas",
    "required": "words",
    "anyOf": "list",
    "unevaluatedProperties": "false",
    "additionalProperties": "false",
    "items": "schema",
    "enum": "words",
    "pattern": "text",
    "format": "text",
    "minLength": "count",
    "maxLength": "count",
    "minItems": "count",
    "maxItems": "count",
}
"""The keywords of JSON Schema that a kind file may use, and the form of what each holds."""

ANNOTATIONS = frozenset(
    {
        "x-amount", "x-asked", "x-called", "x-dimension", "x-follows", "x-instead", "x-least", "x-limit", "x-lines",
        "x-log", "x-makes", "x-most", "x-notice", "x-order", "x-range", "x-read-out", "x-role", "x-settings",
        "x-shared", "x-short", "x-tells", "x-thing", "x-there", "x-usual", "x-verdict", "x-with",
    }
)  # fmt: skip
"""The annotations that a kind file may use; schemas/README.md says what they mean."""

_SAID_ANEW = frozenset({"$schema", "$id", "title", "description"}) | ANNOTATIONS
_MOST_REFERENCES = 20
_COMMON = "common.yaml"


def read_yaml(path: Path) -> tuple[Schema, str]:
    """Return a YAML file's mapping, and its text. Raises KindError when it cannot be read or is something else."""
    text = file_text(path)
    return _mapping(text, path), text


def _mapping(text: str, path: Path) -> Schema:
    content = values_of(text, path.name)
    if not isinstance(content, dict):
        raise KindError(f"{path.name}: does not hold a mapping")
    return content


class KindFile:
    """A kind file as it stands on the disk, its text and its YAML each read once, when first asked for.

    Whatever is asked of it raises KindError when it cannot be read.
    """

    def __init__(self, path: Path) -> None:
        self.path = path

    @cached_property
    def text(self) -> str:
        """The text of the file."""
        return file_text(self.path)

    @cached_property
    def schema(self) -> Schema:
        """The mapping that the file holds."""
        return _mapping(self.text, self.path)

    def says(self, *words: str) -> bool:
        """Return whether each of the words (letters, digits, - and _) is a name or a value in the file's YAML.

        In whatever style YAML writes such a word, its letters stand side by side in the text, unless an escape parts
        them or stands for one, and an escape is a backslash. So most files need not be read as YAML to answer no. That
        counts at the sink: to read all as YAML takes thirty times as long as to look through their text.
        """
        if "\\" not in self.text and not all(word in self.text for word in words):
            return False
        return self._words.issuperset(words)

    @cached_property
    def _words(self) -> frozenset[str]:
        words: set[str] = set()
        # What an alias stands for is looked through once, even where it holds itself.
        met: set[int] = set()
        ahead: list[object] = [self.schema]
        while ahead:
            one = ahead.pop()
            if isinstance(one, str):
                words.add(one)
            elif isinstance(one, dict | list) and id(one) not in met:
                met.add(id(one))
                ahead += [*one, *one.values()] if isinstance(one, dict) else one
        return frozenset(words)


def read_common(folder: Path) -> Schema:
    """Return common.yaml, checked, with its references written out so that they hold in any file."""
    schema, _ = read_yaml(folder / _COMMON)
    check_subset(schema, _COMMON)
    absolute: Schema = _from_common(schema)
    return absolute


def _from_common(node: Any) -> Any:
    if isinstance(node, dict):
        return {
            key: f"{_COMMON}{value}" if key == "$ref" and str(value).startswith("#") else _from_common(value)
            for key, value in node.items()
        }
    return [_from_common(item) for item in node] if isinstance(node, list) else node


def check_subset(schema: Any, where: str) -> None:
    """Raise KindError at the first keyword, at any depth, that is unknown or holds the wrong form of value."""
    try:
        _check(schema, where)
    except RecursionError:
        raise KindError(f"{where}: a part of it holds itself, or holds too much in one another") from None


def _check(schema: Any, where: str) -> None:
    if not isinstance(schema, dict):
        raise KindError(f"{where}: a mapping was expected")
    for key, value in schema.items():
        here = f"{where}: {key}"
        if key in ANNOTATIONS:
            continue
        form = KEYWORDS.get(key)
        if form is None:
            raise KindError(f"{here}: not one of the keywords that a kind file may use (schemas/README.md lists them)")
        if form in ("schema", "schemas"):
            for name, inner in _inner(key, value, here):
                _check(inner, name)
        elif not _holds_form(value, form):
            raise KindError(f"{here}: {_FORMS[form]} was expected, not {value!r}")


_FORMS = {
    "text": "text",
    "words": "text in quotes, or a list of it,",
    "list": "a list",
    "false": "false",
    "count": "a whole number",
}


def _inner(key: str, value: Any, here: str) -> list[tuple[str, Any]]:
    if key == "items":
        return [(here, value)]
    if not isinstance(value, dict) or not all(isinstance(name, str) for name in value):
        raise KindError(f"{here}: a mapping from names was expected (names such as yes or 12 need quotes)")
    return [(f"{here}.{name}", inner) for name, inner in value.items()]


def _holds_form(value: Any, form: str) -> bool:
    if form == "text":
        return isinstance(value, str)
    if form == "words":
        return isinstance(value, str) or (isinstance(value, list) and all(isinstance(item, str) for item in value))
    if form == "list":
        return isinstance(value, list)
    if form == "false":
        return value is False
    return isinstance(value, int) and not isinstance(value, bool) and value >= 0


def resolve(schema: Schema, common: Schema, local: Schema, where: str, depth: int = 0) -> Schema:
    """Return the schema with its own `$ref` followed, and what stands beside it added.

    `local` is the file's `$defs`. Schemas inside (properties, items) keep theirs until they are resolved in turn.
    Raises KindError for a reference that leads nowhere or round in a circle.
    """
    if "$ref" not in schema:
        return schema
    if depth > _MOST_REFERENCES:
        raise KindError(f"{where}: its $ref leads round in a circle")
    target = _target(schema["$ref"], common, local, where)
    beside = {key: value for key, value in schema.items() if key != "$ref"}
    return merge(resolve(target, common, local, where, depth + 1), beside, where)


def _target(reference: str, common: Schema, local: Schema, where: str) -> Schema:
    file, _, pointer = reference.partition("#")
    definitions = common.get("$defs", {}) if file == _COMMON else local
    if file == _COMMON and not pointer:
        return {key: value for key, value in common.items() if key != "$defs"}
    name = pointer.removeprefix("/$defs/")
    if file not in ("", _COMMON) or not pointer.startswith("/$defs/") or name not in definitions:
        raise KindError(f"{where}: $ref {reference} leads nowhere; common.yaml has {', '.join(common['$defs'])}")
    found: Schema = definitions[name]
    return found


def merge(base: Schema, extra: Schema, where: str) -> Schema:
    """Return the schema that asks what both ask. Titles, descriptions and annotations of `extra` win.

    Raises KindError where both hold a keyword and its values cannot both stand in one schema.
    """
    merged = dict(base)
    for key, value in extra.items():
        old = base.get(key)
        if old is None or key in _SAID_ANEW:
            merged[key] = value
        elif key == "required":
            merged[key] = [*old, *(name for name in value if name not in old)]
        elif key in ("properties", "$defs"):
            merged[key] = old | {
                name: merge(old[name], inner, f"{where}: {name}") if name in old else inner
                for name, inner in value.items()
            }
        elif isinstance(old, dict) and isinstance(value, dict):
            merged[key] = merge(old, value, f"{where}: {key}")
        elif old != value:
            raise KindError(f"{where}: {key} stands here and in what $ref names, and they differ")
    return merged
