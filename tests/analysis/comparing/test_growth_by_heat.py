"""The growth of populations by temperature: of cohorts that are written down, and of known laws."""

from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.optimize import curve_fit, minimize_scalar

from rearlog.analysis.comparing.cohorts import ComparedCohort
from rearlog.analysis.comparing.growth_by_heat import GrowthByHeat, growth_by_heat
from rearlog.analysis.comparing.rate_curves import RateLaw
from rearlog.analysis.comparing.rate_models import NoRate
from rearlog.analysis.reproduction.estimates import Estimate, Measure
from rearlog.analysis.reproduction.reproduction import Reproduction, reproduction
from rearlog.analysis.stages.events import event_history
from rearlog.present.between import growth_by_heat_tables
from rearlog.records.errors import UsageError
from rearlog.records.log import CohortLog
from rearlog.sentences.growth_by_heat import lead, words
from tests.analysis.invented_comparisons import kept_at
from tests.builders import seen, tiny_log

CELSIUS = (14.0, 17.0, 20.0, 23.0, 26.0, 29.0, 32.0)
LOWER, UPPER, SCALE = 10.0, 35.0, 6e-5


def briere(t: np.ndarray, a: float, lower: float, upper: float) -> np.ndarray:
    """Written anew: a·T·(T − T0)·√(Tm − T)."""
    return np.asarray(a * t * (t - lower) * np.sqrt(np.maximum(upper - t, 0.0)))


@cache
def laying() -> CohortLog:
    lives = dict.fromkeys("12", "egg L1 L2 pupa adult") | {"3": "egg dead"}
    looks = [seen("1", 6, "adult", sex="f", eggs=9), seen("2", 6, "adult", sex="m")]
    return tiny_log(lives, laid=(-1, 0)).with_checks([*looks, seen("1", 7, "dead")])


@cache
def table() -> Reproduction:
    return reproduction(laying(), event_history(laying()))


def growing_at(r: float | None, se: float | None) -> Reproduction:
    """A life table of which nothing counts but its r."""
    rest = [each for each in table().estimates if each.measure is not Measure.RATE]
    limits = (None, None) if r is None or se is None else (r - 2 * se, r + 2 * se)
    return replace(table(), n=40, estimates=(*rest, Estimate(Measure.RATE, 40, r, se, *limits)))


def cohorts(temperatures: tuple[float | None, ...] = CELSIUS) -> list[ComparedCohort]:
    return [kept_at(each, 3, f"t{each:g}" if each else "none") for each in temperatures]


def found(
    rates: list[float | None],
    se: float | None = 0.002,
    temperatures: tuple[float | None, ...] = CELSIUS,
    leave_out: tuple[str, ...] = (),
) -> GrowthByHeat:
    def of(place: int) -> Reproduction | None:
        return None if rates[place] is None else growing_at(rates[place], se)

    return growth_by_heat(cohorts(temperatures), of, leave_out)


def noisy(seed: int = 1, se: float = 0.002) -> list[float | None]:
    rng = np.random.default_rng(seed)
    truth = briere(np.array(CELSIUS), SCALE, LOWER, UPPER)
    return list((truth + rng.normal(0, se, len(CELSIUS))).tolist())


def test_the_optimum_is_that_of_the_law_that_the_rates_follow() -> None:
    rates = noisy()
    result = found(rates)
    (fit, _) = curve_fit(briere, CELSIUS, rates, p0=(5e-5, 9.0, 36.0))
    law = next(each for each in result.curves if each.law is RateLaw.BRIERE_1)
    assert law.parameters == pytest.approx(fit, rel=1e-3)
    top = minimize_scalar(
        lambda t: -briere(np.array([t]), *fit)[0], bounds=(20, 34), method="bounded"
    )
    assert law.optimum == pytest.approx(top.x, abs=0.02)
    assert result.curves[0].law is RateLaw.BRIERE_1
    assert result.best_curve is law
    assert result.fastest == pytest.approx(-top.fun, rel=1e-4)
    assert law.optimum_limits is not None
    assert law.optimum_limits.low < 29.5 < law.optimum_limits.high
    assert result.no_curve is None


def test_points_are_weighed_by_their_errors() -> None:
    rates = noisy()
    rates[2] = (rates[2] or 0) + 0.03
    errors = [0.002] * len(CELSIUS)
    errors[2] = 0.05

    def of(place: int) -> Reproduction:
        return growing_at(rates[place], errors[place])

    weighed = growth_by_heat(cohorts(), of)
    (fit, _) = curve_fit(briere, CELSIUS, rates, p0=(5e-5, 9.0, 36.0), sigma=errors)
    law = next(each for each in weighed.curves if each.law is RateLaw.BRIERE_1)
    assert law.parameters == pytest.approx(fit, rel=1e-3)
    alike = found(rates, se=None)
    (plain, _) = curve_fit(briere, CELSIUS, rates, p0=(5e-5, 9.0, 36.0))
    law = next(each for each in alike.curves if each.law is RateLaw.BRIERE_1)
    assert law.parameters == pytest.approx(plain, rel=1e-3)


def test_what_does_not_grow_is_shown_and_not_fitted() -> None:
    standing = found([*noisy(), 0.0], temperatures=(*CELSIUS, 34.0))
    assert not standing.points[-1].used
    rates = [*noisy(), -0.02, None]
    result = found(rates, temperatures=(*CELSIUS, 34.0, 36.0))
    assert [each.used for each in result.points] == [True] * 7 + [False, False]
    assert [each.r for each in result.points[-2:]] == [-0.02, None]
    assert result.curves == found(noisy()).curves
    assert words(result)[-3:] == (
        "Nobody grew up in t36 (36.0 °C): such a population dies out.",
        "In t34 (34.0 °C) it shrinks.",
        "The laws know no rates below 0: such cohorts are not fitted.",
    )


def test_too_few_temperatures_give_no_curve() -> None:
    result = found(noisy()[:5], temperatures=CELSIUS[:5])
    assert result.best_curve is None
    assert result.no_curve is NoRate.FEW_FOR_CURVE
    assert result.fastest is None
    assert lead(result) == (
        f"Of these cohorts that at 26.0 °C (t26) grew fastest: by {noisy()[4]:.3f} a day (r)."
    )
    assert words(result)[0] == "No curve: at least six different mean temperatures are needed."
    fewer = found([0.1, 0.2, -0.1], temperatures=CELSIUS[:3])
    assert fewer.curves == ()
    shrinking = found([-0.1, -0.2], temperatures=CELSIUS[:2])
    assert shrinking.no_curve is NoRate.FEW_FOR_CURVE
    assert lead(shrinking) == "At none of these temperatures does the population grow."


def test_cohorts_are_left_out_by_name_or_for_want_of_temperatures() -> None:
    rates: list[float | None] = [*noisy(), 0.1]
    result = found(rates, temperatures=(*CELSIUS, None), leave_out=("t17", "t14"))
    assert result.left_out == ("t14", "t17")
    assert result.without_temperatures == ("none",)
    assert [each.used for each in result.points] == [False] * 2 + [True] * 5
    assert [each.temperature for each in result.points] == pytest.approx(CELSIUS)
    assert words(result)[-2:] == ("Left out: t14, t17.", "Without temperatures: none.")


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda: found([0.1], temperatures=(20.0,)), "growth by temperature needs"),
        (lambda: found([0.1, 0.1], temperatures=(20.0, 20.0)), "given twice"),
        (lambda: found(noisy(), leave_out=("t99",)), "no cohort t99"),
        (lambda: found([None] * 7), "in none of these cohorts were eggs"),
    ],
)
def test_what_is_refused(ask: Callable[[], GrowthByHeat], message: str) -> None:
    with pytest.raises(UsageError, match=message):
        ask()


def test_the_words_give_optimum_and_ends_with_their_limits() -> None:
    result = found(noisy())
    best = result.best_curve
    assert best is not None
    assert best.optimum_limits is not None
    low, high = best.optimum_limits.low, best.optimum_limits.high
    assert lead(result) == (
        f"A population grows fastest at {best.optimum:.1f} °C (95 % interval {low:.1f} to "
        f"{high:.1f}): by {result.fastest:.3f} a day (r)."
    )
    (laws, ends) = words(result)
    assert laws.startswith(f"Of {len(result.curves)} laws Brière's first curve has the least AICc")
    assert ends.startswith(f"By it growth begins at {best.threshold:.1f} °C (95 % interval ")
    assert f" and ends at {best.upper:.1f} °C (95 % interval " in ends


def test_no_highest_point_is_told_that_no_cohort_has_passed() -> None:
    truth = briere(np.array(CELSIUS), SCALE, LOWER, 41.0)
    result = found(list(truth.tolist()))
    assert result.fastest is None
    assert "No cohort lies past the highest point of the curve, so none is given." in words(result)


def test_a_cohort_with_eggs_is_a_point_and_one_whose_eggs_nobody_counted_says_so() -> None:
    both = cohorts((20.0, 25.0))
    silent = ComparedCohort("silent", "Moth test", event_history(tiny_log({"1": "pupa adult"})),
                            both[1].curve)  # fmt: skip
    result = growth_by_heat([both[0], silent], lambda place: None if place else table())
    point, other = result.points
    assert (point.n, point.r, point.se) == (
        3,
        table().of(Measure.RATE).estimate,
        table().of(Measure.RATE).se,
    )
    assert (other.r, other.adults, other.used) == (None, 1, False)
    assert "No eggs that count were told in silent (25.0 °C)." in words(result)


def test_the_tables_show_points_and_laws() -> None:
    result = found([*noisy(), -0.02], temperatures=(*CELSIUS, 34.0))
    points, laws = growth_by_heat_tables(result)
    first = result.points[0]
    assert first.low is not None
    assert list(points.rows[0]) == [
        "t14",
        points.rows[0][1],
        40,
        f"{first.r:.4f}",
        f"{first.low:.4f} to {first.high:.4f}",
        "0.0020",
        "",
    ]
    assert str(points.rows[0][1]) == "14.0"
    assert points.rows[-1][-1] == "not fitted"
    assert laws.full
    assert laws.rows[0][:3] == ["r", "briere-1", "0.0"]


def test_a_population_that_neither_grows_nor_shrinks_is_shown_and_not_fitted() -> None:
    """A law is 0 at its thresholds alone."""
    result = found([0.0, 0.05, 0.1], temperatures=(14.0, 20.0, 26.0))
    assert [(point.r, point.used) for point in result.points] == [
        (0.0, False), (0.05, True), (0.1, True)
    ]  # fmt: skip
