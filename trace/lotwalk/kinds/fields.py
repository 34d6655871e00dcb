"""Turns a kind file's schema into `Kind` and `Field`."""

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from lotwalk.errors import KindError
from lotwalk.kinds import annotations as notes
from lotwalk.kinds.annotations import Site
from lotwalk.kinds.facts import ENTRY_FACTS
from lotwalk.kinds.files import Schema, resolve
from lotwalk.kinds.model import Field, Kind, ThingKind

LISTS = ("codes", "words", "trays", "files")
"""The forms of reading for which a list may be written, or one text."""

ONE_TEXT = ("date", "at", "code", "yes-no", "count", "number", "numbers", "amount", "range")
"""The other forms of reading, besides plain text."""

_LAST = ("note", "files")
_NAME = re.compile(r"[a-z][a-z0-9_]*")
_IN_CONDITIONS = ("given", "absent", "thing")
_MEASURED = ("amount", "range")
_ITEM_KEYWORDS = {"type", "pattern", "enum"}
_ROW_KEYWORDS = ("properties", "required", "additionalProperties", "anyOf", "x-short")


class Builder:
    """Builds one kind. `common` is common.yaml, `things` are all kinds of thing."""

    def __init__(self, path: Path, schema: Schema, common: Schema, things: Mapping[str, ThingKind]) -> None:
        self.file = path.name
        self.common = common
        self.local: Schema = schema.get("$defs", {})
        self.things = things
        self.schema = schema
        self.root = self._resolve(schema, self.file)
        self.shared_names = set(resolve({"$ref": "common.yaml"}, common, {}, "common.yaml")["properties"])

    def kind(self, name: str, text: str, digest: str, *, own: bool) -> Kind:
        """Return the kind, all annotations checked. Raises KindError."""
        root = self.root
        self._check_root(name)
        schemas = {
            field: self._resolve(schema, f"{self.file}: properties.{field}")
            for field, schema in root["properties"].items()
        }
        site = Site(self.file, schemas, schemas, self.things)
        required = set(root.get("required", ()))
        for field in required:
            site.field("required", field)
        fields = {
            field: self._field(field, schemas[field], schemas, schemas, required=field in required)
            for field in sorted(schemas, key=lambda field: field in _LAST)
            if field != "kind"
        }
        log = tuple(site.field("x-log", field) for field in root.get("x-log", ()))
        return Kind(
            name=name,
            title=root["title"],
            description=root["description"],
            fields=fields,
            log=log or tuple(fields),
            asked=tuple(root.get("x-asked", ())),
            verdict=root.get("x-verdict"),
            shared=notes.read_shared(root, site),
            settings=bool(root.get("x-settings", False)),
            own=own,
            text=text,
            digest=digest,
            needs=_needs(root, site),
            facts=notes.read_facts(root, site, ENTRY_FACTS),
            notice=root.get("x-notice"),
            order=notes.read_order(root, site),
        )

    def _check_root(self, name: str) -> None:
        root = self.root
        for key in ("title", "description"):
            if not self.schema.get(key):
                raise KindError(f"{self.file}: {key} is missing")
        if root.get("$id") != name:
            raise KindError(f"{self.file}: $id must be {name}, as the file is named")
        if root.get("unevaluatedProperties") is not False:
            raise KindError(f"{self.file}: unevaluatedProperties must be false, so that a slip is noticed")
        if missing := {"at", "kind"} - set(root["properties"]):
            raise KindError(f"{self.file}: $ref must bring in common.yaml ({', '.join(sorted(missing))} is missing)")
        for key in ("x-log", "x-asked"):
            if not isinstance(root.get(key, []), list):
                raise KindError(f"{self.file}: {key}: a list was expected")
        judges = (root.get("x-verdict", ""), root.get("x-notice", ""))
        if not isinstance(root.get("x-settings", True), bool) or not all(isinstance(name, str) for name in judges):
            raise KindError(f"{self.file}: x-settings is true or false, and x-verdict and x-notice are names")

    def _resolve(self, schema: Schema, where: str) -> Schema:
        return resolve(schema, self.common, self.local, where)

    def _field(
        self, name: str, schema: Schema, beside: Mapping[str, Schema], around: Mapping[str, Schema], *, required: bool
    ) -> Field:
        in_row = beside is not around
        where = f"{self.file}: {'row' if in_row else 'properties'}.{name}"
        site = Site(where, beside, around, self.things)
        if not _NAME.fullmatch(name) or name in _IN_CONDITIONS:
            raise KindError(f"{where}: a field is named with a-z, 0-9 and _, and not {', '.join(_IN_CONDITIONS)}")
        if not schema.get("title"):
            raise KindError(f"{where}: title is missing")
        common: dict[str, Any] = {
            "name": name,
            "title": schema["title"],
            "description": schema.get("description", ""),
            "required": required,
            "many": (schema.get("minItems", 0), schema.get("maxItems")),
            "common": not in_row and name in self.shared_names,
        }
        if "properties" in schema:
            if in_row:
                raise KindError(f"{where}: a row cannot hold rows")
            return self._rows(common, schema, around, site)
        return self._scalar(common, schema, site)

    def _rows(self, common: dict[str, Any], schema: Schema, around: Mapping[str, Schema], site: Site) -> Field:
        items = self._resolve(schema.get("items", {}), site.where)
        short = schema.get("x-short")
        shapes = {"array", "object", "string"} if short else {"array", "object"}
        same = all(schema.get(key) == items.get(key) for key in _ROW_KEYWORDS)
        if set(_types(schema)) != shapes or set(_types(items)) != shapes - {"array"} or not same:
            raise site.error(
                "type", "rows are written type: [array, object], with the same $ref beside type and in items"
            )
        if schema.get("additionalProperties") is not False:
            raise site.error("additionalProperties", "must be false, so that a slip is noticed")
        inner = {name: self._resolve(value, f"{site.where}.{name}") for name, value in schema["properties"].items()}
        row = Site(site.where, inner, around, self.things)
        required = set(schema.get("required", ()))
        for name in (*required, *(_short_fields(short, row) if short else ())):
            row.field("required", name)
        return Field(
            form="rows",
            read="rows",
            short=short,
            lines=notes.read_lines(schema, site),
            needs=_needs(schema, row),
            fields={
                name: self._field(name, value, inner, around, required=name in required)
                for name, value in inner.items()
            },
            **common,
        )

    def _scalar(self, common: dict[str, Any], schema: Schema, site: Site) -> Field:
        read = schema.get("format", "text")
        if read not in (*LISTS, *ONE_TEXT, "text"):
            site.one_of("format", read, (*LISTS, *ONE_TEXT), "form of reading")
        choices = _choices(schema, read, site)
        things, makes = notes.read_things(schema, site), notes.read_makes(schema, site)
        names_things = bool(things or makes)
        if (read in ("code", "codes", "trays")) != names_things:
            raise site.error("x-thing", "a field of codes says x-thing or x-makes, and no other field does")
        usual, usual_things, usual_asked = notes.read_usual(schema, site)
        return Field(
            form="codes" if names_things else "files" if read == "files" else "text",
            read=read,
            things=things,
            makes=makes,
            roles=notes.read_roles(schema, site) if names_things else (),
            amount=notes.read_amount(schema, site),
            dimensions=_dimensions(schema, read, site),
            usual=usual,
            usual_things=usual_things,
            usual_asked=usual_asked,
            follows=notes.read_follows(schema, site),
            stands=notes.read_with(schema, site),
            there=notes.read_there(schema, site),
            instead=notes.read_instead(schema, site),
            facts=notes.read_facts(schema, site),
            called=notes.read_called(schema, site),
            bounds=notes.read_bounds(schema, site),
            read_out=notes.read_read_out(schema, site),
            choices=choices,
            pattern=_pattern(schema, site),
            length=(schema.get("minLength", 0), schema.get("maxLength")),
            limits=notes.read_limits(schema, site),
            lines=notes.read_lines(schema, site),
            **common,
        )


def _short_fields(short: Any, site: Site) -> tuple[str, ...]:
    names = tuple(re.findall(r"{(\w+)}", str(short)))
    if not names or " ".join(f"{{{name}}}" for name in names) != short:
        raise site.error("x-short", 'fields in braces with one space between were expected, such as "{lot} {amount}"')
    return names


def _types(schema: Schema) -> list[str]:
    found = schema.get("type", [])
    return [found] if isinstance(found, str) else found


def _needs(schema: Schema, site: Site) -> tuple[tuple[str, ...], ...]:
    groups = []
    for group in schema.get("anyOf", ()):
        names = site.listed("anyOf", site.mapped("anyOf", group, ["required"])["required"])
        groups.append(tuple(site.field("anyOf", name) for name in names))
    return tuple(groups)


def _choices(schema: Schema, read: str, site: Site) -> tuple[str, ...]:
    wanted = ["string", "array"] if read in LISTS else ["string"]
    if _types(schema) != wanted:
        raise site.error("type", f"{wanted} was expected")
    if read == "yes-no":
        return ("yes", "no")
    if read not in LISTS:
        return tuple(schema.get("enum", ()))
    items = schema.get("items", {})
    if not set(items) <= _ITEM_KEYWORDS or _types(items) != ["string"] or items.get("pattern") != schema.get("pattern"):
        raise site.error("items", "only type: string, the pattern of the field and enum were expected")
    if "enum" in schema:
        raise site.error("enum", "stands in items when a list may be written")
    return tuple(items.get("enum", ()))


def _dimensions(schema: Schema, read: str, site: Site) -> tuple[str, ...]:
    key = "x-dimension"
    if (read in _MEASURED) != (key in schema):
        raise site.error(key, "an amount or a range says its dimensions, and no other field does")
    if ("x-range" in schema) != (read == "range") or schema.get("x-range", "worst") != "worst":
        raise site.error("x-range", "worst, on a range only, was expected")
    if key not in schema:
        return ()
    return tuple(site.one_of(key, name, notes.DIMENSIONS, "dimension") for name in site.listed(key, schema[key]))


def _pattern(schema: Schema, site: Site) -> str | None:
    pattern = schema.get("pattern")
    if pattern is None:
        return None
    try:
        re.compile(pattern)
    except re.error as why:
        raise site.error("pattern", f"{pattern!r} is not a pattern: {why}") from None
    return str(pattern)
