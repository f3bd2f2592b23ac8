"""Many least-squares fits at once, within bounds."""

import numpy as np
import pytest

from rearlog.analysis.statistics.many_fits import _step, many_fits

X = np.linspace(0.0, 3.0, 12)


def falling(parameters):
    return parameters[:, :1] * np.exp(-parameters[:, 1:] * X)


@pytest.mark.parametrize("begun", [1.0, 5.0])
def test_a_fit_that_begins_or_would_go_beyond_its_bounds_ends_at_them(begun):
    """The best of all lies where the fit may not go."""
    y = falling(np.array([[2.0, 5.0]]))[0]
    start, low, high = np.array([[2.0, begun]]), np.array([0.0, 0.0]), np.array([9.0, 3.0])
    found, square = many_fits(falling, y, np.ones(len(X)), start, low, high)
    assert found[0, 1] == pytest.approx(3.0)
    assert square[0] == pytest.approx(np.sum((falling(found)[0] - y) ** 2))


def test_a_step_is_that_of_marquardt_and_none_is_taken_in_what_is_held() -> None:
    """(JᵀJ + λ·diag(JᵀJ)) · step = downhill, by numpy's own solver; two fits at once."""
    rng = np.random.default_rng(3)
    slopes, downhill = rng.normal(size=(2, 7, 3)), rng.normal(size=(2, 3))
    held = np.array([[False, False, False], [False, True, False]])
    steps = _step(slopes, downhill, held, np.array([0.5, 2.0]))
    for jacobian, wanted, free, more, found in zip(
        slopes, downhill, ~held, (0.5, 2.0), steps, strict=True
    ):
        normal = (jacobian.T @ jacobian)[np.ix_(free, free)]
        reference = np.linalg.solve(normal + more * np.diag(np.diag(normal)), wanted[free])
        assert found[free] == pytest.approx(reference, rel=1e-9)
        assert not found[~free].any()


def test_fits_from_far_away_come_to_the_same_end() -> None:
    """Whole steps would lead astray from there: they are damped until one helps."""
    start = np.array([[2.0, 0.01], [9.0, 0.01], [0.1, 3.0], [9.0, 9.0], [2.0, 1.5]])
    y = falling(np.array([[2.0, 1.5]]))[0]
    found, square = many_fits(falling, y, np.ones(len(X)), start, np.zeros(2), np.full(2, 10.0))
    assert found == pytest.approx(np.tile([2.0, 1.5], (5, 1)), rel=1e-4)
    assert square == pytest.approx(np.zeros(5), abs=1e-8)


@pytest.mark.parametrize("begun", [0.5, 3.0])
def test_a_fit_that_begins_at_a_bound_leaves_it_however_small_what_it_is_fitted_to(begun):
    """The slopes are some thousandths there, and point into the range."""
    y = falling(np.array([[0.01, 1.5]]))[0]
    start, low, high = np.array([[0.01, begun]]), np.array([0.0, 0.5]), np.array([9.0, 3.0])
    found, square = many_fits(falling, y, np.ones(len(X)), start, low, high)
    assert found[0] == pytest.approx([0.01, 1.5], rel=1e-4)
    assert square[0] == pytest.approx(0, abs=1e-12)
