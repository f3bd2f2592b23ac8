"""What the answers are worth: cohorts with known durations, looked at now and then.

The truth is not simulated: at a constant temperature the mean duration is the profile's mean heat
over the degrees above the threshold. Each cohort is looked at from another hour on, because what
the rhythm of the checks does to one cohort it does differently to the next.
"""

from datetime import timedelta
from functools import partial

import numpy as np
import pytest

from rearlog.analysis.comparing import compare_pairs as comparing
from rearlog.analysis.comparing.cohorts import ComparedCohort
from rearlog.analysis.comparing.compare import compare
from rearlog.analysis.comparing.stage_comparison import DAYS, DEGREE_DAYS, WHOLE
from rearlog.analysis.simulation.lives import Chances, Mortality, live
from rearlog.analysis.stages.heat_needs import needs
from rearlog.analysis.stages.stage_times import completed, npmle, stage_times
from rearlog.analysis.statistics.checked_mean import checked_mean
from rearlog.analysis.statistics.differences import resampled_medians
from rearlog.records.log import ConstantTemperature
from tests.analysis.invented_moth import LAID, LOWER, MEAN_DD, SD_DD, curve_of, eggs, moth
from tests.analysis.observed_lives import observe

N = 200
SPANS = {stage: (stage, None) for stage in MEAN_DD} | {
    "L1 to pupa": ("L1", "pupa"),
    "egg to adult": ("egg", "adult"),
}
CODES = (*MEAN_DD, "adult")


def kept_at(celsius):
    """The heat of 200 days at one temperature."""
    return curve_of(eggs(1, ConstantTemperature(celsius, LAID, LAID + timedelta(200))))


def looked_at(rng, needed, curve, n, every, chances):
    """n individuals, laid within a day, as checks from any hour on show them."""
    laid = rng.uniform(-1, 0, n)
    lives = live(needed, curve, laid, chances, rng)
    checks = every * (rng.uniform() + np.arange(150 / every))
    return observe(lives, checks, (laid, laid))


# --- the mean and its interval -------------------------------------------------------------------


def watched_cohorts(cohorts, every, celsius, seed, n=N):
    """Mean less truth, in days, of each span in each cohort, and whether the 95 % interval held the
    truth: both (cohorts, spans)."""
    rng = np.random.default_rng(seed)
    needed, curve = needs(moth()), kept_at(celsius)
    heat = np.array(list(MEAN_DD.values()))
    off, held = np.empty((2, cohorts, len(SPANS)))
    for cohort in range(cohorts):
        seen = looked_at(rng, needed, curve, n, every, Chances())
        for place, (first, until) in enumerate(SPANS.values()):
            begin = CODES.index(first)
            end = CODES.index(until) if until else begin + 1
            truth = heat[begin:end].sum() / (celsius - LOWER)
            values, passages, _ = completed(stage_times(seen, first, until))
            mean = checked_mean(values, passages)
            off[cohort, place] = mean.mean - truth
            held[cohort, place] = mean.interval[0] <= truth <= mean.interval[1]
    return off, held


@pytest.mark.slow
@pytest.mark.parametrize("every", [1, 3])
@pytest.mark.parametrize("celsius", [15.0, 20.0, 26.0])
def test_the_midpoint_mean_is_within_a_tenth_of_a_day(every, celsius):
    """Over 200 cohorts of 200, in every stage."""
    off, _ = watched_cohorts(200, every, celsius, seed=11)

    assert np.abs(off.mean(axis=0)).max() < 0.1


@pytest.mark.slow
@pytest.mark.parametrize("celsius", [15.0, 20.0, 26.0])
def test_an_interval_from_daily_checks_covers_the_truth_as_often_as_it_says(celsius):
    """In 93 to 97 % of 1,000 cohorts of 200, in every stage."""
    _, held = watched_cohorts(1_000, 1, celsius, seed=12)

    assert dict(zip(SPANS, held.mean(axis=0), strict=True)) == pytest.approx(
        dict.fromkeys(SPANS, 0.95), abs=0.02
    )


@pytest.mark.slow
@pytest.mark.parametrize("n", [6, 24, 200])
@pytest.mark.parametrize(
    ("every", "celsius"), [(1, 26.0), (2, 20.0), (3, 15.0), (3, 26.0), (7, 20.0)]
)
def test_an_interval_covers_the_truth_at_least_as_often_however_rare_the_checks(n, every, celsius):
    """A plain mean ± 1.96 SE does so in 11 % (every third day at 26 °C, 200 individuals)."""
    _, held = watched_cohorts(500, every, celsius, seed=13, n=n)

    assert held.mean(axis=0).min() > 0.925


def test_checks_every_third_day_of_a_cohort_in_step():
    """The short form: the stages that a plain interval misses most often."""
    _, held = watched_cohorts(60, 3, 26.0, seed=14, n=60)

    assert held.mean(axis=0).min() > 0.9


@pytest.mark.slow
@pytest.mark.parametrize("every", [1, 3])
def test_the_npmle_finds_the_median_although_many_die(every):
    """Deaths in the stage censor the long durations: the interval that holds the median, widened
    by the sampling error of 400, holds the true one. Reference: the log-normal median of the model,
    mean / √(1 + CV²)."""
    rng = np.random.default_rng(15)
    chances = Chances({"pupa": Mortality(0.3)})
    mean, sd = 130 / 12, 13 / 12
    truth = mean / (1 + (sd / mean) ** 2) ** 0.5
    sampling = 1.96 * 1.2533 * sd / 250**0.5
    inside = 0
    for _ in range(60):
        seen = looked_at(rng, needs(moth()), kept_at(20.0), 400, every, chances)
        estimate = npmle(stage_times(seen, "pupa"))
        assert estimate is not None
        middle = estimate.quantile(0.5)
        assert middle is not None
        low, high = middle
        inside += low - sampling <= truth <= high + sampling
    assert inside >= 55


@pytest.mark.slow
@pytest.mark.parametrize("every", [1, 3])
@pytest.mark.parametrize("stage", ["L1", "L2", "pupa"])
def test_the_interval_of_a_difference_covers_the_truth(monkeypatch, stage, every):
    """Of medians and of means, between 18 and 24 °C. Reference: the medians and means of the model,
    which are a stage's log-normal heat over the degrees above the threshold."""
    monkeypatch.setattr(comparing, "resampled_medians", partial(resampled_medians, resamples=400))
    rng, needed = np.random.default_rng(16), needs(moth())
    curves = [kept_at(18.0), kept_at(24.0)]
    gap = MEAN_DD[stage] * (1 / (18 - LOWER) - 1 / (24 - LOWER))
    middle = gap / (1 + (SD_DD[stage] / MEAN_DD[stage]) ** 2) ** 0.5
    held = []
    until = CODES[CODES.index(stage) + 1]
    for _ in range(250):
        cohorts = [
            ComparedCohort(str(k), "", looked_at(rng, needed, curve, 30, every, Chances()), None)
            for k, curve in enumerate(curves)
        ]
        (pair,) = compare(cohorts, stage, until).stages[0].pairs
        held.append(
            [each.low <= truth <= each.high
             for each, truth in ((pair.medians, middle), (pair.means, gap))]
        )  # fmt: skip
    assert np.mean(held, axis=0).min() > 0.91


# --- false alarms of `compare` -------------------------------------------------------------------


def false_alarms(monkeypatch, pairs, celsius, n=24, every=1, cohorts=2, seed=5):
    """How often p (of the whole) and the smallest corrected p (of the stages) are below 5 %, by
    unit, when cohorts at these temperatures do not differ in the heat that they need."""
    # the bootstrap decides nothing here
    monkeypatch.setattr(comparing, "resampled_medians", partial(resampled_medians, resamples=2))
    rng = np.random.default_rng(seed)
    needed = needs(moth())
    curves = [kept_at(each) for each in np.broadcast_to(celsius, cohorts)]
    found: dict[str, list[tuple[bool, bool]]] = {DAYS: [], DEGREE_DAYS: []}
    for _ in range(pairs):
        result = compare(
            [
                ComparedCohort(
                    str(k), "moth", looked_at(rng, needed, curve, n, every, Chances()), curve
                )
                for k, curve in enumerate(curves)
            ]
        )
        for unit, counts in found.items():
            p = {row.stage: row.p_holm for row in result.stages if row.unit == unit}
            whole = p.pop(WHOLE)
            counts.append((whole < 0.05, min(filter(None, p.values()), default=1.0) < 0.05))
    return {unit: np.mean(counts, axis=0) for unit, counts in found.items()}


@pytest.mark.slow
def test_compare_shows_a_difference_that_is_not_there_in_five_of_a_hundred(monkeypatch):
    """1,050 pairs, daily checks, a third at each temperature: the whole 5 ± 1.5 %, any stage after
    Holm's correction 6.5 %; the third by itself with the error of as many."""
    found = [
        false_alarms(monkeypatch, 350, celsius, seed=seed)
        for seed, celsius in enumerate((15.0, 20.0, 26.0), start=5)
    ]

    for unit in (DAYS, DEGREE_DAYS):
        rates = np.array([each[unit] for each in found])  # (temperatures, whole and any stage)
        whole, any_stage = rates.mean(axis=0)
        assert whole == pytest.approx(0.05, abs=0.015)
        assert any_stage <= 0.065
        assert rates[:, 0] == pytest.approx(0.05, abs=0.03)
        assert rates[:, 1].max() <= 0.085


@pytest.mark.slow
def test_compare_does_so_in_degree_days_at_temperatures_that_differ(monkeypatch):
    whole, any_stage = false_alarms(monkeypatch, 1_000, (18.0, 27.0))[DEGREE_DAYS]

    assert whole == pytest.approx(0.05, abs=0.015)
    assert any_stage <= 0.065


@pytest.mark.slow
@pytest.mark.parametrize("cohorts", [2, 3])
@pytest.mark.parametrize(("n", "every"), [(8, 1), (24, 3), (100, 1), (100, 3)])
def test_compare_raises_no_more_alarms_with_rare_checks_or_other_sizes(
    monkeypatch, n, every, cohorts
):
    found = false_alarms(monkeypatch, 250, 22.0, n=n, every=every, cohorts=cohorts)

    for whole, any_stage in found.values():
        assert whole < 0.085  # 0.05 and 2.5 times the error of 250 pairs
        assert any_stage < 0.085


def test_compare_is_not_misled_by_shared_rounding(monkeypatch):
    """The short form: Mann–Whitney would call a third of such pairs different in some stage."""
    found = false_alarms(monkeypatch, 60, 22.0, n=60, every=2)

    for whole, any_stage in found.values():
        assert whole < 0.15
        assert any_stage < 0.15
