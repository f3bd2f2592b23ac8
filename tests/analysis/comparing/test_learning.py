"""Values learned of cohorts whose true stage times are known, made by code of this file alone."""

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.comparing.learning import (
    FEWEST,
    HeadsMeasured,
    Learned,
    _OfCohort,
    _value,
    credible_threshold,
    learn,
)
from rearlog.analysis.comparing.thermal import Objection, Thermal
from rearlog.notebook import Notebook, thermal
from rearlog.notebook import learn as learn_of
from rearlog.records.errors import UsageError
from rearlog.records.log import (
    Cohort,
    CohortLog,
    ConstantTemperature,
    Individual,
    Observation,
)
from rearlog.species.of_stages import profile_of_stages
from tests.builders import START

STAGES = ("egg", "L1", "L2", "pupa", "adult")
PROFILE = profile_of_stages("egg,L1-L2,pupa,adult")
K = np.array([60.0, 50.0, 80.0, 120.0])
"""True degree-days of each stage but the last."""
LOWER, CV = 8.0, 0.12


def invented(
    seed: int,
    n: int,
    celsius: float | None,
    name: str = "moths",
    *,
    days: np.ndarray | None = None,
    cv: float = CV,
    until: float = 1000.0,
    every: float = 1.0,
) -> CohortLog:
    """n eggs laid in the day before the start; each stage takes gamma times with means of `days`,
    or K / (celsius − LOWER), and somebody looks every so many days until a day."""
    made = np.random.default_rng(seed)
    means = K / ((celsius or 20.0) - LOWER) if days is None else days
    times = made.gamma(1 / cv**2, means * cv**2, (n, len(means)))
    laid = made.uniform(-1, 0, n)
    into = laid[:, None] + times.cumsum(axis=1)
    last = min(until, float(into.max()) + every)
    looks = []
    for row in range(n):
        for day in np.arange(every, last + every / 2, every):
            stage = STAGES[int((into[row] <= day).sum())]
            looks.append(Observation(str(row), START + timedelta(days=float(day)), stage))
            if stage == "adult":
                break
    eggs = tuple(
        Individual(str(row), START, "egg", START - timedelta(days=1), START) for row in range(n)
    )
    warmth = () if celsius is None else (ConstantTemperature(celsius, date(2026, 3, 1)),)
    return CohortLog(Cohort(name, PROFILE, "UTC", START, START), eggs, tuple(looks), warmth)


def notebook(log: CohortLog) -> Notebook:
    made = Notebook(Path(f"{log.cohort.name}.json"))
    made._log = log
    return made


def learned(*logs: CohortLog) -> Learned:
    return learn_of([notebook(log) for log in logs])


def test_days_lie_within_their_errors_of_the_truth() -> None:
    days = np.array([5.0, 4.0, 7.0, 11.0])
    found = learned(invented(3, 60, 21.5, days=days))
    assert [each.stage for each in found.stages] == list(STAGES[:-1])
    for stage, mean in zip(found.stages, days, strict=True):
        value = stage.days
        assert value is not None
        assert (value.n, value.cohorts) == (60, ("moths",))
        assert value.celsius == pytest.approx((21.5, 21.5))
        assert abs(value.mean - mean) < 3 * value.se
        assert 0.3 * mean * CV / 60**0.5 < value.se < 4 * mean * CV / 60**0.5
        assert value.sd == pytest.approx(CV * mean, rel=0.35)
        assert stage.degree_days is None
    assert (found.threshold, found.lower) == (None, None)


def test_three_temperatures_tell_threshold_and_heat() -> None:
    logs = [invented(7 + step, 40, c, f"t{c:g}") for step, c in enumerate((16.0, 21.0, 27.0))]
    found = learned(*logs)
    threshold = found.threshold
    assert threshold is not None
    assert threshold.se is not None
    assert abs(threshold.celsius - LOWER) < 3 * threshold.se + 0.05
    assert (threshold.stage, threshold.at) == ("egg to adult", (16.0, 21.0, 27.0))
    assert found.lower == threshold.celsius
    slip = abs(found.lower - LOWER)  # degrees that each day counts more or less
    for stage, heat in zip(found.stages, K, strict=True):
        value = stage.degree_days
        assert value is not None
        assert value.n == 120
        assert value.celsius == pytest.approx((16, 27))
        assert abs(value.mean - heat) < 3 * value.se + slip * heat / (16 - LOWER)
        assert value.sd == pytest.approx(CV * heat, rel=0.5)
        assert stage.days is not None
        assert stage.days.n == 40
        assert len(stage.at_other_temperatures) == 2


def test_errors_are_as_large_as_they_say() -> None:
    """Of 150 cohorts nine in ten or more have the true mean within 1.96 standard errors."""
    days = np.array([5.0, 4.0, 7.0, 11.0])
    inside = []
    for seed in range(150):
        found = learned(invented(seed, 10, None, days=days, until=40))
        for stage, mean in zip(found.stages, days, strict=True):
            if stage.days is not None:
                inside.append(abs(stage.days.mean - mean) < 1.96 * stage.days.se)
    assert len(inside) > 500
    assert np.mean(inside) > 0.9


def test_the_spread_is_that_of_the_animals_without_that_of_the_checks() -> None:
    """Looks every third day spread dates by 1.2 days; animals differ by 1."""
    days = np.array([12.0, 12.0, 12.0, 12.0])
    spreads = []
    for seed in range(20):
        log = invented(seed, 80, None, days=days, cv=1 / 12, every=3.0)
        spreads += [each.days.sd for each in learned(log).stages[1:] if each.days and each.days.sd]
    assert len(spreads) > 50
    assert np.median(spreads) == pytest.approx(1.0, abs=0.12)


def test_animals_that_are_all_alike_have_no_spread_that_checks_could_show() -> None:
    found = learned(invented(1, 40, 20.0, cv=0.001))
    assert [each.days.sd if each.days else 0 for each in found.stages] == [None] * 4


@pytest.mark.parametrize(("n", "known"), [(FEWEST - 1, False), (FEWEST, True)])
def test_too_few_tell_nothing(n: int, known: bool) -> None:
    found = learned(invented(2, n, 20.0))
    assert [each.days is not None for each in found.stages] == [known] * 4
    assert [each.completed for each in found.stages] == [n] * 4
    assert bool(found.values) == known


def part(name: str, dating: float, *values: float, celsius: float | None = None) -> _OfCohort:
    """Of passages that were seen, whatever is said of their dating."""
    return _OfCohort(name, np.array(values), dating, (), celsius)


def test_values_of_two_cohorts_by_hand() -> None:
    """3, 5 and 7, and 8, 8, 11, 13: means of 5 and 10, squares of 8 and 18 on 2 + 3 degrees of
    freedom, 5.2; dating adds 3/7 of 0.5 and 4/7 of 1.2; the means have 4/3 and 6/4 of variance."""
    one = part("a", 0.5, 3.0, 5.0, 7.0, celsius=20.0)
    two = part("b", 1.2, 8.0, 8.0, 11.0, 13.0, celsius=20.5)
    lone = part("c", 9.0, 50.0, celsius=30.0)
    found = _value([one, two, lone])
    assert found is not None
    assert (found.n, found.cohorts, found.celsius) == (7, ("a", "b"), (20.0, 20.5))
    assert found.mean == pytest.approx((15 + 40) / 7)
    assert found.se == pytest.approx((9 * 4 / 3 + 16 * 6 / 4) ** 0.5 / 7)
    assert found.sd == pytest.approx((5.2 - (3 * 0.5 + 4 * 1.2) / 7) ** 0.5)
    unknown = _value([one, replace(two, celsius=None)])
    assert unknown is not None
    assert unknown.celsius is None


def test_values_that_are_all_the_same_show_no_spread() -> None:
    found = _value([part("a", 0.0, *[4.0] * 5)])
    assert found is not None
    assert (found.mean, found.se, found.sd) == (4.0, 0.0, None)


@pytest.mark.parametrize(("own", "shown"), [(0.69, None), (0.72, 0.72**0.5)])
def test_a_spread_is_shown_where_it_is_beyond_the_error_of_a_variance(
    own: float, shown: float | None
) -> None:
    """Of a variance of 1 on four degrees of freedom the error is √(2/4), 0.707."""
    found = _value([part("a", 1 - own, *(np.array([-2, -1, 0, 1, 2]) * 0.4**0.5))])
    assert found is not None
    assert found.sd == (None if shown is None else pytest.approx(shown))


@pytest.mark.parametrize(("gap", "cohorts"), [(1.0, ("a", "b")), (1.01, ("b",))])
def test_a_degree_apart_is_about_one_temperature(gap: float, cohorts: tuple[str, ...]) -> None:
    found = learned(invented(1, 8, 20.0, "a"), invented(2, 9, 20.0 + gap, "b"))
    assert [each.days and each.days.cohorts for each in found.stages] == [cohorts] * 4


def test_a_stage_in_which_some_still_are_is_not_learned() -> None:
    whole, young = invented(4, 20, 20.0, "whole"), invented(5, 30, 20.0, "young", until=9.0)
    found = learned(whole, young)
    assert [each.unfinished for each in found.stages] == [
        (), ("young",), ("young",), ()
    ]  # fmt: skip
    assert [each.days and each.days.n for each in found.stages] == [50, 20, 20, 20]


def test_days_are_those_of_the_temperature_that_most_had() -> None:
    logs = [
        invented(1, 8, 20.0, "a"), invented(2, 9, 20.6, "b"), invented(3, 12, 25.0, "c"),
        invented(4, 30, None, "d"),
    ]  # fmt: skip
    for stage in learned(*logs).stages:
        assert stage.days is not None
        assert stage.days.cohorts == ("a", "b")
        assert stage.days.celsius == pytest.approx((20.0, 20.6))
        assert stage.at_other_temperatures == ("c", "d")


def test_without_temperatures_days_are_learned_all_the_same() -> None:
    found = learned(invented(1, 4, 20.0, "a"), invented(4, 30, None, "d"))
    assert [each.days and (each.days.n, each.days.celsius) for each in found.stages] == [
        (30, None)
    ] * 4


def test_head_widths_are_pooled_over_cohorts() -> None:
    """Beside the same numbers put together."""
    made = np.random.default_rng(9)
    one, two = made.normal(0.5, 0.03, 7), made.normal(0.55, 0.04, 5)
    heads = [[HeadsMeasured("L1", len(each), each.mean(), each.std(ddof=1))] for each in (one, two)]
    compared = [notebook(invented(k, 6, 20.0, f"c{k}")).compared(None) for k in (1, 2)]
    [_, stage, *others] = learn(compared, [None, None], heads, None, None).stages
    value = stage.head_width_mm
    assert value is not None
    assert value.mean == pytest.approx(np.concatenate((one, two)).mean())
    pooled = (6 * one.var(ddof=1) + 4 * two.var(ddof=1)) / 10
    assert value.sd == pytest.approx(pooled**0.5)
    assert value.se == pytest.approx((pooled / 12) ** 0.5)
    assert (value.n, value.cohorts, value.celsius) == (12, ("c1", "c2"), None)
    assert [each.head_width_mm for each in others] == [None, None]
    few = learn(compared, [None, None], [[HeadsMeasured("L1", 4, 0.5, 0.1)], []], None, None)
    assert few.stages[1].head_width_mm is None
    assert few.stages[1].measured == 4


def first_seen(log: CohortLog, stage: str) -> dict[str, int]:
    """The day of the first look that showed each individual in a stage or beyond it."""
    days: dict[str, int] = {}
    for each in log.all_observations:
        if each.stage and STAGES.index(each.stage) >= STAGES.index(stage):
            days.setdefault(each.individual, (each.at - START).days)
    return days


def test_two_cohorts_at_one_temperature_are_put_together() -> None:
    """Beside the days counted from look to look."""
    logs = [invented(1, 6, 20.0, "a", cv=0.05), invented(2, 14, 20.4, "b", cv=0.3)]
    found = learned(*logs)
    assert (found.species, found.cohorts) == ("Insecta", ("a", "b"))
    stage = found.stages[2]
    assert stage.days is not None
    days = []
    for log in logs:
        into, out = first_seen(log, "L2"), first_seen(log, "pupa")
        days.append(np.array([out[code] - into[code] for code in into]))
    assert stage.days.mean == pytest.approx(np.concatenate(days).mean())
    pooled = (5 * days[0].var(ddof=1) + 13 * days[1].var(ddof=1)) / 18
    assert stage.days.sd == pytest.approx((pooled - 2 / 12) ** 0.5)
    assert stage.days.cohorts == ("a", "b")


def test_a_cohort_of_which_nobody_came_so_far_tells_nothing_and_hinders_nobody() -> None:
    alive = invented(1, 8, 20.0, "a")
    eggs = tuple(Individual(str(code), START, "egg") for code in range(3))
    dead = tuple(
        Observation(each.code, START + timedelta(days=1), fate="dead", cause="dry") for each in eggs
    )
    gone = CohortLog(Cohort("gone", PROFILE, "UTC", START, START), eggs, dead)
    for stage in learned(alive, gone).stages:
        assert stage.days is not None
        assert (stage.days.n, stage.days.cohorts) == (8, ("a",))
        assert (stage.unfinished, stage.at_other_temperatures) == ((), ())


@pytest.mark.parametrize(
    ("known", "unknown", "cohorts"),
    [(5, 30, ("a",)), (4, 30, ("d",)), (4, 5, ("d",)), (4, 4, None), (30, 4, ("a",))],
)
def test_known_temperatures_come_first_where_they_are_enough(
    known: int, unknown: int, cohorts: tuple[str, ...] | None
) -> None:
    found = learned(invented(1, known, 20.0, "a"), invented(4, unknown, None, "d"))
    for stage in found.stages:
        assert (stage.days and stage.days.cohorts) == cohorts


def test_temperatures_are_grouped_in_whatever_order_the_cohorts_stand() -> None:
    logs = [invented(1, 8, 22.3, "a"), invented(2, 8, 20.0, "b"), invented(3, 8, 21.5, "c"),
            invented(4, 9, 20.9, "d")]  # fmt: skip
    for stage in learned(*logs).stages:
        assert stage.days is not None
        assert stage.days.cohorts == ("b", "d")
        assert stage.at_other_temperatures == ("a", "c")


def test_the_fewest_head_widths_that_tell_a_value() -> None:
    compared = [notebook(invented(k, 6, 20.0, f"c{k}")).compared(None) for k in (1, 2)]
    heads = [[HeadsMeasured("L1", 4, 0.5, 0.1)], [HeadsMeasured("L1", 1, 0.6, None)]]
    value = learn(compared, [None, None], heads, None, None).stages[1].head_width_mm
    assert value is not None
    assert (value.n, value.sd) == (5, pytest.approx(0.1))
    assert value.mean == pytest.approx(0.52)
    alike = learn(compared, [None, None], [[HeadsMeasured("L1", 5, 0.5, 0.0)], []], None, None)
    width = alike.stages[1].head_width_mm
    assert width is not None
    assert (width.mean, width.se, width.sd) == (0.5, 0.0, None)
    ones = [[HeadsMeasured("L1", 5, 0.5, None)], []]
    assert learn(compared, [None, None], ones, None, None).stages[1].head_width_mm is None


def thermal_of(*objections: Objection) -> Thermal:
    """Real rates of three temperatures, with what speaks against them put in."""
    logs = [invented(7 + step, 30, c, f"t{c:g}") for step, c in enumerate((16.04, 21.0, 27.0))]
    found = thermal([notebook(log) for log in logs])
    whole = replace(found.stages[-1], objections=objections)
    return replace(found, stages=(*found.stages[:-1], whole))


def test_what_speaks_against_a_line_speaks_against_its_threshold() -> None:
    found = credible_threshold(thermal_of())
    assert found is not None
    assert found.at == (16.0, 21.0, 27.0)
    assert found.celsius == round(found.celsius, 1)
    assert credible_threshold(thermal_of(Objection.NOT_STRAIGHT)) == found
    for objection in {*Objection} - {Objection.NOT_STRAIGHT}:
        assert credible_threshold(thermal_of(objection)) is None
    assert credible_threshold(None) is None


def test_a_threshold_that_is_not_credible_is_not_learned() -> None:
    """Two cohorts of which the warmer is the slower."""
    cold, warm = invented(1, 20, 20.0, "cold"), invented(2, 20, 26.0, "warm", days=K / 8)
    assert learned(cold, warm).threshold is None


def test_cohorts_that_cannot_be_put_together() -> None:
    log = invented(1, 6, 20.0)
    with pytest.raises(UsageError, match="given twice"):
        learned(log, log)
    other = invented(1, 6, 20.0, "other")
    moved = CohortLog(
        Cohort("other", profile_of_stages("egg,L1,pupa,adult"), "UTC", START, START),
        other.individuals,
    )
    with pytest.raises(UsageError, match="not of the same species and stages"):
        learned(log, moved)
