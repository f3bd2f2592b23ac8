"""Many least-squares fits at once, within bounds."""

import numpy as np
import pytest

from rearlog.analysis.statistics.many_fits import many_fits

X = np.linspace(0.0, 3.0, 12)


def falling(parameters):
    return parameters[:, :1] * np.exp(-parameters[:, 1:] * X)


def test_a_fit_that_begins_beyond_its_bounds_ends_at_them():
    """The best of all lies where the fit may not go."""
    y = falling(np.array([[2.0, 5.0]]))[0]
    start, low, high = np.array([[2.0, 5.0]]), np.array([0.0, 0.0]), np.array([9.0, 3.0])
    found, square = many_fits(falling, y, np.ones(len(X)), start, low, high)
    assert found[0, 1] == pytest.approx(3.0)
    assert square[0] == pytest.approx(np.sum((falling(found)[0] - y) ** 2))
