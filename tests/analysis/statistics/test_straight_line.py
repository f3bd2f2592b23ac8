import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import linregress

from rearlog.analysis.statistics.straight_line import straight_line

POINTS = st.tuples(st.integers(-50, 50), st.integers(-50, 50))


@given(st.lists(POINTS, min_size=3, max_size=30))
def test_the_line_is_that_of_scipy(points: list[tuple[int, int]]) -> None:
    x, y = np.array(points, dtype=float).T
    if np.ptp(x) == 0 or np.ptp(y) == 0:
        return
    found, known = straight_line(x, y), linregress(x, y)
    assert found.slope == pytest.approx(known.slope, abs=1e-9)
    assert found.intercept == pytest.approx(known.intercept, abs=1e-9)
    assert found.slope_se == pytest.approx(known.stderr, abs=1e-6)
    assert found.r2 == pytest.approx(known.rvalue**2, abs=1e-9)


def test_two_points_leave_no_error_to_judge_by() -> None:
    found = straight_line(np.array([1.0, 3.0]), np.array([2.0, 8.0]))
    assert (found.slope, found.intercept) == (3.0, -1.0)
    assert found.slope_se is found.r2 is None


def test_equal_values_have_a_level_line_and_no_r2() -> None:
    found = straight_line(np.array([1.0, 2.0, 4.0]), np.full(3, 5.0))
    assert (found.slope, found.intercept, found.slope_se, found.r2) == (0.0, 5.0, 0.0, None)
