"""Mortality by temperature, from lives that are written down and from points by hand."""

import math
from datetime import timedelta

import numpy as np
import pytest
import statsmodels.api as sm
from msgspec.structs import replace
from scipy import stats

from rearlog.analysis.comparing.cohorts import ComparedCohort
from rearlog.analysis.comparing.heat_mortality import (
    HeatMortality,
    MortalityCurve,
    MortalityPoint,
    NoMortalityCurve,
    _with_lowest,
    heat_mortality,
    mortality_curve,
)
from rearlog.analysis.comparing.thermal import thermal
from rearlog.analysis.heat.daily_temperatures import lay_out
from rearlog.analysis.heat.heat_curve import heat_curve
from rearlog.analysis.stages.events import event_history
from rearlog.analysis.statistics.binomial_fit import limit_of
from rearlog.present.between import thermal_tables
from rearlog.records.log import ConstantTemperature
from rearlog.sentences.heat_mortality import WHY_NO_CURVE, words
from rearlog.sentences.thermal import words as thermal_words
from tests.analysis.invented_comparisons import HOW
from tests.builders import START, tiny_log


def kept(
    name: str, celsius: float | None, lives: dict[str, str], later: float | None = None
) -> ComparedCohort:
    """A cohort at one temperature; with `later` at another one from the third day on."""
    records = [] if celsius is None else [ConstantTemperature(celsius, START.date() - timedelta(1))]
    if later is not None:
        records.append(ConstantTemperature(later, START.date() + timedelta(2)))
    log = tiny_log(lives, temperatures=tuple(records))
    curve = None if celsius is None else heat_curve(lay_out(log), HOW)
    return ComparedCohort(name, "Moth test", event_history(log), curve)


def some(dead: int, through: int, others: str = "") -> dict[str, str]:
    """So many die in L1, so many come through to adult; of others one is lost or stays."""
    lives = {f"d{n}": "egg L1 L1 dead" for n in range(dead)}
    lives |= {f"t{n}": "egg L1 L1 L2 pupa adult" for n in range(through)}
    return lives | ({"o": others} if others else {})


def of(found: tuple[HeatMortality, ...], stage: str) -> HeatMortality:
    return next(each for each in found if each.stage == stage)


def test_a_cohort_is_a_point_of_those_whose_end_in_the_stage_is_known() -> None:
    cohorts = [
        kept("cool", 15.0, some(2, 3, "egg L1 L1 lost")),
        kept("warm", 25.0, some(1, 7, "egg L1 L1 L1 L1")),
        kept("unknown", None, some(1, 1)),
    ]
    found = heat_mortality(cohorts, ["warm"])
    l1 = of(found, "L1")
    assert [(p.cohort, p.n, p.died, p.open_ended, p.used) for p in l1.points] == [
        ("cool", 5, 2, 1, True),
        ("warm", 8, 1, 1, False),
    ]
    assert [p.temperature for p in l1.points] == pytest.approx([15.0, 25.0])
    cool = l1.points[0]
    assert cool.mortality == 0.4
    assert (cool.low, cool.high) == pytest.approx((0.1176, 0.7693), abs=1e-4)
    assert [p.died for p in of(found, "egg").points] == [0, 0]
    whole = of(found, "egg to adult")
    assert [(p.n, p.died) for p in whole.points] == [(5, 2), (8, 1)]
    assert found[-1] is whole


def test_the_temperature_is_that_while_in_the_stage_of_the_dead_too() -> None:
    """At 10 °C until midnight before the third day, 20 °C after that: L1 begins half way between
    the looks of the first and the second day; the dead were last seen alive on the third."""
    dying = of(heat_mortality([kept("a", 10.0, some(1, 0), later=20.0)]), "L1").points[0]
    living = of(heat_mortality([kept("a", 10.0, some(0, 1), later=20.0)]), "L1").points[0]
    both = of(heat_mortality([kept("a", 10.0, some(1, 1), later=20.0)]), "L1").points[0]
    assert 10 < dying.temperature < 20
    assert dying.temperature == pytest.approx(living.temperature)
    assert both.temperature == pytest.approx(dying.temperature)
    egg = of(heat_mortality([kept("a", 10.0, some(1, 1), later=20.0)]), "egg").points[0]
    assert egg.temperature == pytest.approx(10.0)


def test_every_stage_but_the_last_has_its_mortality_and_so_has_the_whole() -> None:
    found = heat_mortality([kept("a", 10.0, some(1, 1))])
    assert [each.stage for each in found] == ["egg", "L1", "L2", "pupa", "egg to adult"]
    assert heat_mortality([kept("a", 10.0, {"1": "egg egg"})]) == ()


def test_who_came_later_or_passed_through_between_two_looks_is_counted() -> None:
    """One entered as L1 at 9 o'clock; the other passed through L1 between the looks of the first
    day and the second, at midnight of which it grew 10 °C warmer."""
    late = of(heat_mortality([kept("a", 10.0, {"1": "L1 L1 L2 pupa adult"}, later=20.0)]), "L1")
    assert (late.points[0].n, late.points[0].died) == (1, 0)
    assert late.points[0].temperature == pytest.approx(10.0)
    longer = of(heat_mortality([kept("a", 10.0, {"1": "L1 L1 L1 L2 pupa"}, later=20.0)]), "L1")
    midnight = 2 - (START - START.replace(hour=0, minute=0)) / timedelta(days=1)
    assert longer.points[0].temperature == pytest.approx(10 + 10 * (2.5 - midnight) / 2.5)
    lives = {"1": "egg egg L2 pupa adult"}
    quick = of(heat_mortality([kept("a", 10.0, lives, later=20.0)]), "L1").points[0]
    assert quick.temperature == pytest.approx(10 + 10 * (2 - midnight))
    dead = of(heat_mortality([kept("a", 10.0, {"1": "egg egg L1 dead"}, later=20.0)]), "L1").points[
        0
    ]
    assert dead.temperature == pytest.approx(10 + 10 * (2.5 - max(1.5, midnight)))


def test_a_cohort_left_out_is_shown_and_not_fitted() -> None:
    cohorts = [
        kept(f"t{c:g}", c, some(d, 9 - d))
        for c, d in ((15.0, 4), (18.0, 2), (20.0, 1), (25.0, 2), (30.0, 8))
    ]
    l1 = of(heat_mortality(cohorts, ["t30"]), "L1")
    assert len(l1.points) == 5
    assert l1.curve == curve_of(list(l1.points[:4]))
    assert l1.curve != curve_of(list(l1.points))


def point(celsius: float, died: int, n: int) -> MortalityPoint:
    return MortalityPoint(f"c{celsius:g}", celsius, n, died, 0, died / n, 0.0, 1.0, True)


U_SHAPED = [
    point(15.0, 14, 30),
    point(20.0, 6, 31),
    point(25.0, 5, 28),
    point(28.0, 9, 30),
    point(31.0, 15, 29),
    point(33.0, 25, 30),
]


def curve_of(points: list[MortalityPoint]) -> MortalityCurve:
    found = mortality_curve(points)
    assert isinstance(found, MortalityCurve)
    return found


def reference(points: list[MortalityPoint], size: int, at: list[float]) -> np.ndarray:
    """Parts and 95 % limits by a reference library, given Pearson's χ² for the scatter."""
    celsius = np.array([each.temperature for each in points])
    died = np.array([each.died for each in points])
    n = np.array([each.n for each in points])
    model = sm.GLM(
        np.column_stack((died, n - died)),
        np.vander(celsius, size, increasing=True),
        family=sm.families.Binomial(),
    )
    plain = model.fit()
    fit = model.fit(scale=max(1.0, plain.pearson_chi2 / plain.df_resid))
    told = fit.get_prediction(np.vander(np.array(at), size, increasing=True))
    logit, error = told.linpred.predicted, told.linpred.se
    t = stats.t.ppf(0.975, fit.df_resid) if fit.scale > 1 else stats.norm.ppf(0.975)
    return 1 / (1 + np.exp(-np.array([logit, logit - t * error, logit + t * error])))


@pytest.mark.parametrize(
    ("points", "size"),
    [
        (U_SHAPED, 3),
        (U_SHAPED[1:5], 3),
        (U_SHAPED[3:], 2),
        ([*U_SHAPED, replace(U_SHAPED[0], died=27)], 3),
    ],
)
def test_the_curve_and_its_band_are_those_of_a_reference_library(
    points: list[MortalityPoint], size: int
) -> None:
    found = curve_of(points)
    assert len(found.coefficients) == size
    at = [16.0, 22.5, 30.0]
    part, low, high = reference(points, size, at)
    assert found.mortality(at) == pytest.approx(part, rel=1e-6)
    assert found.band(at)[0] == pytest.approx(low, rel=1e-4)
    assert found.band(at)[1] == pytest.approx(high, rel=1e-4)


def test_the_best_temperature_is_the_lowest_point_of_the_curve() -> None:
    found = curve_of(U_SHAPED)
    grid = np.arange(15.0, 33.0, 0.001)
    part = found.mortality(grid)
    assert found.best == pytest.approx(grid[part.argmin()], abs=0.001)
    assert found.least == pytest.approx(part.min(), rel=1e-6)
    assert found.best is not None
    low, high = found.band([found.best])
    assert (found.least_low, found.least_high) == pytest.approx((low[0], high[0]))
    assert (found.coldest, found.hottest) == (15.0, 33.0)


def test_the_limits_of_the_best_temperature_are_where_the_slope_may_be_0() -> None:
    """On a fine grid: where the slope lies within its limits of 0."""
    found = curve_of(U_SHAPED)
    assert found.best_low is not None
    assert found.best_high is not None
    x = np.arange(-12.0, 12.0, 0.001)
    gradient = np.column_stack((np.zeros_like(x), np.ones_like(x), 2 * x))
    slope = gradient @ np.array(found.coefficients)
    error = np.sqrt(np.sum((gradient @ np.array(found.covariance)) * gradient, axis=1))
    t = 1.959964 if found.dispersion == 1 else 3.182446
    inside = x[np.abs(slope) <= t * error] + found.centre
    assert (found.best_low, found.best_high) == pytest.approx((inside[0], inside[-1]), abs=0.002)


def test_a_curve_without_a_lowest_point_among_the_temperatures_has_none() -> None:
    rising = curve_of(U_SHAPED[2:])
    assert rising.best is None or rising.best >= 25.0
    steadily = curve_of([point(t, d, 40) for t, d in ((15, 2), (20, 6), (25, 14), (30, 24))])
    assert steadily.best is None
    assert steadily.best_low is None
    assert steadily.least is None
    hump = curve_of([point(t, d, 40) for t, d in ((15, 2), (20, 16), (25, 14), (30, 4))])
    assert hump.coefficients[2] < 0
    assert hump.best is None


def quadratic(slope: float, bend: float, *variances: float) -> MortalityCurve:
    """About 20 °C, from 15 to 25 °C; the variances are those of slope and bend."""
    covariance = np.diag([0.01, *(variances or (0.0, 0.0))])
    plain = curve_of(U_SHAPED)
    given = replace(
        plain,
        coefficients=(-1.0, slope, bend),
        covariance=tuple(tuple(row) for row in covariance.tolist()),
        centre=20.0,
        coldest=15.0,
        hottest=25.0,
        dispersion=1.0,
        best=None,
        best_low=None,
        best_high=None,
    )
    return _with_lowest(given)


def test_the_lowest_point_may_be_the_coldest_or_the_hottest_temperature_measured() -> None:
    """By hand: the least of a + b·x + c·x² is at −b/2c, here 5 °C to either side of 20 °C."""
    assert quadratic(1.0, 0.1).best == 15.0
    assert quadratic(-1.0, 0.1).best == 25.0
    assert quadratic(1.0, 0.0999).best is None
    assert quadratic(-1.0, 0.0999).best is None
    assert quadratic(0.1, 0.0).best is None  # a straight line
    assert quadratic(1.0, -0.1).best is None  # a hump


def test_a_lowest_point_known_without_error_is_its_own_limits() -> None:
    for slope in np.linspace(-0.9, 0.9, 13):
        found = quadratic(float(slope), 0.1)
        assert (found.best_low, found.best_high) == pytest.approx((found.best, found.best))


def test_a_bend_that_is_just_not_shown_has_limits_that_do_not_end() -> None:
    """Its lower limit is 0 to the last digit."""
    bend = limit_of(1.0, 3)
    found = quadratic(0.1, bend, 0.0, 1.0)
    assert found.best == pytest.approx(20 - 0.1 / (2 * bend))
    assert (found.best_low, found.best_high) == (None, None)


def test_where_the_bend_is_not_shown_the_best_temperature_has_no_limits() -> None:
    found = curve_of([point(t, d, 20) for t, d in ((15, 5), (20, 4), (25, 4), (30, 5))])
    assert found.best == pytest.approx(22.5, abs=0.1)
    assert found.best_low is None
    assert found.best_high is None
    assert found.p > 0.5


@pytest.mark.parametrize(
    ("points", "why"),
    [
        (U_SHAPED[:2], NoMortalityCurve.FEW_TEMPERATURES),
        (
            [point(20.0, 3, 9), point(20.1, 4, 9), point(30, 6, 9)],
            NoMortalityCurve.FEW_TEMPERATURES,
        ),
        ([point(t, 0, 9) for t in (15, 20, 25)], NoMortalityCurve.NOBODY_DIED),
        ([point(t, 9, 9) for t in (15, 20, 25)], NoMortalityCurve.ALL_DIED),
        ([point(t, d, 9) for t, d in ((15, 0), (20, 0), (25, 9))], NoMortalityCurve.NOT_SETTLED),
    ],
)
def test_what_cannot_give_a_curve_says_why(
    points: list[MortalityPoint], why: NoMortalityCurve
) -> None:
    assert mortality_curve(points) is why
    (told,) = words(HeatMortality("L1", tuple(points), None, why))
    assert told == f"In L1 there is no curve of the mortality: {WHY_NO_CURVE[why]}."


def test_three_temperatures_give_a_line_and_four_a_bend() -> None:
    assert len(curve_of(U_SHAPED[:3]).coefficients) == 2
    assert len(curve_of([*U_SHAPED[:3], replace(U_SHAPED[2], died=6)]).coefficients) == 2
    assert len(curve_of(U_SHAPED[:4]).coefficients) == 3


# --- what is said --------------------------------------------------------------------------------


def told(points: list[MortalityPoint], stage: str = "egg to adult") -> tuple[str, ...]:
    return words(HeatMortality(stage, tuple(points), curve_of(points), None))


def test_the_words_name_the_best_temperature_and_the_ends() -> None:
    (course, *scatter) = told(U_SHAPED)
    found = curve_of(U_SHAPED)
    cold, hot = found.mortality([15.0, 33.0])
    assert course == (
        f"From egg to adult the mortality is least at {found.best:.1f} °C (95 % interval "
        f"{found.best_low:.1f} to {found.best_high:.1f}), {100 * (found.least or 0):.0f} % "
        f"({100 * (found.least_low or 0):.0f} % to {100 * (found.least_high or 0):.0f} %), and "
        f"rises to {100 * cold:.0f} % at 15.0 °C and {100 * hot:.0f} % at 33.0 °C (F = "
        f"{found.f:.1f}, p < 0.001)."
    )
    assert len(scatter) == (found.dispersion > 1)


def test_the_words_of_a_line_and_of_nothing_shown() -> None:
    rising = [point(t, d, 40) for t, d in ((15, 2), (20, 6), (25, 14), (30, 24))]
    assert told(rising, "L1")[0].startswith("In L1 the mortality rises from 5 % at 15.0 °C to 60 %")
    falling = [point(t, d, 40) for t, d in ((15, 24), (20, 14), (25, 6), (30, 2))]
    assert told(falling)[0].startswith("From egg to adult the mortality falls from 60 % at 15.0 °C")
    flat = [point(t, d, 20) for t, d in ((15, 5), (20, 4), (25, 4), (30, 5))]
    assert told(flat)[0] == (
        "From egg to adult no dependence of the mortality on the temperature was shown (F = 0.1, "
        "p = 0.87), which is no proof that there is none."
    )


def test_scatter_beyond_chance_is_told() -> None:
    wild = [point(t, d, 40) for t, d in ((15, 20), (18, 2), (21, 18), (24, 4), (27, 30), (30, 12))]
    found = curve_of(wild)
    assert found.dispersion > 5
    assert told(wild)[-1] == (
        f"Cohorts scatter about the curve {found.dispersion:.1f} times as much, in variance, as "
        "chance among individuals would make them, and the limits allow for it."
    )


def test_the_answer_about_temperatures_has_it() -> None:
    cohorts = [kept(f"t{c}", c, some(d, 9 - d)) for c, d in ((15.0, 4), (20.0, 1), (25.0, 2))]
    result = thermal(cohorts)
    assert result.mortality == heat_mortality(cohorts)
    short, *_, table = thermal_tables(result)
    assert any(line.startswith("From egg to adult no dependence of the") for line in short.words)
    assert table.full
    row = next(row for row in table.rows if row[0] == "L1")
    assert row[1:6] == ["t15.0", pytest.approx(15.0), 9, 4, pytest.approx(4 / 9)]
    curve = of(result.mortality, "L1").curve
    assert curve is not None
    assert row[7] == pytest.approx(float(curve.mortality([15.0])[0]))
    assert math.isclose(float(str(row[8]).split("–")[0]), curve.band([15.0])[0][0], abs_tol=0.005)
    egg = next(row for row in table.rows if row[0] == "egg")
    assert egg[7:] == [None, None]
    assert not any("mortality" in line for line in thermal_words(result.stages[0]))
