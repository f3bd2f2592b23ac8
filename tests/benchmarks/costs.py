"""What tasks cost, measured side by side: by the clock, in computing, and in memory."""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

REARLOG = [sys.executable, "-c", "from rearlog.cli.main import main; main()"]
"""The command, as its script starts it."""


@dataclass(frozen=True, slots=True)
class Cost:
    """Seconds by the clock, seconds of computing (user and system), and the most memory, in MB.

    The memory is only known of whole processes.
    """

    clock: float
    computing: float
    peak_mb: float = 0.0

    def times(self, count: int) -> Cost:
        """What it would cost so many times over."""
        return Cost(count * self.clock, count * self.computing, self.peak_mb)


_COMPILED = {**os.environ, "PYTHONDONTWRITEBYTECODE": ""}
"""Modules are compiled once and kept, as users have them."""

Task = Callable[[int], Cost]
"""Does its work once more, given the number of the round, and tells what it cost."""


def of_process(command: Sequence[str | Path], folder: Path | None = None) -> Cost:
    """Run a command to its end; raises CalledProcessError where it fails."""
    begin = time.perf_counter()
    running = subprocess.Popen(command, cwd=folder, env=_COMPILED, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(running.pid, 0)
    clock = time.perf_counter() - begin
    running.returncode = os.waitstatus_to_exitcode(status)
    if running.returncode:
        raise subprocess.CalledProcessError(running.returncode, running.args)
    return Cost(clock, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)


def of_call(do: Callable[[], object]) -> Cost:
    """Call a function once."""
    used, begin = resource.getrusage(resource.RUSAGE_SELF), time.perf_counter()
    do()
    clock, after = time.perf_counter() - begin, resource.getrusage(resource.RUSAGE_SELF)
    return Cost(clock, after.ru_utime + after.ru_stime - used.ru_utime - used.ru_stime)


def side_by_side(tasks: Mapping[str, Task], rounds: int) -> dict[str, Cost]:
    """The median cost of each task over some rounds, in which they take turns.

    So all of them share the moods of the machine. A round before the first one is not counted.
    """
    costs: dict[str, list[Cost]] = {name: [] for name in tasks}
    for round_ in range(rounds + 1):
        for name, do in tasks.items():
            costs[name].append(do(round_))
    return {name: _median(each[1:]) for name, each in costs.items()}


def _median(costs: Sequence[Cost]) -> Cost:
    return Cost(
        statistics.median(each.clock for each in costs),
        statistics.median(each.computing for each in costs),
        statistics.median(each.peak_mb for each in costs),
    )
