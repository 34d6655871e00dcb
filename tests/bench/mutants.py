"""Breaks the engine one place at a time and prints what no test noticed: `python -m tests.bench.mutants [PACKAGE...]`.

A mutant is the code with one small slip in it: `<` for `<=`, `or` for `and`, one more, a condition that always holds.
Each is put into a copy of the tree, and the tests of its package are run there until one fails. A slip that no test
notices survives: a test is missing, or the slip changes nothing. The same --seed takes the same sample, and the tests
draw the same examples each time.

    python -m tests.bench.mutants judge --count 100 --seed 2
    python -m tests.bench.mutants ledger/bearing --at ledger/bearing/kept.py --count 20
    python -m tests.bench.mutants walk --at walk/model.py:97 --examples 100
"""

import argparse
import ast
import os
import random
import re
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
TESTS = {
    "walk": ("walk", "recall", "cli/test_trace_and_recall.py", "cli/test_recall_closely.py"),
    "judge": (
        "judge", "ledger/test_judging.py", "ledger/test_judging_water.py", "ledger/test_no_stale_verdict.py", "mixing",
        "cli/test_sink.py", "cli/test_dilute.py", "published/test_chlorine.py", "checks",
    ),
    "ledger": (
        "ledger", "cli/test_amend.py", "cli/test_keeping.py", "cli/test_load.py", "store", "kinds", "bearing", "old",
    ),
    "ledger/bearing": (
        "bearing", "old", "recall/test_not_followed.py", "ledger/test_retyping.py", "ledger/test_verify.py",
    ),
    "recall": (
        "recall", "cli/test_recall_closely.py", "cli/test_trace_and_recall.py", "cli/test_recall_by_words.py",
        "tracing",
    ),
}  # fmt: skip
"""The tests that concern each package, those first that are likeliest to notice."""

COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
JOINED = (ast.JoinedStr, ast.List, ast.Tuple, ast.ListComp, ast.Set, ast.SetComp)
"""What only one of `+` and `-` can be written with."""
NAMES = {"min": "max", "max": "min", "any": "all", "all": "any"}
PROFILE = """
from hypothesis import Phase, settings
settings.register_profile(
    "mutants", phases=[Phase.explicit, Phase.generate], deadline=None, database=None, derandomize=True
)
settings.load_profile("mutants")
import lotwalk
assert lotwalk.__file__.startswith({copy!r}), "the tests must run on the copy"
"""
MOST_MEMORY = 4 << 30
"""Bytes. A mutant that never comes to an end must not fill the machine."""
STOPPED = (signal.SIGHUP, signal.SIGINT, signal.SIGTERM)
"""The signals by which somebody stops the tests. Those of a limit are others."""


@dataclass(frozen=True, slots=True)
class Mutant:
    """A change of one place in a module: the first and last byte, what stood there, and what stands there instead."""

    module: Path
    line: int
    start: int
    end: int
    before: str
    after: str

    def __str__(self) -> str:
        place = self.module.relative_to(ROOT / "trace" / "lotwalk")
        return f"{place}:{self.line}: `{self.before}` -> `{self.after}`"


def mutants(module: Path) -> Iterator[Mutant]:
    """Yield every mutant of a module."""
    source = module.read_bytes()
    begins = [0]
    for line in source.splitlines(keepends=True):
        begins.append(begins[-1] + len(line))
    for node in _running(ast.parse(source)):
        for old, new in _slips(node):
            start = begins[old.lineno - 1] + old.col_offset
            end = begins[(old.end_lineno or old.lineno) - 1] + (old.end_col_offset or 0)
            yield Mutant(module, old.lineno, start, end, ast.unparse(old), ast.unparse(new))


def _running(tree: ast.AST) -> Iterator[ast.AST]:
    """Yield the parts of a tree that run, in the order of its lines: no types, and no words."""
    yield tree
    for name, value in ast.iter_fields(tree):
        # A column of a row that does not exist is noticed at once, and the last of one is the first.
        column = name == "slice" and isinstance(value, ast.Constant)
        if column or name in ("annotation", "returns", "decorator_list"):
            continue
        for child in value if isinstance(value, list) else [value]:
            # What stands in an f-string is SQL or a message, and its place is not known. What is raised is a message.
            if not isinstance(child, ast.AST) or isinstance(child, ast.JoinedStr | ast.Raise | ast.Assert):
                continue
            if not (isinstance(child, ast.If) and ast.unparse(child.test) == "TYPE_CHECKING"):
                yield from _running(child)


def _slips(node: ast.AST) -> Iterator[tuple[ast.expr, ast.expr]]:
    """Yield what can be written wrong in this part of a tree: an expression, and what stands there instead."""
    match node:
        case ast.Compare(ops=ops):
            for place, operator in enumerate(ops):
                yield node, _with(node, ops=[*ops[:place], COMPARED[type(operator)](), *ops[place + 1 :]])
            if len(ops) > 1:
                first, *rest = node.comparators
                yield node, _with(node, left=first, ops=ops[1:], comparators=rest)
                yield node, _with(node, ops=ops[:-1], comparators=node.comparators[:-1])
        case ast.BoolOp(values=values):
            yield node, _with(node, op=ast.And() if isinstance(node.op, ast.Or) else ast.Or())
            for place in range(len(values)):
                rest = [*values[:place], *values[place + 1 :]]
                yield node, _with(node, values=rest) if len(rest) > 1 else rest[0]
        case ast.UnaryOp(op=ast.Not()):
            yield node, node.operand
        case ast.BinOp(op=ast.Add() | ast.Sub()) if not {type(node.left), type(node.right)} & set(JOINED):
            yield node, _with(node, op=ast.Sub() if isinstance(node.op, ast.Add) else ast.Add())
        case ast.Constant(value=int() as number) if not isinstance(number, bool):
            yield node, ast.Constant(number + 1)
            yield node, ast.Constant(number - 1)
        case ast.Call(func=ast.Name(id=name)) if name in NAMES:
            yield node.func, ast.Name(NAMES[name])
        case ast.If(test=test) | ast.IfExp(test=test):
            yield test, ast.Constant(True)
            yield test, ast.Constant(False)
        case ast.While(test=test):
            yield test, ast.Constant(False)
        case ast.comprehension(ifs=tests):
            for test in tests:
                yield test, ast.Constant(True)
        case ast.Return(value=ast.Constant(value=bool() as answer)):
            yield node.value or ast.Constant(None), ast.Constant(not answer)
        case ast.Return(value=ast.List() | ast.Tuple() | ast.ListComp() as value):
            yield value, ast.Tuple([]) if isinstance(value, ast.Tuple) else ast.List([])
        case ast.Return(value=ast.expr() as value) if not isinstance(value, ast.Constant):
            yield value, ast.Constant(None)


def _with(node: ast.expr, **changes: object) -> ast.expr:
    """Return a part of a tree with some of its fields changed."""
    return type(node)(**{**dict(ast.iter_fields(node)), **changes})


class Trial:
    """A copy of the tree in which mutants are tried one after the other."""

    def __init__(self, copy: Path, examples: int, tests: str) -> None:
        self.copy, self.tests = copy, tests
        shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".*", "__pycache__", "*.db*"), dirs_exist_ok=True)
        with (copy / "tests" / "conftest.py").open("a", encoding="utf-8") as file:
            file.write(PROFILE.format(copy=str(copy)))
        for path in (copy / "tests").rglob("*.py"):
            text = path.read_text("utf-8")
            path.write_text(re.sub(r"max_examples=\d+", f"max_examples={examples}", text), "utf-8")

    def notices(self, package: str, most: int, **environment: str) -> bool:
        """Return whether a test of the package fails, or they take more than `most` seconds of the processor."""
        tests = [str(self.copy / "tests" / name) for name in TESTS[package]]
        command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "-k", self.tests, *tests]
        running = subprocess.Popen(
            command,
            cwd=self.copy,
            env=os.environ | {"PYTHONPATH": str(self.copy / "trace")} | environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
            preexec_fn=lambda: _limit(most),
        )
        try:
            # By the clock too, for one that only waits; a busy machine may take its time.
            ended = running.wait(10 * most)
        except subprocess.TimeoutExpired:
            return True
        finally:
            if running.poll() is None:
                os.killpg(running.pid, signal.SIGKILL)
                running.wait()
        if -ended in STOPPED:
            raise SystemExit("the tests were stopped from outside, which says nothing of the code: run this again")
        return ended != 0

    def tries(self, mutant: Mutant, package: str, most: int) -> bool:
        """Return whether the tests of the package notice this mutant."""
        module = self.copy / mutant.module.relative_to(ROOT)
        source = module.read_bytes()
        module.write_bytes(source[: mutant.start] + f"({mutant.after})".encode() + source[mutant.end :])
        try:
            # The code as it is was compiled when its tests were run; what is compiled of a mutant must not stay.
            return self.notices(package, most, PYTHONDONTWRITEBYTECODE="1")
        finally:
            module.write_bytes(source)


def _limit(seconds: int) -> None:
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))


def sample(packages: Sequence[str], count: int, seed: int, at: str) -> list[tuple[str, Mutant]]:
    """Return `count` mutants of these packages; with `at`, of that module or line (`walk/model.py:97`)."""
    found = [
        (package, mutant)
        for package in packages
        for module in sorted((ROOT / "trace" / "lotwalk" / package).rglob("*.py"))
        for mutant in mutants(module)
        if not at or str(mutant).startswith(f"{at}:")
    ]
    chosen = random.Random(seed).sample(found, min(count, len(found)))
    return sorted(chosen, key=lambda one: (one[0], one[1].module, one[1].start))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("packages", nargs="*", choices=[[], *TESTS], default=list(TESTS), metavar="PACKAGE")
    parser.add_argument("--count", type=int, default=100, help="how many mutants are tried")
    parser.add_argument("--seed", type=int, default=1, help="which of them")
    parser.add_argument("--at", default="", metavar="FILE[:LINE]", help="only mutants of one module, or of one line")
    parser.add_argument("--examples", type=int, default=15, help="how many a generated test draws")
    # Most slips are the same on both, and a server is slow to start.
    parser.add_argument(
        "--postgresql", action="store_true", help="run the tests of PostgreSQL, and not those of SQLite"
    )
    options = parser.parse_args()
    chosen = sample(options.packages, options.count, options.seed, options.at)
    survived: list[Mutant] = []
    with tempfile.TemporaryDirectory(prefix="lotwalk-mutants-") as folder:
        trial = Trial(Path(folder), options.examples, "not sqlite" if options.postgresql else "not postgresql")
        most: dict[str, int] = {}
        for package in dict.fromkeys(package for package, _ in chosen):
            start = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
            if trial.notices(package, 3_600):
                raise SystemExit(f"the tests of {package} fail on the code as it is; mend that first")
            most[package] = 10 + 3 * int(resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - start)
        for number, (package, mutant) in enumerate(chosen, 1):
            if sys.stderr.isatty():
                print(f"\r{number} of {len(chosen)}", end="", file=sys.stderr)
            if not trial.tries(mutant, package, most[package]):
                survived.append(mutant)
                print(f"\r{mutant}", flush=True)
    print(f"{len(chosen)} mutants, {len(chosen) - len(survived)} noticed, {len(survived)} survived")


if __name__ == "__main__":
    main()
