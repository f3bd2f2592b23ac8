"""The same work on many things, on all processors, in their order.

Other processes take half a second to begin: it is worth it from some seconds of work on. They are
begun anew and talked to through pipes, not by `multiprocessing`: what that forks off is a copy of a
process with threads, such as the server's, and may wait for ever for a lock that one of them held;
what it begins anew runs the script of the user once more in each process, unless the script is
guarded by `if __name__ == "__main__"`. What is to be done is a function of a module, and it, the
things and the results go through `pickle`.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import subprocess
import sys
from collections.abc import Callable, Generator, Sequence
from concurrent.futures import ThreadPoolExecutor
from itertools import chain
from pathlib import Path
from queue import SimpleQueue
from typing import Any, TypeVar

Thing = TypeVar("Thing")
Result = TypeVar("Result")

_BEGIN = """
import signal
signal.signal(signal.SIGINT, signal.SIG_IGN)
import sys
here, *others = {paths!r}
sys.path.insert(0, here)
sys.path += [each for each in others if each not in sys.path]
from rearlog.processes import _serve
_serve()
"""
"""First, interrupts are left to the process that was called to stop: it ends the others, also while
they begin. Then the same rearlog is found as here, the system's own modules next, and what else can
be imported here last: the folder of a script may hold a `re.py`."""


def processors() -> int:
    """How many processors this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        return os.cpu_count() or 1


def each_of(
    function: Callable[[Thing], Result],
    things: Sequence[Thing],
    *,
    fewest: int,
    at_once: int = 1,
    jobs: int | None = None,
) -> Generator[Result, None, None]:
    """`function` of each thing, in their order, by as many processes as there are processors.

    Of fewer than `fewest` things, or with one of the `jobs`, it is done here. Others are given
    `at_once` things at a time. An error of the function is raised here, as it came; RuntimeError
    where a process ends before it is done. All have ended when the iterator does.
    """
    count = min(jobs or processors(), -(-len(things) // at_once))
    if count < 2 or len(things) < fewest or not sys.executable:
        yield from map(function, things)
        return
    parts = [things[start : start + at_once] for start in range(0, len(things), at_once)]
    idle: SimpleQueue[_Helper] = SimpleQueue()
    helpers = [_Helper(function) for _ in range(count)]
    for each in helpers:
        idle.put(each)

    def done(part: Sequence[Thing]) -> list[Result]:
        helper = idle.get()
        try:
            return helper.ask(part)
        finally:
            idle.put(helper)

    with ThreadPoolExecutor(count) as threads:
        try:
            yield from chain.from_iterable(threads.map(done, parts))
        finally:
            for each in helpers:
                each.end()
            threads.shutdown(cancel_futures=True)


class _Helper:
    """A process that does what it is told, one part after the other."""

    def __init__(self, function: Callable[[Any], Any]) -> None:
        paths = [str(Path(__file__).parents[1]), *filter(None, sys.path)]
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-c", _BEGIN.format(paths=paths)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        self._function = function

    def ask(self, part: Sequence[Any]) -> list[Any]:
        """The results of a part; raises as the function did."""
        said, heard = self._process.stdin, self._process.stdout
        assert said is not None
        assert heard is not None
        try:
            pickle.dump((self._function, part), said)
            said.flush()
            fine, result = pickle.load(heard)
        except (BrokenPipeError, EOFError) as error:
            raise RuntimeError("a process that was to help ended before it was done") from error
        if not fine:
            raise result
        return list(result)

    def end(self) -> None:
        """End the process and what it was doing."""
        self._process.kill()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with contextlib.suppress(BrokenPipeError):  # what it was told last was not read
                    pipe.close()
        self._process.wait()


def _serve() -> None:
    """Do what is told on standard input until it ends. What functions print goes to the errors."""
    heard = sys.stdin.buffer
    said = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    while True:
        try:
            function, part = pickle.load(heard)
        except EOFError:
            return
        answer: tuple[bool, Any]
        try:
            answer = True, [function(each) for each in part]
        except Exception as error:  # told there
            answer = False, error
        pickle.dump(answer, said)
        said.flush()
