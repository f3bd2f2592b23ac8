"""Who is left open in a stage, counted by hand."""

import pytest

from rearlog.analysis.stages.events import event_history
from rearlog.analysis.stages.left_open import LeftOpen, MeanOf, left_open
from rearlog.analysis.stages.stage_times import stage_times
from tests.builders import tiny_log


def test_those_are_left_open_that_were_watched_longer_than_the_quickest_can_have_taken() -> None:
    """The quickest, 1, took more than 1 day in L1; so long 3 was watched in it, and 4 and 5 more
    than that. Of 6 no start is known; nobody knows how long 7 was watched, for it is gone."""
    lives = {
        "1": "egg L1 L1 L2",
        "2": "egg L1 L1 L1 L2",
        "3": "egg L1 L1",
        "4": "egg L1 L1 L1",
        "5": "egg L1 L1 L1 dead",
        "6": "L1 L1 L1 L1 L1 L1",
        "7": "egg L1 dead",
    }
    assert left_open(stage_times(event_history(tiny_log(lives)), "L1")) == LeftOpen(6, 1, 1)
    still = {code: lives[code] for code in "345"}
    assert left_open(stage_times(event_history(tiny_log(still)), "L1")) == LeftOpen(3, 0, 0)


@pytest.mark.parametrize(
    ("left", "n", "mean_of"),
    [
        (LeftOpen(5, 0, 0), 0, MeanOf.EVERYBODY),
        (LeftOpen(5, 2, 1), 3, MeanOf.EARLY),
        (LeftOpen(5, 2, 2), 4, MeanOf.EARLY),
        (LeftOpen(5, 1, 2), 3, MeanOf.SURVIVORS),
    ],
)
def test_the_more_common_of_the_two_says_of_whom_the_mean_is(
    left: LeftOpen, n: int, mean_of: MeanOf
) -> None:
    assert (left.n, left.mean_of) == (n, mean_of)
