"""Green dock beetle *Gastrophysa viridula*, egg to adult at four constant temperatures.

Honěk et al. 2003, Eur. J. Entomol. 100:295–300 (published: durations, T0 and K as printed in the
abstract; the citation from memory).
"""

import numpy as np
import pytest

from rearlog.analysis.comparing.rate_models import (
    IkemotoTakai,
    LinearRate,
    ikemoto_takai,
    linear_rate,
)

CELSIUS = [18, 21.5, 25, 28]
DAYS = [28.2, 21.6, 16.1, 15.0]


def test_threshold_and_thermal_constant_as_printed():
    fit = linear_rate(CELSIUS, DAYS)

    assert isinstance(fit, LinearRate)
    assert round(fit.threshold, 1) == 7.1  # published
    assert round(fit.constant, 1) == 304.6  # published
    assert fit.n == 4


def test_the_same_points_with_full_decimals():
    """Computed outside this project from the published durations."""
    line = linear_rate(CELSIUS, DAYS)
    axis = ikemoto_takai(CELSIUS, DAYS)

    assert isinstance(line, LinearRate)
    assert isinstance(axis, IkemotoTakai)
    np.testing.assert_allclose([line.threshold, line.constant], [7.0951, 304.555], atol=5e-4)
    np.testing.assert_allclose([axis.threshold, axis.constant], [7.7960, 290.951], atol=5e-4)


def test_the_standard_errors_reach_from_one_method_to_the_other():
    """Both methods estimate the same two numbers from the same animals."""
    line = linear_rate(CELSIUS, DAYS)
    axis = ikemoto_takai(CELSIUS, DAYS)

    assert isinstance(line, LinearRate)
    assert isinstance(axis, IkemotoTakai)
    assert abs(line.threshold - axis.threshold) == pytest.approx(0.7009, abs=5e-4)
    assert line.threshold_se is not None
    assert abs(line.threshold - axis.threshold) < line.threshold_se
    assert line.constant_se is not None
    assert abs(line.constant - axis.constant) < line.constant_se
