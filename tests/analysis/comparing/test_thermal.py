from datetime import timedelta

import numpy as np
import pytest
import statsmodels.api as sm
from msgspec.structs import replace

from rearlog.analysis.comparing.cohorts import ComparedCohort
from rearlog.analysis.comparing.rate_models import NoRate
from rearlog.analysis.comparing.thermal import (
    Objection,
    StageThermal,
    _objections,
    rate_error,
    thermal,
)
from rearlog.analysis.heat.daily_temperatures import lay_out
from rearlog.analysis.heat.heat_curve import heat_curve
from rearlog.analysis.stages.events import event_history
from rearlog.present.between import thermal_tables
from rearlog.records.errors import UsageError
from rearlog.records.log import ConstantTemperature, Readings
from rearlog.sentences.thermal import OBJECTIONS, WHY_NOT, notices, title, words
from tests.analysis.invented_comparisons import HOW, kept_at
from tests.builders import START, tiny_log


def stage(cohorts: list[ComparedCohort], **kwargs: object) -> StageThermal:
    result = thermal(cohorts, **kwargs)  # type: ignore[arg-type]
    return next(each for each in result.stages if each.stage == "L1")


def test_cohorts_that_share_a_threshold_and_constant_give_them_back() -> None:
    """K = 60 above 10 °C: 12, 6 and 4 days at 15, 20 and 25 °C."""
    found = stage([kept_at(15, 12), kept_at(20, 6), kept_at(25, 4)])
    assert found.linear is not None
    assert found.ikemoto_takai is not None
    assert found.linear.threshold == pytest.approx(10)
    assert found.linear.constant == pytest.approx(60)
    assert found.ikemoto_takai.threshold == pytest.approx(10)
    assert [point.temperature for point in found.points] == pytest.approx([15, 20, 25])
    assert found.curves == ()
    assert found.no_curve is NoRate.FEW_FOR_CURVE


def test_a_cohort_left_out_is_shown_but_not_fitted() -> None:
    cohorts = [kept_at(15, 12), kept_at(20, 6), kept_at(25, 4), kept_at(35, 9, "hot")]
    bent, straight = stage(cohorts), stage(cohorts, leave_out=["hot"])
    assert bent.linear is not None
    assert straight.linear is not None
    assert bent.linear.threshold != pytest.approx(10, abs=1)
    assert straight.linear.threshold == pytest.approx(10)
    assert [point.used for point in straight.points] == [True, True, True, False]


def test_two_temperatures_give_values_without_an_error_and_say_so() -> None:
    found = stage([kept_at(15, 12), kept_at(20, 6)])
    assert found.linear is not None
    assert found.linear.threshold_se is None
    assert "two temperatures only" in words(found)[0]


def test_one_temperature_twice_gives_a_reason() -> None:
    found = stage([kept_at(20, 6, "a"), kept_at(20, 7, "b")])
    assert found.linear is None
    assert found.no_linear is NoRate.ONE_TEMPERATURE
    assert words(found)[0] == "No line: the cohorts had the same temperature, within 0.5 °C."


@pytest.mark.parametrize(("other", "alike"), [(20.4, True), (20.5, False), (20.6, False)])
def test_half_a_degree_is_no_other_temperature(other: float, alike: bool) -> None:
    found = stage([kept_at(20, 6, "a"), kept_at(other, 5, "b")])
    assert (found.no_linear is NoRate.ONE_TEMPERATURE) == alike


def test_every_stage_has_its_rates_and_so_has_the_whole() -> None:
    """Laid half a day before the start on average, adult on day 9 (or 5): 9.5 and 5.5 days."""
    cohorts = []
    for celsius, each in ((15.0, 2), (20.0, 1)):
        line = "egg " + "".join(f"{code}! " + f"{code} " * (each - 1) for code in ("L1", "L2"))
        line += "pupa! " + "pupa " * (each * 2 - 1) + "adult!"
        log = tiny_log({"1": line}, laid=(-1, 0), temperatures=(
            ConstantTemperature(celsius, START.date() - timedelta(days=1)),
        ))  # fmt: skip
        curve = heat_curve(lay_out(log), HOW)
        cohorts.append(ComparedCohort(f"t{celsius:g}", "Moth", event_history(log), curve))
    found = thermal(cohorts)
    assert [each.stage for each in found.stages] == ["egg", "L1", "L2", "pupa", "egg to adult"]
    assert [point.days for point in found.stages[-1].points] == [9.5, 5.5]


def test_a_cohort_without_temperatures_gives_a_notice() -> None:
    result = thermal([kept_at(15, 12), kept_at(None, 6, "bare"), kept_at(20, 6)])
    assert "bare" in notices(result)[0]


@pytest.mark.parametrize(
    ("cohorts", "left_out", "message"),
    [
        ([kept_at(15, 12)], (), "two temperatures"),
        ([kept_at(15, 12), kept_at(15, 12)], (), "given twice"),
        ([kept_at(15, 12), kept_at(20, 6)], ("x",), "no cohort x"),
    ],
)
def test_calls_that_cannot_be_answered(
    cohorts: list[ComparedCohort], left_out: tuple[str, ...], message: str
) -> None:
    with pytest.raises(UsageError, match=message):
        thermal(cohorts, left_out)


def test_three_cohorts_are_said_to_know_little() -> None:
    """One degree of freedom: 12.7 standard errors to either side (Student's t, any table)."""
    found = stage([kept_at(15, 12), kept_at(20, 7), kept_at(25, 4)])
    line = found.linear
    assert line is not None
    assert line.threshold_low is not None
    assert line.threshold_se is not None
    assert line.threshold - line.threshold_low == pytest.approx(
        12.706 * line.threshold_se, rel=1e-4
    )
    assert (
        f"(95 % interval {line.threshold_low:.1f} to {line.threshold_high:.1f})" in words(found)[0]
    )


def test_the_error_of_a_point_counts_the_checks() -> None:
    """Three that were looked for daily and passed together: each end may be ± half a day."""
    lives = {str(n): "egg L1 L1 L1 L1 L2" for n in range(3)}
    log = tiny_log(lives, temperatures=(ConstantTemperature(20.0, START.date()),))
    warmed = ComparedCohort("a", "Moth test", event_history(log), heat_curve(lay_out(log), HOW))
    (point, _) = stage([warmed, kept_at(15, 12)]).points
    assert point.days_se == pytest.approx((2 / 12 + 2 / 12 / 3) ** 0.5, rel=0.02)


def test_who_passed_through_between_two_checks_counts_too() -> None:
    """Into L1 and L2 by the same check: 0 days by midpoints, but not left out of the mean."""
    lives = {"1": "egg egg L2", "2": "egg L1 L1 L2", "3": "egg L1 L1 L2"}
    log = tiny_log(lives, temperatures=(ConstantTemperature(20.0, START.date()),))
    warmed = ComparedCohort("a", "Moth test", event_history(log), heat_curve(lay_out(log), HOW))
    (point, _) = stage([warmed, kept_at(15, 12)]).points
    assert (point.n, point.days) == (3, pytest.approx(4 / 3))
    assert point.temperature == pytest.approx(20)


def test_the_temperature_of_a_point_is_that_of_the_time_in_the_stage() -> None:
    """From nine to nine at 14, 18, 22 °C… Seen in L1 from day 1 to 3 and from 2 to 3; one passed
    through some time between the checks of day 1 and day 2."""
    lives = {"1": "egg L1! L1 L2!", "2": "egg egg L1! L2!", "3": "egg egg L2"}
    nine = START.replace(hour=0)
    hours = tuple(range(0, 5 * 86_400, 3600))
    celsius = tuple(14.0 + 4 * ((hour // 3600 - 9) // 24) for hour in hours)
    log = tiny_log(lives, temperatures=(Readings(nine, hours, celsius),))
    by_readings = heat_curve(lay_out(log), replace(HOW, method="readings"))
    warmed = ComparedCohort("a", "Moth test", event_history(log), by_readings)
    (point, _) = stage([warmed, kept_at(15, 12)]).points
    # day 1 to 2 has 18 °C, day 2 to 3 has 22 °C; within an hour each step is a straight line
    each = np.array([20.0, 22.0, 18.0])
    assert point.temperature == pytest.approx(each.mean(), abs=0.1)
    assert point.temperature_sd == pytest.approx(each.std(ddof=1), abs=0.1)
    assert point.days == pytest.approx((2 + 1 + 0) / 3)
    alone = kept_at(20, 6)
    assert [found.temperature_sd for found in stage([alone, kept_at(15, 12)]).points] == [0, 0]


def test_a_cohort_in_which_nobody_finished_the_stage_has_no_point() -> None:
    log = tiny_log({"1": "egg L1 L1"}, temperatures=(ConstantTemperature(20.0, START.date()),))
    young = ComparedCohort("young", "Moth test", event_history(log), heat_curve(lay_out(log), HOW))
    found = thermal([young, kept_at(15, 12), kept_at(20, 6)])
    (l1,) = found.stages
    assert [point.cohort for point in l1.points] == ["t15", "t20"]


def test_residuals_are_shown_of_every_point_the_line_left_out_too() -> None:
    """K = 60 above 10 °C; 9 days at 35 °C are a rate of 1/9 where the line has 25/60."""
    cohorts = [kept_at(15, 12), kept_at(20, 6), kept_at(25, 4), kept_at(35, 9, "hot")]
    points = stage(cohorts, leave_out=["hot"]).points
    assert [point.residual for point in points] == pytest.approx([0, 0, 0, 1 / 9 - 25 / 60])


def test_an_optimum_that_no_cohort_has_passed_is_not_given() -> None:
    """Days by the curve a·T·(T − 10)·√(36 − T), whose optimum is at 30.0 °C, to whole days."""
    rate = {c: 2e-5 * c * (c - 10) * (36 - c) ** 0.5 for c in (14, 17, 20, 23, 26, 29, 32, 34)}
    every = [kept_at(celsius, round(1 / each)) for celsius, each in rate.items()]
    cool, all_of_them = stage(every[:6]), stage(every)
    best = all_of_them.best_curve
    assert best is not None
    assert best.optimum == pytest.approx(30.0, abs=0.5)
    assert best.optimum_limits is not None
    assert (
        f"highest at {best.optimum:.1f} °C (95 % interval {best.optimum_limits.low:.1f} to "
        f"{best.optimum_limits.high:.1f})"
    ) in words(all_of_them)[-1]
    assert words(cool)[-1].endswith(
        "No cohort lies past the highest point of the curve, so none is given."
    )
    assert "highest at" not in " ".join(words(cool))
    found = thermal_tables(thermal(every))[3]
    rows = found.rows[: len(all_of_them.curves)]
    assert [row[1] for row in rows] == [each.law.replace("_", "-") for each in all_of_them.curves]
    assert {row[5] for row in thermal_tables(thermal(every[:6]))[3].rows} == {None}
    for point in all_of_them.points:
        assert best.rate([point.temperature])[0] == pytest.approx(1 / point.days, rel=0.1)


def test_the_threshold_is_said_to_be_extrapolated() -> None:
    found = stage([kept_at(15, 12), kept_at(20, 6), kept_at(25, 4)])
    assert words(found)[1] == (
        "Measured from 15.0 to 25.0 °C; the threshold is extrapolated to 5.0 °C below that."
    )


def test_every_reason_has_words() -> None:
    assert set(WHY_NOT) == set(NoRate)


def scattered(celsius: float, days: list[int], name: str, waiting: int = 0) -> ComparedCohort:
    """Individuals seen to pass after so many days each, and some `waiting` in L1 to the last."""
    lives = {str(n): "egg L1! " + "L1 " * (took - 1) + "L2!" for n, took in enumerate(days)}
    lives |= {f"w{n}": "egg L1! " + "L1 " * max(days) for n in range(waiting)}
    log = tiny_log(lives, temperatures=(ConstantTemperature(celsius, START.date()),))
    curve = heat_curve(lay_out(log), HOW)
    return ComparedCohort(name, "Moth test", event_history(log), curve)


def test_weights_are_those_of_a_reference_library() -> None:
    """Reference: statsmodels WLS of the rates with weights 1/SE², at a scale of 1 where the
    distances from the line are smaller than that, else at its own."""
    days = {15.0: [11, 12, 13, 12], 20.0: [6, 6, 7, 6, 7], 25.0: [4, 4, 5], 28.0: [3, 4, 3, 4, 3]}
    found = stage([scattered(celsius, took, f"t{celsius:g}") for celsius, took in days.items()])
    means = np.array([np.mean(took) for took in days.values()])
    errors = np.array([np.std(took, ddof=1) / len(took) ** 0.5 for took in days.values()])
    design = sm.add_constant(np.array(list(days)))
    model = sm.WLS(1 / means, design, weights=(means**2 / errors) ** 2)
    fit = model.fit(cov_type="fixed scale", cov_kwds={"scale": max(1.0, model.fit().scale)})
    a, b = fit.params
    by_both = np.array([-1 / b, a / b**2])
    heavy = found.weighted
    assert heavy is not None
    assert heavy.threshold == pytest.approx(-a / b)
    assert heavy.constant == pytest.approx(1 / b)
    assert heavy.threshold_se == pytest.approx((by_both @ fit.cov_params() @ by_both) ** 0.5)
    assert heavy.constant_se == pytest.approx(fit.bse[1] / b**2)
    assert heavy.n == 4


def test_a_bend_and_a_hottest_cohort_that_is_slower_are_objected_to() -> None:
    days = {15.0: [12, 12, 13], 20.0: [6, 6, 7, 6], 25.0: [4, 4, 5], 33.0: [9, 8, 9]}
    every = [scattered(celsius, took, f"t{celsius:g}") for celsius, took in days.items()]
    bent, straight = stage(every), stage(every, leave_out=["t33"])
    assert Objection.NOT_STRAIGHT in bent.objections
    assert Objection.HOTTEST_NOT_FASTER in bent.objections
    assert "compare without it" in " ".join(words(bent))
    assert straight.objections == ()
    assert "No bend is shown" in " ".join(words(straight))


def test_a_hot_cohort_as_fast_as_the_next_is_objected_to_but_not_one_of_the_same_warmth() -> None:
    level = [kept_at(15, 12), kept_at(20, 6), kept_at(25, 6)]
    assert Objection.HOTTEST_NOT_FASTER in stage(level).objections
    alike = [kept_at(15, 12), kept_at(20, 6, "a"), kept_at(20.3, 6, "b")]
    assert Objection.HOTTEST_NOT_FASTER not in stage(alike).objections
    other = [kept_at(15, 12), kept_at(20, 6, "a"), kept_at(20.5, 6, "b")]
    assert Objection.HOTTEST_NOT_FASTER in stage(other).objections


@pytest.mark.parametrize(
    ("more", "objections"),
    [
        ({"threshold_se": 3.0}, []),
        ({"threshold_se": 3.01}, [Objection.THRESHOLD_UNSURE]),
        ({"threshold": -10.0}, []),
        ({"threshold": -10.01}, [Objection.THRESHOLD_TOO_COLD]),
        ({"threshold": 15.0}, []),
        ({"threshold": 15.01}, [Objection.THRESHOLD_ABOVE_COLDEST]),
    ],
)
def test_a_line_at_the_edge_of_what_is_credible(
    more: dict[str, float], objections: list[Objection]
) -> None:
    found = stage([kept_at(15, 12), kept_at(20, 6), kept_at(25, 4)])
    line = found.linear
    assert line is not None
    line = replace(line, celsius=(15.0, 20.0, 25.0), **more)  # type: ignore[arg-type]
    assert [*_objections(found.points, line, None)] == objections


def test_two_animals_give_a_cohort_no_weight() -> None:
    days = {15.0: [11, 12, 13], 20.0: [6, 6, 7], 25.0: [4, 5]}
    few = stage([scattered(celsius, took, f"t{celsius:g}") for celsius, took in days.items()])
    assert (few.weighted, few.no_weighted) == (None, NoRate.FEW_ANIMALS)
    days[25.0] = [4, 5, 4]
    enough = stage([scattered(celsius, took, f"t{celsius:g}") for celsius, took in days.items()])
    assert enough.weighted is not None


def test_a_threshold_from_the_early_ones_of_a_cohort_meets_objections_everywhere() -> None:
    """At 16 °C only four of twenty have finished and stand for all: T0 comes out at −29 °C."""
    early = scattered(16.0, [9, 9, 8, 10], "t16", waiting=16)
    others = [scattered(19.0, [9, 8, 9, 8], "t19"), scattered(22.0, [8, 8, 9, 7], "t22")]
    found = stage([early, *others])
    assert found.linear is not None
    assert found.linear.threshold < -20
    assert {
        Objection.STILL_IN_STAGE,
        Objection.THRESHOLD_UNSURE,
        Objection.THRESHOLD_TOO_COLD,
    } <= set(found.objections)
    assert found.points[0].in_stage == 16
    said = " ".join(words(found))
    assert "only the early ones are counted: wait for the others (t16 16)." in said
    assert "a threshold below -10 °C is not possible: do not use it" in said
    result = thermal([early, *others])
    assert title(result, "L1").endswith("(not to be used)")
    rows = thermal_tables(result)[2].rows
    assert str(next(row for row in rows if row[0] == "L1")[1]).endswith(" ?")


def test_a_threshold_above_the_coldest_cohort_is_objected_to() -> None:
    found = stage([kept_at(10, 30), kept_at(20, 12), kept_at(22, 4), kept_at(25, 2)])
    assert found.linear is not None
    assert found.linear.threshold > 10
    assert Objection.THRESHOLD_ABOVE_COLDEST in found.objections


def test_good_cohorts_meet_no_objection() -> None:
    found = stage([kept_at(15, 12), kept_at(20, 6), kept_at(25, 4)])
    assert found.objections == ()
    assert found.weighted is None  # all took equally long: nothing tells how sure their means are
    assert found.no_weighted is NoRate.FEW_ANIMALS


def test_every_objection_has_words() -> None:
    assert set(OBJECTIONS) == set(Objection)


def test_the_error_of_a_rate_is_that_between_experiments() -> None:
    """20 individuals that take 8 ± 2 days, 20,000 times over: the SD of one over their mean."""
    means = np.random.default_rng(5).normal(8.0, 2.0, (20_000, 20)).mean(axis=1)
    assert rate_error(8.0, 2.0 / 20**0.5) == pytest.approx((1 / means).std(), rel=0.02)
    assert stage([kept_at(15, 12), kept_at(20, 6)]).points[0].rate_se is not None


def test_a_stage_that_is_not_there_is_refused_with_those_that_are() -> None:
    found = thermal([kept_at(15, 12), kept_at(20, 6)])
    with pytest.raises(UsageError, match="there is no rate of “L9”") as caught:
        found.shown("L9")
    assert caught.value.problems[0].remedy == "stages with rates: L1"
    with pytest.raises(UsageError, match="there is no mortality of “L9”") as caught:
        found.died_in("L9")
    assert caught.value.problems[0].remedy == "stages that ended: egg, L1"
    nothing = thermal([kept_at(None, 12, "a"), kept_at(None, 6, "b")])
    assert (nothing.shown(), nothing.died_in()) == (None, None)
    with pytest.raises(UsageError) as caught:
        nothing.shown("L1")
    assert caught.value.problems[0].remedy == "stages with rates: there are none"
