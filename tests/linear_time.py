"""Whether time grows in proportion to what is read: hostile input must not make it grow faster."""

import time
from collections.abc import Callable

TIMES = 8
MOST = 3 * TIMES
"""What is TIMES as large may take so much longer; were it the square, it would take 64 times."""
TOO_SHORT_SECONDS = 0.02
"""Below this a measurement says nothing."""


def assert_linear(do: Callable[[int], object], size: int) -> None:
    """Do it with input of some size and of TIMES that size, and compare the time of the processor.

    The least of some runs counts, which other programs on the machine hardly touch.
    """
    small, large = [], []
    for _ in range(4):
        small.append(_seconds(do, size))
        large.append(_seconds(do, TIMES * size))
        if min(large) <= MOST * max(min(small), TOO_SHORT_SECONDS):
            return
    raise AssertionError(f"{min(large):.3f} s for {TIMES} × what took {min(small):.3f} s")


def _seconds(do: Callable[[int], object], size: int) -> float:
    begin = time.process_time()
    do(size)
    return time.process_time() - begin
