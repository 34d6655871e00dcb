"""The house keeps its order: what stands where, which way imports point, how long modules are."""

import ast
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "trace" / "lotwalk"

LAYERS = [
    {"errors", "data", "collector", "finding"},
    {"values"},
    {"sheets", "kinds", "science"},
    {"mixing", "forms"},
    {"store"},
    {"ledger"},
    {"walk", "judge", "balance"},
    {"recall", "checks"},
    {"book"},
    {"pages", "exchange"},
    {"demo"},
    {"cli"},
]
"""Packages from the lowest up: each may import those below it, and no other."""


def _modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def _package(path: Path) -> str:
    part = path.relative_to(PACKAGE).parts[0]
    return part.removesuffix(".py")


def _imported(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("lotwalk."):
            found.add((node.module or "").split(".")[1])
        elif isinstance(node, ast.Import):
            found |= {name.name.split(".")[1] for name in node.names if name.name.startswith("lotwalk.")}
    return found


def test_imports_point_downward_only():
    level = {name: number for number, names in enumerate(LAYERS) for name in names}
    assert {_package(path) for path in _modules()} - {"__init__", "__main__"} == level.keys()
    wrong = [
        f"{path.relative_to(PACKAGE)} imports {other}"
        for path in _modules()
        if _package(path) in level
        for other in _imported(path)
        if other != _package(path) and level[other] >= level[_package(path)]
    ]
    assert wrong == []


@pytest.mark.parametrize("package", ["values", "kinds", "sheets", "science", "mixing", "forms", "judge"])
def test_what_needs_no_database_imports_none(package):
    for path in (PACKAGE / package).rglob("*.py"):
        names = {
            name
            for node in ast.walk(ast.parse(path.read_text("utf-8")))
            for name in (
                [node.module or ""]
                if isinstance(node, ast.ImportFrom)
                else [one.name for one in node.names]
                if isinstance(node, ast.Import)
                else []
            )
        }
        assert not {name for name in names if name.split(".")[0] in ("sqlalchemy", "alembic", "click")}, path


def test_the_source_root_does_not_shadow_the_standard_library():
    assert not (ROOT / "trace" / "__init__.py").exists()
    import trace

    assert Path(trace.__file__).parts[-1] == "trace.py"
    assert "trace" in sys.stdlib_module_names


def test_only_the_agreed_folders_stand_at_the_top():
    agreed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "trace", "schemas", "reports", "tests", "samples"}
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    built = {name for name in found if name in ("build", "dist") or name.endswith((".egg-info", ".db", ".pdf"))}
    assert found - built - {path for path in found if path.endswith(("-wal", "-shm"))} == agreed


def test_no_module_is_longer_than_can_be_read():
    long = {
        str(path.relative_to(ROOT)): count
        for path in [*_modules(), *ROOT.joinpath("tests").rglob("*.py")]
        if (count := len(path.read_text("utf-8").splitlines())) > 400
    }
    assert long == {}
