"""Degree-days against values from outside.

The table was computed by numerical integration of the temperature curve (2 million steps) and is
given to 4 decimals. The corn example is common practice.
"""

import numpy as np
import pytest

from rearlog.analysis.heat.degree_days import degree_days, degree_days_of_readings
from rearlog.analysis.heat.methods import CUTOFFS

HALF_A_DIGIT = 0.5e-4

NO_UPPER = [  # minimum, maximum, lower (°C); sine, triangle (computed, 2 million steps)
    (15, 25, 10, 10.0, 10.0),
    (5, 15, 10, 1.5915, 1.25),
    (2, 8, 10, 0.0, 0.0),
    (8, 22, 10, 5.3256, 5.1429),
]

UPPER = [  # minimum, maximum, lower, upper (°C); horizontal, intermediate, vertical (computed)
    ("sine", 18, 34, 11.5, 33, (14.3932, 14.2864, 10.9347)),
    ("sine", 18, 34, 11.5, 30, (13.6280, 12.7560, 7.4614)),
    ("sine", 31, 36, 10, 30, (20.0, 16.5, 0.0)),
    ("sine", 5, 35, 10, 30, (10.0, 9.1184, 4.6456)),
    ("triangle", 18, 34, 11.5, 33, (14.4688, 14.4375, 13.1250)),
    ("triangle", 18, 34, 11.5, 30, (14.0, 13.5, 9.3750)),
    ("triangle", 31, 36, 10, 30, (20.0, 16.5, 0.0)),
    ("triangle", 5, 35, 10, 30, (10.0, 9.5833, 6.6667)),
]


def close(value: float) -> object:
    return pytest.approx(value, rel=0, abs=HALF_A_DIGIT)


@pytest.mark.parametrize("kind", ["single", "double"])
@pytest.mark.parametrize(("minimum", "maximum", "lower", "sine", "triangle"), NO_UPPER)
def test_without_an_upper_threshold(kind, minimum, maximum, lower, sine, triangle):
    # a double method on one day alone takes the day's own minimum twice
    assert degree_days([minimum], [maximum], lower, method=f"{kind}-sine") == close(sine)
    assert degree_days([minimum], [maximum], lower, method=f"{kind}-triangle") == close(triangle)


@pytest.mark.parametrize("kind", ["single", "double"])
@pytest.mark.parametrize(("shape", "minimum", "maximum", "lower", "upper", "table"), UPPER)
def test_with_an_upper_threshold(kind, shape, minimum, maximum, lower, upper, table):
    for cutoff, value in zip(CUTOFFS, table, strict=True):
        found = degree_days(
            [minimum], [maximum], lower, upper, method=f"{kind}-{shape}", cutoff=cutoff
        )
        assert found == close(value), cutoff


@pytest.mark.parametrize(
    ("minimum", "maximum", "lower", "upper", "table"),
    [row[1:] for row in UPPER if row[0] == "triangle"],
)
def test_readings_at_the_corners_of_a_triangle(minimum, maximum, lower, upper, table):
    for cutoff, value in zip(CUTOFFS, table, strict=True):
        stretches = degree_days_of_readings(
            [0, 0.5, 1], [minimum, maximum, minimum], lower, upper, cutoff=cutoff
        )
        assert stretches.sum() == close(value), cutoff


def test_fahrenheit():
    # computed, 2 million steps: 40–70 °F over base 50 °F
    assert degree_days([40], [70], 50, method="single-sine") == close(7.5424)
    assert degree_days([40], [70], 50, method="single-triangle") == close(6.6667)


@pytest.mark.parametrize(("shape", "fahrenheit"), [("sine", 7.5424), ("triangle", 6.6667)])
def test_a_degree_day_in_fahrenheit_is_five_ninths_of_one_in_celsius(shape, fahrenheit):
    # computed as above; the factor is the definition of the scales
    minimum, maximum, lower = ((np.array([40.0, 70.0, 50.0]) - 32) / 1.8).tolist()
    found = degree_days([minimum], [maximum], lower, method=f"single-{shape}")
    assert 1.8 * found == close(fahrenheit)


def test_corn():
    # the classic corn example, common practice: 40/100 °F over base 50, clipped at 86
    assert degree_days([40], [100], 50, method="average") == pytest.approx(20)
    assert degree_days([40], [100], 50, 86, method="clipped-average") == pytest.approx(18)
