"""The numbers in sentences about thermal constants, of the published dock beetle.

Gastrophysa viridula, egg to adult: Honěk et al. 2003, Eur. J. Entomol. 100:295–300.
"""

import numpy as np
from msgspec.structs import replace
from scipy.stats import linregress, t

from rearlog.analysis.comparing.rate_models import LinearRate, linear_rate
from rearlog.analysis.comparing.thermal import StageThermal
from rearlog.sentences.thermal import words
from tests.charts.conftest import only

CELSIUS, TOOK = (18.0, 21.5, 25.0, 28.0), (28.2, 21.6, 16.1, 15.0)


def stage(count: int = 4) -> StageThermal:
    line = linear_rate(CELSIUS[:count], TOOK[:count])
    assert isinstance(line, LinearRate)
    return only(
        StageThermal, stage="egg to adult", points=(), linear=line, objections=(), curves=()
    )


def test_the_line_has_its_limits_and_says_where_it_was_measured() -> None:
    said = " ".join(words(stage()))
    fit = linregress(CELSIUS, 1 / np.array(TOOK))
    constant, se = 1 / fit.slope, fit.stderr / fit.slope**2
    low, high = constant + np.array([-1, 1]) * t.ppf(0.975, 2) * se
    assert "Lower threshold 7.1 °C (95 % interval " in said  # published: 7.1
    assert f"thermal constant {constant:.0f} degree-days ({low:.0f} to {high:.0f})" in said
    assert "from 4 cohorts." in said
    assert "Measured from 18.0 to 28.0 °C; the threshold is extrapolated to 10.9 °C below" in said


def test_two_temperatures_have_no_limits() -> None:
    said = " ".join(words(stage(2)))
    assert "from two temperatures only: there is no telling how far off they are." in said
    assert "interval" not in said


def test_a_threshold_among_the_temperatures_is_not_extrapolated() -> None:
    found = stage()
    assert found.linear is not None
    cold = replace(found.linear, celsius=(5.0, 21.5, 25.0, 28.0))
    said = " ".join(words(replace(found, linear=cold)))
    assert "Measured from 5.0 to 28.0 °C." in said
