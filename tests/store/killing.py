"""Processes that are forked to write, and killed at it."""

import os
import signal
import sys
from collections.abc import Callable


def forked(act: Callable[[], None]) -> int:
    """Do something in a process of its own; its number."""
    child = os.fork()
    if child:
        return child
    try:
        act()
    except BaseException as error:
        print(repr(error), file=sys.stderr)
        os._exit(1)
    os._exit(0)


def killed_at(write_on: Callable[[int], None], wanted: int, passes: int) -> list[int]:
    """What a writer acknowledged on the pipe that it is given, a number a line, before its end.

    When so many are, it is killed, wherever it is in the next entry after so many `passes`.
    """
    reading, writing = os.pipe()
    child = forked(lambda: write_on(writing))
    os.close(writing)
    told = b""
    while told.count(b"\n") < wanted:
        told += os.read(reading, 65536) or sys.exit("the writer gave up")
    for _ in range(passes):
        pass
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    while piece := os.read(reading, 65536):
        told += piece
    os.close(reading)
    return [*map(int, told.split())]
