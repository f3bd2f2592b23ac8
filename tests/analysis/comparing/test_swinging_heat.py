"""Thresholds where temperatures rise and fall: cohorts invented here, hour by hour, T0 known."""

from datetime import timedelta

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from rearlog.analysis.comparing.cohorts import ComparedCohort
from rearlog.analysis.comparing.swinging_heat import (
    THRESHOLDS,
    _least,
    daily_range,
    swinging_heat,
)
from rearlog.analysis.comparing.thermal import StageThermal, thermal
from rearlog.analysis.heat.daily_temperatures import lay_out
from rearlog.analysis.heat.heat_curve import heat_curve
from rearlog.analysis.stages.events import event_history
from rearlog.records.log import DayExtremes, Readings
from rearlog.sentences.thermal import words
from tests.analysis.invented_comparisons import HOW, kept_at
from tests.builders import START, tiny_log

TRUE_T0, NEEDED = 10.0, 120.0


def swung(mean: float, swing: float, seed: int, n: int = 20, cv: float = 0.05) -> ComparedCohort:
    """n individuals seen daily at a temperature that runs as a sine, `swing` °C to either side.

    They enter L1 on day 1 and leave it when the heat above TRUE_T0, added up here in steps of a
    hundredth of a day, has reached their own need.
    """
    rng = np.random.default_rng(seed)
    step = 0.01
    clock = np.arange(0, 120, step)  # days since nine o'clock
    celsius = mean + swing * np.sin(2 * np.pi * (clock + 9 / 24 - 0.3))
    heat = np.cumsum(np.maximum(celsius - TRUE_T0, 0.0)) * step
    lives = {}
    for k in range(n):
        begin = 1 + rng.uniform(0, 1)
        need = NEEDED * np.exp(rng.normal(0, cv)) + np.interp(begin, clock, heat)
        end = float(np.interp(need, heat, clock))
        first, last = int(np.ceil(begin)), int(np.ceil(end))
        lives[str(k)] = "egg " * first + "L1 " * (last - first) + "L2"
    longest = max(len(line.split()) for line in lives.values()) + 2
    midnight = START.replace(hour=0) - timedelta(days=1)
    hours = np.arange(24 * (longest + 2))
    logged = mean + swing * np.sin(2 * np.pi * (hours / 24 - 0.3))
    readings = Readings(midnight, tuple((3600 * hours).tolist()), tuple(logged.tolist()))
    log = tiny_log(lives, temperatures=(readings,))
    curve = heat_curve(lay_out(log), HOW)
    return ComparedCohort(f"t{mean:g}", "Moth test", event_history(log), curve)


def l1(cohorts: list[ComparedCohort]) -> StageThermal:
    return next(each for each in thermal(cohorts).stages if each.stage == "L1")


def test_the_threshold_over_real_temperatures_is_found_where_the_line_on_means_errs() -> None:
    """Days that swing by ±10 °C about 12 to 24 °C: for part of each it is colder than T0."""
    found = l1([swung(mean, 10.0, seed) for seed, mean in enumerate((12.0, 16.0, 20.0, 24.0))])
    assert found.linear is not None
    assert found.swinging is not None
    print(f"line {found.linear.threshold:.2f}, real temperatures {found.swinging.threshold:.2f} °C")
    assert found.linear.threshold < 8.6
    assert found.swinging.threshold == pytest.approx(TRUE_T0, abs=0.5)
    assert found.swinging.constant == pytest.approx(NEEDED, rel=0.05)
    assert found.swinging.swing == pytest.approx(20.0, abs=0.5)
    low, high = found.swinging.threshold_low, found.swinging.threshold_high
    assert low is not None
    assert high is not None
    assert low < TRUE_T0 < high
    said = " ".join(words(found))
    assert "Temperatures rose and fell by 20.0 °C a day" in said
    assert f"most alike above {found.swinging.threshold:.1f} °C" in said


def test_constant_temperatures_have_no_second_threshold() -> None:
    found = l1([kept_at(15, 12), kept_at(20, 6), kept_at(25, 4)])
    assert found.swinging is None
    assert [point.daily_range for point in found.points] == [0, 0, 0]
    assert "rose and fell" not in " ".join(words(found))


def test_at_constant_temperatures_it_is_the_least_of_the_ratio_by_a_search() -> None:
    """Reference: scipy's search for the least coefficient of variation of days · (T − T0)."""
    celsius, days = np.array([15.0, 18.0, 22.0, 27.0]), np.array([21.0, 12.2, 8.5, 5.7])

    def varying(threshold: float) -> float:
        needs = days * (celsius - threshold)
        return float(needs.std(ddof=1) / needs.mean())

    best = minimize_scalar(varying, bounds=(0, 14.5), method="bounded", options={"xatol": 1e-8})
    heats = [each * np.maximum(at - THRESHOLDS, 0) for each, at in zip(days, celsius, strict=True)]
    found = swinging_heat(heats, [0.02] * 4, 5.0)
    assert found is not None
    assert found.threshold == pytest.approx(best.x, abs=0.006)
    assert found.cv == pytest.approx(best.fun, rel=0.001)


def test_no_threshold_is_made_up_and_no_limits_without_errors() -> None:
    days, celsius = np.array([9.0, 9.0, 9.5]), np.array([15.0, 20.0, 25.0])
    heats = [each * np.maximum(at - THRESHOLDS, 0) for each, at in zip(days, celsius, strict=True)]
    assert swinging_heat(heats, [0.02] * 3, 5.0) is None  # slower where it is warmer
    days = 60 / (celsius - 10)
    heats = [each * np.maximum(at - THRESHOLDS, 0) for each, at in zip(days, celsius, strict=True)]
    found = swinging_heat(heats, [0.02, None, 0.02], 5.0)
    assert found is not None
    assert found.threshold == pytest.approx(10, abs=0.006)
    assert found.threshold_low is found.threshold_high is None


def crossing_at(threshold: float, *bends: tuple[float, float]) -> list[np.ndarray]:
    """Degree-days of cohorts by threshold, parabolas that meet at 100 of them."""
    off = THRESHOLDS - threshold
    return [100 - slope * off + bend * off**2 for slope, bend in bends]


def test_between_the_thresholds_tried_the_least_is_found_to_a_hundredth() -> None:
    """Where 100 degree-days meet, 0.2 °C below a threshold that is tried."""
    found = swinging_heat(crossing_at(7.3, (10, 0), (4, 2.0), (16, 1.0)), [0.01] * 3, 5.0)
    assert found is not None
    assert found.threshold == pytest.approx(7.3, abs=0.0051)
    assert found.constant == pytest.approx(100, abs=0.1)
    assert found.n == 3


def test_the_range_of_days_is_that_of_those_spent() -> None:
    """Days of 9 to 12, 9 to 15 and 9 to 21 °C; the third begins two days after the first."""
    ends = tuple(
        DayExtremes(START.date() + timedelta(day), 9.0, most)
        for day, most in enumerate((12.0, 15.0, 21.0))
    )
    curve = heat_curve(lay_out(tiny_log({"1": "egg L1 L1 L2"}, temperatures=ends)), HOW)
    first, second, third = curve.temperatures.edges[:3].tolist()
    assert second - first == third - second == 1

    def spent(low: float, high: float) -> float | None:
        return daily_range(curve, np.array([low, low + 0.1]), np.array([high, high - 0.1]))

    assert spent(first, second) == 3
    assert spent(second, third) == 6
    assert spent(second - 0.01, third) == 4.5
    assert spent(second, third + 0.01) == 9
    assert spent(third + 50, third + 51) is None


def test_limits_are_as_wide_as_errors_or_as_what_the_cohorts_differ_by() -> None:
    """Parts by which four cohorts differ there, on two degrees of freedom, are one standard error:
    with errors of three, limits are three times as wide; with the least errors, as wide as one."""
    off = np.array([1.0, -1.0, 1.0, -1.0]) * 0.001
    heats = [
        each * (1 + part)
        for each, part in zip(
            crossing_at(12.0, (8, 0), (12, 0), (16, 0), (20, 0)), off, strict=True
        )
    ]
    first = swinging_heat(heats, [1e-6] * 4, 5.0)
    assert first is not None
    at = np.array([np.interp(first.threshold, THRESHOLDS, each) for each in heats])
    spread = float(np.sqrt(np.sum((at / at.mean() - 1) ** 2) / 2))
    unsure = swinging_heat(heats, [3 * spread] * 4, 5.0)
    assert unsure is not None
    widths = []
    for each in (first, unsure):
        assert each.threshold_low is not None
        assert each.threshold_high is not None
        assert each.threshold_low < each.threshold < each.threshold_high
        widths.append(each.threshold_high - each.threshold_low)
    assert widths[1] / widths[0] == pytest.approx(3, rel=0.15)


@pytest.mark.slow
def test_limits_hold_the_true_threshold_at_least_as_often_as_they_say() -> None:
    """Heat needs drawn here about cohorts at days of four temperatures, a sine of ±10 °C."""
    clock = np.arange(0, 1, 0.001)
    means = np.array([12.0, 15.0, 18.0, 21.0, 24.0])
    runs = means[:, None] + 10 * np.sin(2 * np.pi * clock)
    daily = np.array([[np.maximum(run - t, 0).mean() for t in THRESHOLDS] for run in runs])
    at_truth = np.maximum(runs - TRUE_T0, 0).mean(axis=1)
    rng = np.random.default_rng(5)
    inside, found_at = [], []
    for _ in range(300):
        days = NEEDED / at_truth * (1 + rng.normal(0, 0.015, len(means)))
        found = swinging_heat(list(days[:, None] * daily), [0.015] * len(means), 20.0)
        assert found is not None
        assert found.threshold_low is not None
        assert found.threshold_high is not None
        inside.append(found.threshold_low <= TRUE_T0 <= found.threshold_high)
        found_at.append(found.threshold)
    print(f"held {np.mean(inside):.3f}; T0 {np.mean(found_at):.2f} ± {np.std(found_at):.2f} °C")
    assert 0.92 < np.mean(inside) <= 1
    assert np.mean(found_at) == pytest.approx(TRUE_T0, abs=0.15)


@pytest.mark.parametrize("true", [10.0, 10.13, 9.87, -9.6, 34.4])
def test_the_least_variation_is_found_between_the_thresholds_that_are_tried(true: float) -> None:
    """Two cohorts whose degree-days are the same at one threshold, by straight lines and by a
    parabola: to a hundredth of a degree, each experiment by itself."""
    lines = np.array([20 * (50 - THRESHOLDS), 10 * (100 - true - THRESHOLDS)])
    bent = np.array([(50 - THRESHOLDS) ** 2, (50 - true) * (50 - THRESHOLDS)])
    other = np.array([20 * (50 - THRESHOLDS), 10 * (100 - 5.0 - THRESHOLDS)])
    found = _least(np.array([lines, other, bent]))
    assert found == pytest.approx([true, 5.0, true], abs=1e-9)


@pytest.mark.parametrize("true", [-10.0, -9.8, 34.9, 35.0])
def test_an_end_of_the_thresholds_is_none_of_least_variation(true: float) -> None:
    lines = np.array([20 * (50 - THRESHOLDS), 10 * (100 - true - THRESHOLDS)])
    assert np.isnan(_least(lines[None])).tolist() == [True]
