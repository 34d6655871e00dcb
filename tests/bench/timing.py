"""How the benchmarks take time: each thing several times, by turns with what it is compared with, the best kept.

Machines are noisy and shared. So times are those of the processor, user and system, save of whole processes and where
something waits for the disk; what is measured at the same moment suffers alike, and the least of several times was
disturbed least.
"""

import gc
import os
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: what was measured, the two times (or sizes) as text, and their ratio with its limits."""

    what: str
    ours: str
    theirs: str
    ratio: float | None
    most: float | None = None
    aim: float | None = None

    def __str__(self) -> str:
        limits = (_number(self.most), _number(self.aim))
        missed = " (missed)" if self.ratio and self.most and self.ratio > self.most else ""
        return f"| {self.what} | {self.ours} | {self.theirs} | {_number(self.ratio)}{missed} | {' | '.join(limits)} |"


def _number(value: float | None) -> str:
    if value is None:
        return ""
    return f"1/{1 / value:.0f}" if 0 < value < 0.1 else f"{value:.2f}"


def seconds(value: float) -> str:
    return f"{value:.2f} s" if value >= 1 else f"{value * 1000:.1f} ms"


def compared(what: str, ours: float, theirs: float, most: float | None = None, aim: float | None = None) -> Row:
    """A row of two times."""
    return Row(what, seconds(ours), seconds(theirs), ours / theirs, most, aim)


def by_turns(
    tasks: Mapping[str, Callable[[], Any]], times: int = 5, clock: Callable[[], float] = time.process_time
) -> dict[str, float]:
    """Return the least seconds that each task took."""
    best = dict.fromkeys(tasks, float("inf"))
    for _ in range(times):
        for name, task in tasks.items():
            best[name] = min(best[name], once(task, clock))
    return best


def once(task: Callable[[], Any], clock: Callable[[], float] = time.process_time) -> float:
    gc.collect()
    start = clock()
    task()
    return clock() - start


@dataclass(frozen=True, slots=True)
class Ran:
    """A process that ran: its seconds by the clock and of the processor, and the most memory that it held."""

    waited: float
    seconds: float
    megabytes: float
    printed: str = ""


def process(*arguments: str) -> Ran:
    """Run Python with these arguments and wait for it. What it prints last on standard error is kept."""
    read, write = os.pipe()
    start = time.perf_counter()
    child = os.fork()
    if not child:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        os.dup2(write, 2)
        os.execv(sys.executable, [sys.executable, *arguments])
    os.close(write)
    with os.fdopen(read) as stream:
        printed = stream.read().strip()
    _, status, used = os.wait4(child, 0)
    taken = time.perf_counter() - start
    if os.waitstatus_to_exitcode(status) not in (0, 1):
        raise SystemExit(f"{' '.join(arguments)}: {printed}")
    return Ran(taken, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, printed)


def processes(commands: Mapping[str, Sequence[str]], times: int = 7) -> dict[str, float]:
    """Return the least seconds by the clock from the start to the end of each process."""
    best = dict.fromkeys(commands, float("inf"))
    for _ in range(times):
        for name, arguments in commands.items():
            best[name] = min(best[name], process(*arguments).waited)
    return best
