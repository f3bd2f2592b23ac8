"""Passages of a few lives, counted in days and by hand."""

import numpy as np
import pytest

from rearlog.analysis.forecasting.future_temperature import TemperatureCourse
from rearlog.analysis.forecasting.passages import Passages, passages
from rearlog.analysis.forecasting.phases import phases
from rearlog.analysis.stages.events import event_history
from rearlog.records.profile import Profile
from tests.analysis.invented_moth import moth, stage
from tests.builders import tiny_log

NAN, INF = np.nan, np.inf


def counted(
    lives: dict[str, str], profile: Profile | None = None, begins: float = -INF
) -> Passages:
    """In days; `begins` is the day from which on no temperature is missing."""
    species = profile or moth()
    in_days = TemperatureCourse(9.0, None, begins, NAN, None, None, None, ())
    log = tiny_log(lives, profile=species)
    return passages(event_history(log), phases(species, "degree-days", 12.0), in_days)


def bounds(found: Passages, row: int) -> list[tuple[float, float, float, float]]:
    """Of each phase that an individual was in: the bounds of its entry, and of its end."""
    each = (found.entry_low, found.entry_high, found.end_low, found.end_high)
    inside = found.inside[row]
    return list(zip(*(one[row][inside].tolist() for one in each), strict=True))


def test_a_phase_ends_with_the_entry_into_the_next_that_it_was_in() -> None:
    """Egg, L1, L2, L3, pupa; L2 of the first was seen by nobody."""
    found = counted({"1": "egg L1 L1 - L3", "2": "L1 L2 dead", "3": "egg L1 adult"})
    assert found.inside.tolist() == [
        [True, True, True, True, False],
        [False, True, True, False, False],
        [True, True, True, True, True],
    ]
    np.testing.assert_equal(
        bounds(found, 0), [(NAN, NAN, 0, 1), (0, 1, 2, 4), (2, 4, 2, 4), (2, 4, 4, INF)]
    )
    np.testing.assert_equal(bounds(found, 1), [(NAN, NAN, 0, 1), (0, 1, 1, INF)])
    np.testing.assert_equal(bounds(found, 2), [(NAN, NAN, 0, 1), (0, 1, 1, 2), *[(1, 2, 1, 2)] * 3])
    assert found.now.tolist() == [3, 2, 5]
    assert found.to_come.tolist() == [True, False, False]
    assert found.left.tolist() == [
        [True, True, True, False, False],
        [False, True, False, False, False],
        [True, True, True, True, True],
    ]


def test_who_was_taken_out_was_in_its_phase_until_then() -> None:
    found = counted({"1": "egg egg - removed", "2": "egg egg - lost"})
    np.testing.assert_equal(bounds(found, 0), [(NAN, NAN, 3, INF)])
    np.testing.assert_equal(bounds(found, 1), [(NAN, NAN, 1, INF)])
    assert found.to_come.tolist() == [False, False]


def test_a_phase_that_was_passed_over_is_none_that_it_was_in() -> None:
    found = counted({"1": "egg L1 L3 pupa"}, moth(stage("L2", optional=True)))
    assert found.inside.tolist() == [[True, True, False, True, True]]
    np.testing.assert_equal(
        bounds(found, 0), [(NAN, NAN, 0, 1), (0, 1, 1, 2), (1, 2, 2, 3), (2, 3, 3, INF)]
    )


@pytest.mark.parametrize("begins", [1.5, 2.0])
def test_before_the_last_gap_of_the_temperatures_nobody_is_known(begins: float) -> None:
    """Who came into a stage by then, or may have, enters in it when it surely had."""
    found = counted(
        {"1": "egg L1 L1 - L2", "2": "egg - - L1 L1", "3": "egg egg egg"}, begins=begins
    )
    np.testing.assert_equal(bounds(found, 0), [(NAN, NAN, 2, 4), (2, 4, 4, INF)])
    np.testing.assert_equal(bounds(found, 1), [(NAN, NAN, 4, INF)])
    np.testing.assert_equal(bounds(found, 2), [(NAN, NAN, 2, INF)])
    assert found.entered.tolist() == [begins, 3.0, begins]


def test_some_alone_have_all_that_all_have() -> None:
    found = counted({"1": "egg L1", "2": "egg L1 L2", "3": "egg"})
    some = found.of(np.array([False, True, False]))
    for name in Passages.__struct_fields__:
        np.testing.assert_equal(getattr(some, name), getattr(found, name)[1:2])
