"""Where individuals stand, beside what is known exactly of uniform and normal amounts."""

import numpy as np
import pytest
from scipy.stats import truncnorm, uniform

from rearlog.analysis.forecasting.individual_state import individual_states
from rearlog.analysis.forecasting.phases import phases
from tests.analysis.invented_moth import moth, stage
from tests.analysis.invented_passages import MEAN, PHASES, SD, SIZE, seen

UNKNOWN_EGG = phases(moth(stage("egg", degree_days=None)), "degree-days", 12.0)
ALIKE = np.ones(SIZE)


def test_after_a_phase_of_unknown_length_an_individual_stands_anywhere_between_the_checks():
    into = (70.0, 82.0)
    found = individual_states(seen([[(0, 0), into, (90, np.inf)]]), UNKNOWN_EGG, ALIKE)
    between = uniform(into[0], into[1] - into[0])
    assert found.entry[0] == pytest.approx(between.mean())
    assert found.entry_variance[0] == pytest.approx(between.var())
    assert (found.pace[0], found.covariance[0]) == (0, 0)  # it says nothing of who is slow
    assert found.known.all()


def test_after_a_known_phase_it_stands_where_the_normal_between_the_checks_has_it():
    """The egg takes 60 ± 8 degree-days from 0 on; two daily looks found it hatched since."""
    low, high = 66.0, 78.0
    found = individual_states(seen([[(0, 0), (low, high), (90, np.inf)]]), PHASES, ALIKE)
    between = truncnorm((low - MEAN[0]) / SD[0], (high - MEAN[0]) / SD[0], MEAN[0], SD[0])
    assert found.entry[0] == pytest.approx(between.mean(), rel=1e-3)
    assert found.entry_variance[0] == pytest.approx(between.var(), rel=0.02)
    assert found.pace[0] > 0  # it was slow


def test_whose_entry_nobody_saw_may_be_anywhere_in_its_stage():
    unseen = seen([[(np.nan, np.nan), (50, np.inf)]])
    unseen.entered[:] = 20.0
    found = individual_states(unseen, PHASES, ALIKE)
    within = uniform(20.0 - MEAN[0], MEAN[0])
    assert found.entry[0] == pytest.approx(within.mean())
    assert found.entry_variance[0] == pytest.approx(within.var())
    assert not found.known.any()


@pytest.mark.parametrize(("off", "weighs"), [(2.0, 2.0), (-2.0, -2.0), (4.0, 2.5), (-4.0, -2.5)])
def test_what_is_farther_off_than_two_and_a_half_sd_tells_no_more_of_the_pace(off, weighs):
    """Half of the variance is of the pace: as many times √½ as the end is SD off its mean."""
    end = MEAN[0] + off * SD[0]
    found = individual_states(
        seen([[(0, 0), (end - 0.01, end + 0.01), (end, np.inf)]]), PHASES, ALIKE
    )
    assert found.pace[0] == pytest.approx(np.sqrt(0.5) * weighs, rel=1e-2)
