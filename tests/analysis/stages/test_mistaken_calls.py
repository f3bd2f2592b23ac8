"""What settling is worth where people take one instar for another: cohorts with a known truth."""

import pytest

from tests.analysis.mistaken_calls import Habits, pooled, trial

COHORTS = 200
SEED = 20_260_301


def test_without_mistakes_all_ways_are_one() -> None:
    found = trial(SEED, Habits(wrong=0.0), cohorts=3, n=12)
    assert found["settled"] == found["believed"] == found["dropped"]


@pytest.mark.slow
@pytest.mark.parametrize("taps", [False, True])
@pytest.mark.parametrize("wrong", [0.05, 0.10])
def test_intervals_of_means_hold_what_they_promise(wrong: float, taps: bool) -> None:
    """Of 1,000 intervals of 95 % (five instars of 200 cohorts), 93 to 97 % hold the truth."""
    found = trial(SEED, Habits(wrong, taps=taps), COHORTS)
    settled, believed, dropped = (pooled(found[way]) for way in ("settled", "believed", "dropped"))
    assert 0.93 <= settled.part <= 0.97
    assert settled.animals == 40 * settled.cohorts
    assert dropped.animals < 0.85 * settled.animals
    if wrong == 0.10:
        assert believed.part < settled.part - 0.02
        assert min(each.part for each in found["believed"].values()) < 0.90
        assert min(each.part for each in found["settled"].values()) > 0.91
        assert dropped.width > settled.width
