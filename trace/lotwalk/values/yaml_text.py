"""Reads the YAML of the program's own files: as values, as plain words, or with the line of each word.

A sheet that somebody types has a reader of its own (`sheets/events.py`), which refuses more and explains more.
"""

from pathlib import Path
from typing import Any

import yaml

from lotwalk.errors import KindError, Problem, Refused
from lotwalk.values.text import Fields, Listing, Text, Written

# The C readers are eight times faster, and the same where both exist.
_Values: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_Words: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)


def file_text(path: Path) -> str:
    """Return the text of a file. Raises KindError when it cannot be read."""
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as why:
        raise _unreadable(path.name, why) from None


def values_of(text: str, name: str) -> Any:
    """Return what a text holds, numbers and yes and no read as such; `name` is its file's. Raises KindError."""
    try:
        return _loaded(text, name, _Values)
    except ValueError as why:  # 2026-02-30 without quotes
        raise KindError(f"{name}: {why}; what is no date or number needs quotes") from None


def words_of(text: str, name: str) -> Any:
    """Return what a text holds, each value as it is written; `name` is its file's. Raises KindError."""
    return _loaded(text, name, _Words)


def _loaded(text: str, name: str, loader: Any) -> Any:
    try:
        return yaml.load(text, Loader=loader)
    except (yaml.YAMLError, RecursionError) as why:
        raise _unreadable(name, why) from None


def _unreadable(name: str, why: Exception) -> KindError:
    return KindError(f"{name}: cannot be read: {' '.join(str(why).split())}")


def lines_of(text: str, names: list[str], problems: list[Problem]) -> list[Written]:
    """Return the documents of a text, parted by `---`, each value as text with its line; `names` are their files.

    A key that stands twice and an alias are added to `problems`. Raises Refused for what is no YAML at all.
    """
    try:
        nodes = [node for node in yaml.compose_all(text, Loader=_Values) if _holds_something(node)]
    except yaml.YAMLError as why:
        mark = getattr(why, "problem_mark", None)
        problem = Problem(f"this is not YAML: {getattr(why, 'problem', None) or why}")
        raise Refused([problem.at(names[0], mark.line + 1 if mark else 0)]) from None
    except RecursionError:
        raise Refused([Problem("it is nested too deep", "a plain rule set", source=names[0])]) from None
    found = []
    for place, node in enumerate(nodes):
        mistakes: list[Problem] = []
        found.append(_written(node, mistakes, "", set()))
        problems += [problem.at(names[min(place, len(names) - 1)]) for problem in mistakes]
    return found


def _holds_something(node: Any) -> bool:
    return not (isinstance(node, yaml.ScalarNode) and node.tag.endswith(":null"))


def _written(node: Any, mistakes: list[Problem], key: str, seen: set[int]) -> Written:
    line = node.start_mark.line + 1
    if id(node) in seen:
        what = "this refers to another place (an alias)"
        mistakes.append(Problem(what, "the words themselves", key, line=line))
        return Text("", line)
    seen.add(id(node))
    if isinstance(node, yaml.ScalarNode):
        return Text(node.value, line)
    if isinstance(node, yaml.SequenceNode):
        return Listing([_written(item, mistakes, key, seen) for item in node.value], line=line)
    fields = Fields(line=line)
    for name, value in node.value:
        inner = f"{key}.{name.value}" if key else str(name.value)
        if str(name.value) in fields:
            twice = name.start_mark.line + 1
            mistakes.append(Problem("this key stands twice", "each key once", inner, line=twice))
        fields[str(name.value)] = _written(value, mistakes, inner, seen)
    return fields
