"""Rows: a list of mappings, one mapping alone, or text in the kind's short form."""

from lotwalk.errors import NotUnderstood
from lotwalk.kinds.model import Field
from lotwalk.kinds.readers import hint
from lotwalk.values.codes import expand
from lotwalk.values.text import Text, Written, line_of


def row_mappings(value: Written, field: Field) -> list[dict[str, Written]]:
    """Return the rows of a field as mappings, whichever way they were written.

    Raises NotUnderstood for a row that is neither a mapping nor in the short form.
    """
    rows: list[dict[str, Written]] = []
    for item in value if isinstance(value, list) else [value]:
        if isinstance(item, dict):
            rows.append(item)
        elif isinstance(item, str):
            rows += _split(item, field)
        else:
            raise NotUnderstood("a list stands inside the list", hint(field))
    return rows


def _split(text: str, field: Field) -> list[dict[str, Written]]:
    """Return the rows that a text in the short form stands for: `S-1 200 g, S-2 150 g`, or codes and ranges alone."""
    if not field.short:
        raise NotUnderstood(f"`{text}` stands here", f"a mapping: {hint(field)}")
    names = field.short.replace("{", "").replace("}", "").split()
    line = line_of(text)
    rows: list[dict[str, Written]] = []
    for part in text.split(","):
        words = part.split(None, len(names) - 1)
        if not words:
            raise NotUnderstood("a row is missing before or after a comma", hint(field))
        firsts = expand(words[0]) if len(words) == 1 else [words[0]]
        rows += [
            {name: Text(word, line) for name, word in zip(names, [first, *words[1:]], strict=False)} for first in firsts
        ]
    return rows
