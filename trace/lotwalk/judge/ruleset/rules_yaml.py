"""Reads YAML into text, mappings and lists that carry their lines; nothing is guessed to be a number or a yes."""

from typing import Any

import yaml

from lotwalk.errors import Problem, Refused
from lotwalk.values.text import Fields, Listing, Text, Written

# The C reader is several times faster, and the same where both exist.
_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def read_yaml(text: str, names: list[str], problems: list[Problem]) -> list[Written]:
    """Return the documents of a text, parted by `---`; `names` are their files.

    A key that stands twice and an alias are added to `problems`. Raises Refused for what is no YAML at all.
    """
    try:
        nodes = [node for node in yaml.compose_all(text, Loader=_Loader) if _holds_something(node)]
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
