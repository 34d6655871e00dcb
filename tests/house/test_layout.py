"""The house keeps its order: what stands where, which way imports point, how long modules are."""

import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest
from tests.house.imports import UNSEEN, imported

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "trace" / "lotwalk"

LAYERS = [
    {"__init__"},
    {"errors", "data", "collector"},
    {"values"},
    {"finding", "sheets", "kinds", "science"},
    {"mixing", "forms"},
    {"store"},
    {"ledger"},
    {"walk", "judge", "balance"},
    {"recall", "checks"},
    {"book"},
    {"pages"},
    {"exchange"},
    {"demo"},
    {"cli"},
    {"__main__"},
]
"""Packages from the lowest up: each may import those below it, and no other."""

LEVEL = {name: number for number, names in enumerate(LAYERS) for name in names}


def _modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def _package(path: Path) -> str:
    part = path.relative_to(PACKAGE).parts[0]
    return part.removesuffix(".py")


@cache
def _names(path: Path) -> set[str]:
    return imported(path.read_text("utf-8"))


def _imported(path: Path) -> set[str]:
    """What of the house a module imports: packages, and modules that stand at its top."""
    names = (name.split(".") for name in _names(path))
    found = {parts[1] if len(parts) > 1 else "__init__" for parts in names if parts[0] == "lotwalk"}
    return {name if name in LEVEL else "__init__" for name in found}


def test_imports_point_downward_only():
    assert {_package(path) for path in _modules()} == LEVEL.keys()
    wrong = [
        f"{path.relative_to(PACKAGE)} imports {other}"
        for path in _modules()
        for other in _imported(path)
        if other != _package(path) and LEVEL[other] >= LEVEL[_package(path)]
    ]
    assert wrong == []


def test_every_import_says_in_full_what_it_imports():
    wrong = [
        f"{path.relative_to(PACKAGE)} imports {name}"
        for path in _modules()
        for name in _names(path)
        if name.startswith((".", UNSEEN))
    ]
    assert wrong == []


WITHOUT_DATABASE = ["values", "kinds", "sheets", "science", "mixing", "forms", "judge"]
HEAVY = ("sqlalchemy", "alembic", "click")


@pytest.mark.parametrize("package", WITHOUT_DATABASE)
def test_what_needs_no_database_imports_none(package):
    for path in (PACKAGE / package).rglob("*.py"):
        names = {name.partition(".")[0] for name in _names(path)}
        assert not names & set(HEAVY), path


_LOAD = """
import importlib, sys

for name in sys.argv[2:]:
    importlib.import_module(name)
    if found := sorted(set(sys.argv[1].split()) & sys.modules.keys()):
        sys.exit(f"{name} loads {', '.join(found)}")
"""


def test_what_needs_no_database_loads_none_through_what_it_imports_either():
    """One process of its own imports all their modules, one after another, and stops at the first that loads one."""
    paths = [path for package in WITHOUT_DATABASE for path in sorted((PACKAGE / package).rglob("*.py"))]
    names = [".".join(path.relative_to(ROOT / "trace").with_suffix("").parts) for path in paths]
    names = [name.removesuffix(".__init__") for name in names]
    done = subprocess.run(
        [sys.executable, "-c", _LOAD, " ".join(HEAVY), *names],
        cwd=ROOT / "trace",
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")


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
