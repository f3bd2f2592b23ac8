"""Degree-days against numerical integration of the temperature curve, and their properties."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.analysis.heat.degree_days import degree_days, degree_days_of_readings
from rearlog.analysis.heat.methods import CUTOFFS, METHODS
from rearlog.records.errors import UsageError

DAILY = tuple(method for method in METHODS if method != "readings")
CURVES = {  # temperature at the part 0 … 1 of a half-day that runs from a to b
    "sine": lambda a, b, part: (a + b) / 2 - (b - a) / 2 * np.cos(np.pi * part),
    "triangle": lambda a, b, part: a + (b - a) * part,
}
NODES, WEIGHTS = np.polynomial.legendre.leggauss(12)
THRESHOLDS = [  # °C; each of the ten serves a tenth of the 10,000 days
    (10, None), (0, 25), (5, 12), (7.1, 30), (9, 9.5), (11.5, 33), (12.1, 28), (15, 18), (20, 40),
    (-3, 2),
]  # fmt: skip

celsius = st.floats(-30, 60)
whole_celsius = st.integers(-30, 60)
upper_thresholds = st.floats(16, 50)
ranges = st.floats(0, 40)


def gain(temperature, lower, upper, cutoff):
    """Degree-days per day at a temperature, from the definition of each cutoff."""
    heat = np.maximum(temperature - lower, 0)
    if upper is None:
        return heat
    beyond = temperature > upper
    return {
        "horizontal": np.where(beyond, upper - lower, heat),
        "intermediate": np.where(beyond, 2 * upper - lower - temperature, heat),
        "vertical": np.where(beyond, 0, heat),
    }[cutoff]


def each_alone(minima, maxima, *how, **more):
    """Degree-days of days that each end at their own minimum, for none stands beside another."""
    days = zip(minima, maxima, strict=True)
    return np.concatenate([degree_days([low], [high], *how, **more) for low, high in days])


def crossing(curve, a, b, threshold):
    """Where in a half-day the threshold is passed, by bisection; 0 or 1 where it is not."""
    early, late = np.zeros_like(a), np.ones_like(a)
    for _ in range(50):
        middle = (early + late) / 2
        before = (curve(a, b, middle) < threshold) == (a < b)
        early, late = np.where(before, middle, early), np.where(before, late, middle)
    return (early + late) / 2


def integral(shape, a, b, lower, upper, cutoff):
    """Mean gain over half-days from a to b (n,): Gauss–Legendre between the crossings."""
    curve = CURVES[shape]
    thresholds = [lower] if upper is None else [lower, upper]
    passed = [crossing(curve, a, b, threshold) for threshold in thresholds]
    bounds = np.sort([np.zeros_like(a), *passed, np.ones_like(a)], axis=0)
    total = np.zeros_like(a)
    for start, stop in pairwise(bounds):
        for node, weight in zip(NODES, WEIGHTS, strict=True):
            part = start + (stop - start) * (node + 1) / 2
            heat = gain(curve(a, b, part), lower, upper, cutoff)
            total += weight / 2 * (stop - start) * heat
    return total


def random_days(seed, n):
    """Minima and maxima (°C) of n days, some of constant temperature."""
    random = np.random.default_rng(seed)
    minimum = random.uniform(-10, 35, n)
    return minimum, minimum + random.uniform(0, 25, n) * (random.random(n) > 0.05)


@pytest.mark.parametrize("cutoff", CUTOFFS)
@pytest.mark.parametrize("shape", CURVES)
@pytest.mark.parametrize("kind", ["single", "double"])
def test_numerical_integration_of_ten_thousand_days(kind, shape, cutoff):
    for seed, (lower, upper) in enumerate(THRESHOLDS):
        minimum, maximum = random_days(seed, 1000)
        end = minimum if kind == "single" else np.append(minimum[1:], minimum[-1])
        morning = integral(shape, minimum, maximum, lower, upper, cutoff)
        evening = integral(shape, maximum, end, lower, upper, cutoff)
        expected = np.maximum((morning + evening) / 2, 0)
        found = degree_days(minimum, maximum, lower, upper, method=f"{kind}-{shape}", cutoff=cutoff)
        np.testing.assert_allclose(found, expected, rtol=0, atol=1e-6)


@pytest.mark.parametrize("cutoff", CUTOFFS)
def test_numerical_integration_of_readings(cutoff):
    random = np.random.default_rng(7)
    at_days = np.cumsum(random.exponential(0.01, 2000))
    readings = random.uniform(-5, 45, 2000)
    for lower, upper in THRESHOLDS:
        mean = integral("triangle", readings[:-1], readings[1:], lower, upper, cutoff)
        found = degree_days_of_readings(at_days, readings, lower, upper, cutoff=cutoff)
        np.testing.assert_allclose(found, mean * np.diff(at_days), rtol=0, atol=1e-6)
        assert cutoff == "intermediate" or found.min() >= 0


@pytest.mark.parametrize("cutoff", CUTOFFS)
def test_dense_readings_of_a_sine_have_the_heat_of_the_sine(cutoff):
    at_days = np.linspace(0, 1, 20_001)
    readings = 20 - 12 * np.cos(2 * np.pi * at_days)
    found = degree_days_of_readings(at_days, readings, 11.5, 28, cutoff=cutoff).sum()
    assert found == pytest.approx(degree_days([8], [32], 11.5, 28, cutoff=cutoff)[0], abs=1e-5)


@given(whole_celsius, whole_celsius, st.floats(0.01, 0.99), st.sampled_from(CUTOFFS))
def test_a_reading_on_the_line_between_two_changes_nothing(first, last, part, cutoff):
    between = first + (last - first) * part
    whole = degree_days_of_readings([0, 1], [first, last], 10, 30, cutoff=cutoff).sum()
    parts = degree_days_of_readings([0, part, 1], [first, between, last], 10, 30, cutoff=cutoff)
    assert parts.sum() == pytest.approx(whole, abs=1e-6)


def test_only_the_intermediate_cutoff_lets_a_stretch_of_readings_fall_below_zero():
    stretch = {
        cutoff: degree_days_of_readings([0, 1], [50, 60], 10, 30, cutoff=cutoff).item()
        for cutoff in CUTOFFS
    }
    # (55 − 10) − 2 × (55 − 30) = −5
    assert stretch == pytest.approx({"horizontal": 20, "intermediate": -5, "vertical": 0})
    assert degree_days([50], [60], 10, 30, cutoff="intermediate") == 0


@pytest.mark.parametrize("method", DAILY)
@pytest.mark.parametrize(
    ("temperature", "horizontal", "intermediate", "vertical"),
    [(9, 0, 0, 0), (10, 0, 0, 0), (10.5, 0.5, 0.5, 0.5), (30, 20, 20, 20), (31, 20, 19, 0)],
)  # fmt: skip
def test_constant_temperature(method, temperature, horizontal, intermediate, vertical):
    for cutoff, value in zip(CUTOFFS, (horizontal, intermediate, vertical), strict=True):
        days = [temperature] * 3
        found = degree_days(days, days, 10, 30, method=method, cutoff=cutoff)
        np.testing.assert_allclose(found, value, atol=1e-12)
        readings = degree_days_of_readings([0, 0.5, 2], days, 10, 30, cutoff=cutoff)
        np.testing.assert_allclose(readings, [value / 2, value * 1.5], atol=1e-12)


@pytest.mark.parametrize("method", DAILY)
@given(celsius, ranges, st.floats(0, 15), st.floats(0, 15), upper_thresholds)
def test_a_warmer_day_has_no_less_heat_with_the_horizontal_cutoff(
    method, minimum, spread, warmer_night, warmer_day, upper
):
    maximum = minimum + spread
    minima = [minimum, min(minimum + warmer_night, maximum), minimum]
    maxima = [maximum, maximum, maximum + warmer_day]
    cool, mild, hot = each_alone(minima, maxima, 10, upper, method=method)
    assert 0 <= cool <= mild + 1e-9
    assert cool <= hot + 1e-9
    assert hot <= upper - 10 + 1e-9


@pytest.mark.parametrize("method", DAILY)
@given(celsius, ranges, upper_thresholds)
def test_the_horizontal_cutoff_gives_most(method, minimum, spread, upper):
    horizontal, intermediate, vertical = (
        degree_days([minimum], [minimum + spread], 10, upper, method=method, cutoff=cutoff)[0]
        for cutoff in CUTOFFS
    )
    assert 0 <= intermediate <= horizontal + 1e-9
    assert 0 <= vertical <= horizontal + 1e-9


@pytest.mark.parametrize("cutoff", CUTOFFS)
@pytest.mark.parametrize("method", DAILY)
def test_thresholds_that_no_temperature_passes_leave_the_plain_mean(method, cutoff):
    minimum, maximum = random_days(1, 50)
    found = degree_days(minimum, maximum, -20, 80, method=method, cutoff=cutoff)
    end = np.append(minimum[1:], minimum[-1]) if method.startswith("double") else minimum
    np.testing.assert_allclose(found, (minimum + 2 * maximum + end) / 4 + 20)


@pytest.mark.parametrize("cutoff", CUTOFFS)
@pytest.mark.parametrize("shape", CURVES)
def test_double_is_single_where_the_next_minimum_is_the_same(shape, cutoff):
    minimum, maximum = random_days(3, 200)
    single = degree_days(minimum, maximum, 10, 25, method=f"single-{shape}", cutoff=cutoff)
    double = each_alone(minimum, maximum, 10, 25, method=f"double-{shape}", cutoff=cutoff)
    np.testing.assert_allclose(double, single, atol=1e-12)


# by hand: excess² / (2 · range) where the threshold is crossed, else the mean less 10
def test_a_next_minimum_that_is_not_known_gives_way_to_the_days_own():
    minimum, maximum = [8.0, 12.0, np.nan, 9.0], [22.0, 24.0, 26.0, 28.0]
    found = degree_days(minimum, maximum, 10, method="double-triangle")
    np.testing.assert_allclose(found, [(12**2 / 28 + 7) / 2, 8, np.nan, 18**2 / 38])


@pytest.mark.parametrize("cutoff", CUTOFFS)
@pytest.mark.parametrize("method", DAILY)
def test_an_unknown_extreme_leaves_its_own_day_unknown_and_no_other(method, cutoff):
    minimum, maximum = [np.nan, 12.0, 9.0], [20.0, np.nan, 35.0]
    found = degree_days(minimum, maximum, 10, 30, method=method, cutoff=cutoff)
    assert np.isnan(found).tolist() == [True, True, False]


def test_an_unknown_reading_leaves_both_stretches_beside_it_unknown():
    found = degree_days_of_readings([0, 1, 2, 3], [20, np.nan, 20, 20], 10, 30)
    np.testing.assert_allclose(found, [np.nan, np.nan, 10])


def test_the_average_knows_nothing_of_extremes():
    # the mean of 5/15 is at the lower threshold; that of 24/40 is 2 °C above the upper one
    assert degree_days([5], [15], 10, method="average") == 0
    assert degree_days([24], [40], 10, 30, method="average") == 20
    assert degree_days([24], [40], 10, 30, method="average", cutoff="intermediate") == 18


def test_the_clipped_average_moves_both_extremes_into_the_thresholds():
    found = degree_days([5, 2, 31, 5], [15, 8, 36, 35], 10, 30, method="clipped-average")
    np.testing.assert_allclose(found, [2.5, 0, 20, 10])


def test_the_clipped_average_counts_half_a_day_at_each_extreme():
    intermediate, vertical = (
        degree_days([20], [38], 10, 30, method="clipped-average", cutoff=cutoff)[0]
        for cutoff in ("intermediate", "vertical")
    )
    assert intermediate == 11  # 10 at 20 °C, 20 − 8 at 38 °C
    assert vertical == 5  # 10 at 20 °C, nothing at 38 °C


@pytest.mark.parametrize("method", DAILY)
def test_no_days_have_no_heat(method):
    assert degree_days([], [], 10, 30, method=method).shape == (0,)


def test_a_lone_reading_has_no_stretch():
    assert degree_days_of_readings([0], [20], 10, 30).shape == (0,)


def test_every_mistake_in_a_call_is_named():
    with pytest.raises(UsageError) as caught:
        degree_days([5, 20, 9, 8], [15, 10, np.nan, 7], 10, 10, method="cosine", cutoff="diagonal")
    said = str(caught.value)
    assert len(caught.value.problems) == 5
    for piece in ("“cosine”", "“diagonal”", "upper threshold 10", "day 2", "day 4"):
        assert piece in said


def test_mistakes_with_readings():
    with pytest.raises(UsageError, match="diagonal") as caught:
        degree_days_of_readings([0, 1], [10, 20], 10, 9, cutoff="diagonal")
    assert len(caught.value.problems) == 2
    with pytest.raises(UsageError, match="logger"):
        degree_days([10], [20], 10, method="readings")
