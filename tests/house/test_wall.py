"""The layout of the tables is known in `store`, in `ledger`, and in the walk's own statements; nowhere else.

What everybody would otherwise copy (the version in force, the node of an entry, the number of a role) is written in
`store/sql.py`, `store/nodes.py` and `values/roles.py` alone.
"""

import ast
import re
from pathlib import Path

import pytest

from lotwalk.store import sql, tables
from lotwalk.values.roles import Role

PACKAGE = Path(__file__).parents[2] / "trace" / "lotwalk"
STATEMENTS = PACKAGE / "walk" / "statements.py"
TABLES = "|".join(tables.metadata.tables)
SPEAKS_SQL = re.compile(rf"\b(?:FROM|JOIN|UPDATE|INTO) (?:{TABLES})\b")
IN_FORCE = re.compile(r"\bamends\s*=\s*\w+\.|\bamends\s*=\s*\(")
ROLE_NUMBER = re.compile(r"\brole\s*(?:=|<>|<=|>=|IN|BETWEEN)\s*\(?\d")
NODE_IN_SQL = re.compile(r"\bnode\s*(?:>>|%|&)|\b2\s*\*\s*\w+\.seq")


def _modules(*besides: str) -> list[Path]:
    """All modules, but for those in some packages, for the walk's statements, and for the migrations."""
    return [
        path
        for path in sorted(PACKAGE.rglob("*.py"))
        if path != STATEMENTS and path.relative_to(PACKAGE).parts[0] not in besides
    ]


def _texts(path: Path) -> list[str]:
    """The string literals of a module; of an f-string what is written between its values."""
    tree = ast.parse(path.read_text("utf-8"))
    docs = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs
    ]


def _found(pattern: re.Pattern[str], paths: list[Path]) -> list[str]:
    return [
        f"{path.relative_to(PACKAGE)}: {text.strip()[:60]}"
        for path in paths
        for text in _texts(path)
        if pattern.search(text)
    ]


def _arithmetic(path: Path) -> list[str]:
    """Where a node is shifted, masked or doubled."""
    found = []
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.RShift | ast.BitAnd | ast.BitOr | ast.Mult):
            words = ast.unparse(node)
            if re.search(r"\b(?:node|seq)\b", words) and re.search(r"\b[12]\b", words):
                found.append(f"{path.relative_to(PACKAGE)}: {words}")
    return found


def test_only_the_ledger_and_the_store_speak_sql():
    assert _found(SPEAKS_SQL, _modules("store", "ledger")) == []


def test_others_know_of_the_database_only_that_there_is_a_connection():
    wrong = []
    for path in _modules("store", "ledger", "walk"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "sqlalchemy":
                wrong += [f"{path.relative_to(PACKAGE)}: {one.name}" for one in node.names if one.name != "Connection"]
            if isinstance(node, ast.ImportFrom) and node.module in ("lotwalk.store.sql", "lotwalk.store.tables"):
                wrong.append(f"{path.relative_to(PACKAGE)}: {node.module}")
    assert wrong == []


def test_the_version_in_force_is_written_once():
    assert _found(IN_FORCE, _modules("store")) == []


def test_nodes_are_reckoned_in_one_place():
    assert _found(NODE_IN_SQL, _modules("store")) == []
    assert [one for path in _modules("store") for one in _arithmetic(path)] == []


def test_roles_have_numbers_in_one_place():
    assert _found(ROLE_NUMBER, _modules("store")) == []


@pytest.mark.parametrize(
    ("pattern", "words"),
    [
        (SPEAKS_SQL, "SELECT u.thing FROM use u"),
        (SPEAKS_SQL, " JOIN entry e ON"),
        (IN_FORCE, "NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq)"),
        (IN_FORCE, "a.amends = (u.node >> 1)"),
        (ROLE_NUMBER, "u.role = 6"),
        (ROLE_NUMBER, "u.role IN (1, 6)"),
        (ROLE_NUMBER, "role >= 9"),
        (NODE_IN_SQL, "u.node >> 1"),
        (NODE_IN_SQL, "u.node % 2 = 0"),
        (NODE_IN_SQL, "2 * e.seq"),
    ],
)
def test_what_is_looked_for_is_seen_where_it_stands(pattern, words):
    assert pattern.search(words)


@pytest.mark.parametrize("roles", [(role,) for role in Role] + [tuple(Role), (Role.TOOK, Role.MADE, Role.ABOUT)])
def test_a_condition_on_roles_holds_the_very_words_of_the_indexes_that_it_needs(roles):
    """SQLite takes a partial index only where its condition stands in the query; and each role is in just one part."""
    conditions = {str(index.dialect_options["sqlite"]["where"]) for index in tables.use.indexes}
    assert {sql.SOURCES, sql.SINKS, sql.BREAKS, sql.NAMED} < conditions
    parts = sql.role_parts("u", *roles)
    assert all(any(part.startswith(sql.within(one)) for one in conditions if "role" in one) for part in parts)
    listed = [int(number) for part in parts for number in re.findall(r"\d+", part.split(" IN ")[1])]
    assert sorted(listed) == sorted({role.stored for role in roles})
