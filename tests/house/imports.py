"""Finds what a module imports, in whatever form it says so and wherever in the module it stands."""

import ast
from collections.abc import Iterator

UNSEEN = "?"
"""Stands for an import of which the source does not say what it imports."""

_BY_NAME = ("import_module", "__import__")


def imported(source: str) -> set[str]:
    """Return the dotted names that a module's source imports, as far down as they are written.

    `from a import b` gives `a.b`, since b may be a module. A relative import keeps its leading dots. What is imported
    by a call is found where the call says it in plain text, and is UNSEEN otherwise.
    """
    tree = ast.parse(source)
    return {name for node in ast.walk(tree) for name in (*_stated(node), *_called(node))} | _handed_on(tree)


def _stated(node: ast.AST) -> Iterator[str]:
    if isinstance(node, ast.Import):
        yield from (one.name for one in node.names)
    elif isinstance(node, ast.ImportFrom):
        module = "." * node.level + (node.module or "")
        yield from (f"{module.removesuffix('.')}.{one.name}" for one in node.names)


def _called(node: ast.AST) -> Iterator[str]:
    if isinstance(node, ast.Call) and _name(node.func) in _BY_NAME:
        said = [*node.args, *(one.value for one in node.keywords)]
        # A second argument changes what the first means.
        plain = len(said) == 1 and isinstance(said[0], ast.Constant) and isinstance(said[0].value, str)
        yield said[0].value if plain else UNSEEN


def _handed_on(tree: ast.AST) -> set[str]:
    """UNSEEN where a function that imports is not called but kept, under another name or for another to call."""
    called = {id(node.func) for node in ast.walk(tree) if isinstance(node, ast.Call)}
    kept = any(_name(node) in _BY_NAME and id(node) not in called for node in ast.walk(tree))
    renamed = any(isinstance(node, ast.alias) and node.name in _BY_NAME and node.asname for node in ast.walk(tree))
    return {UNSEEN} if kept or renamed else set()


def _name(node: ast.AST) -> str:
    if isinstance(node, ast.Name):
        return node.id
    return node.attr if isinstance(node, ast.Attribute) else ""
