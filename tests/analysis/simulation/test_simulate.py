from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy.stats import kstest

from rearlog.analysis.simulation.lives import Chances, Mortality, live
from rearlog.analysis.simulation.simulate import Schedule, laying, simulate
from rearlog.analysis.simulation.sizes import Measuring
from rearlog.analysis.stages.durations import summarise
from rearlog.analysis.stages.events import DEAD, LOST, event_history
from rearlog.analysis.stages.heat_needs import needs
from rearlog.analysis.stages.profile_values import Extrapolation
from rearlog.analysis.stages.stage_times import StageOutcome, stage_times
from rearlog.records.errors import UsageError
from rearlog.records.log import ConstantTemperature, DayExtremes, Readings
from rearlog.records.rules import problems_of
from rearlog.records.times import at_clock
from rearlog.sentences.heat_needs import assumed
from rearlog.species.catalogue import bundled, find
from tests.analysis.invented_moth import (
    HEAD_MM,
    LAID,
    LENGTH_MM,
    LOWER,
    MEAN_DD,
    SD_DD,
    curve_of,
    eggs,
    moth,
    number,
    stage,
)
from tests.analysis.observed_lives import observe

DEADLY = Chances(
    {
        "egg": Mortality(0.1),
        "L2": Mortality(0.2, ("shrivelled", "stuck in molt")),
        "pupa": Mortality(0.1, ("parasitoid",)),
    },
    loss=0.1,
)


def many_lives(n, *, celsius=20.0, chances=None, seed=1):
    start = eggs(1, celsius=celsius)
    return live(
        needs(start.cohort.species),
        curve_of(start),
        np.zeros(n),
        chances or Chances(),
        np.random.default_rng(seed),
    )


# --- the truth -----------------------------------------------------------------------------------


def test_durations_at_a_constant_temperature_are_heat_over_degrees():
    lives = many_lives(50, celsius=23.0)

    assert np.diff(lives.into) == pytest.approx(lives.heat / (23.0 - LOWER))


def test_a_logger_drives_the_truth():
    """Reference: each stage's heat by numerical integration of the readings, a step a minute."""
    quarters = np.arange(0, 60 * 96)
    celsius = 16 + 9 * np.sin(2 * np.pi * quarters / 96) + np.where(quarters > 1500, 4, 0)
    celsius = np.round(celsius, 2)
    first = at_clock(LAID, "00:00", "UTC")
    logger = Readings(first, tuple((quarters * 900).tolist()), tuple(celsius.tolist()))
    start = eggs(5, logger, zone="UTC")
    lives = simulate(start, 3).lives
    days = np.arange(0, 59, 1 / 1440)
    above = np.maximum(np.interp(days, quarters / 96, celsius) - LOWER, 0)
    total = np.concatenate(([0], np.cumsum((above[:-1] + above[1:]) / 2) / 1440))

    since_laying_day = lives.into + (start.cohort.started - first).total_seconds() / 86_400
    assert np.diff(np.interp(since_laying_day, days, total)) == pytest.approx(lives.heat, abs=0.01)


def test_heat_has_the_moments_of_the_profile():
    """Reference: mean and SD in the profile; log-normal values correlate as their logarithms do,
    but for a little: ρ = (e^(r·σ₁σ₂) − 1) / √((e^σ₁² − 1)(e^σ₂² − 1))."""
    heat = many_lives(40_000).heat
    mean, sd = np.array(list(MEAN_DD.values())), np.array(list(SD_DD.values()))
    sigma = np.sqrt(np.log1p((sd / mean) ** 2))

    assert heat.mean(axis=0) == pytest.approx(mean, rel=0.003)
    assert heat.std(axis=0) == pytest.approx(sd, rel=0.02)
    wanted = np.expm1(0.5 * np.outer(sigma, sigma)) / np.outer(sd / mean, sd / mean)
    apart = ~np.eye(len(mean), dtype=bool)
    assert np.corrcoef(heat.T)[apart] == pytest.approx(wanted[apart], abs=0.02)


@pytest.mark.parametrize(("pace", "correlation"), [(0.0, 0.0), (1.0, 1.0)])
def test_the_pace_is_none_or_all(pace, correlation):
    heat = many_lives(5_000, chances=Chances(pace=pace)).heat

    assert np.corrcoef(heat[:, 0], heat[:, 4])[0, 1] == pytest.approx(correlation, abs=0.05)


def test_deaths_come_as_often_as_asked_all_through_the_stage():
    lives = many_lives(20_000, chances=DEADLY)
    dead = lives.fate == DEAD
    in_l2 = dead & ~np.isnan(lives.into[:, 2]) & np.isnan(lives.into[:, 3])
    reached_l2 = ~np.isnan(lives.into[:, 2])
    share = (lives.end - lives.into[:, 2])[in_l2] * (20 - LOWER) / lives.heat[in_l2, 2]

    # of those that reach L2, a few are lost in it before they can die
    assert in_l2.sum() / reached_l2.sum() == pytest.approx(0.2, abs=0.012)
    assert (lives.fate == LOST).mean() == pytest.approx(0.1 * 0.85, abs=0.02)
    assert np.quantile(share, [0.0, 0.25, 0.5, 0.75, 1.0]) == pytest.approx(
        [0, 0.25, 0.5, 0.75, 1], abs=0.04
    )
    causes = {cause for cause, here in zip(lives.causes, in_l2, strict=True) if here}
    assert causes == {"shrivelled", "stuck in molt"}
    assert not any(cause for cause, gone in zip(lives.causes, dead, strict=True) if not gone)


def test_the_lost_go_missing_all_through_their_time():
    """Reference: the uniform distribution over the heat that is left to eggs of three days."""
    start = eggs(1, ConstantTemperature(20.0, LAID - timedelta(9)), laid_on=LAID - timedelta(9))
    lives = live(
        needs(moth()),
        curve_of(start),
        np.full(2000, -3.0),
        Chances(loss=1.0),
        np.random.default_rng(5),
    )
    assert (lives.fate == LOST).all()
    degrees = 20.0 - LOWER
    share = degrees * lives.end / (lives.heat.sum(axis=1) - 3 * degrees)
    assert kstest(share, "uniform").pvalue > 0.01


def test_nobody_dies_or_is_lost_before_the_start():
    """Most of the heat of an egg laid four days before the start is behind it."""
    start = eggs(1, ConstantTemperature(20.0, LAID - timedelta(9)), laid_on=LAID - timedelta(9))
    chances = Chances({"egg": Mortality(1.0)}, loss=0.5)
    lives = live(
        needs(moth(stage("egg", degree_days=number(80.0, sd=4.0)))),
        curve_of(start),
        np.full(500, -4.0),
        chances,
        np.random.default_rng(1),
    )

    assert set(lives.fate) == {DEAD, LOST}
    assert lives.end.min() > 0


def test_eggs_of_unknown_age_are_laid_at_the_start():
    simulation = simulate(eggs(3, laid_on=None), 1)

    assert simulation.lives.into[:, 0].tolist() == [0, 0, 0]
    found = stage_times(event_history(simulation.log), "egg").outcome
    assert set(found) == {StageOutcome.START_UNKNOWN}


# --- the checks ----------------------------------------------------------------------------------


@given(
    st.integers(0, 10_000),
    st.integers(1, 4),
    st.frozensets(st.integers(0, 40).map(lambda day: LAID + timedelta(day))),
)
def test_fast_checks_say_what_the_records_say(seed, every, forgotten):
    start = eggs(8)
    simulation = simulate(start, seed, chances=DEADLY, schedule=Schedule(every, forgotten))
    zero = start.cohort.started
    moments = sorted({check.at for check in simulation.log.all_observations})
    days = np.array([(moment - zero).total_seconds() / 86_400 for moment in moments])
    written, fast = event_history(simulation.log), observe(simulation.lives, days, laying(start))

    for name in written.__struct_fields__:
        if name == "questionable":  # whose records to look at: the fast ones have none
            continue
        ours, theirs = getattr(written, name), getattr(fast, name)
        np.testing.assert_array_equal(ours, theirs, name)


@given(st.integers(0, 10_000), st.floats(0, 60))
def test_checks_bracket_the_truth(seed, until):
    lives = many_lives(30, chances=DEADLY, seed=seed)
    checks = np.arange(0.4, until + 2, 1.7)
    seen = observe(lives, checks, (np.zeros(30), np.zeros(30)))
    into = np.where(np.isnan(seen.into_low), np.nan, lives.into)[:, 1:]
    known = ~np.isnan(into)

    assert (seen.into_low[:, 1:] < into)[known].all()
    assert (into <= seen.into_high[:, 1:])[known].all()
    assert np.isfinite(seen.into_high[:, 1:])[known].all()
    # what is not known has not happened by the last check, or the end came with it
    unseen = ~known & ~np.isnan(lives.into[:, 1:])
    assert (np.broadcast_to(seen.last_alive[:, None], unseen.shape) < lives.into[:, 1:])[
        unseen
    ].all()
    ended = seen.fate > 0
    assert ((seen.end_low < lives.end) & (lives.end <= seen.end_high))[ended].all()
    assert (lives.end[~ended] > seen.last_check[~ended]).all()


def test_the_log_keeps_the_rules_and_says_that_it_is_invented():
    start = eggs(60)
    simulation = simulate(start, 5, chances=DEADLY, schedule=Schedule(2), measuring=Measuring())
    log = simulation.log
    end = max(check.at for check in log.all_observations)

    assert log.cohort.invented
    assert not start.cohort.invented
    assert log.all_temperatures == start.all_temperatures
    for each in log.individuals:
        checks = log.checks[each.code]
        assert problems_of(log.cohort.species, each, checks, end) == []
        assert checks[-1].stage == "adult" or checks[-1].fate in ("dead", "lost")
        assert [check.stage for check in checks].count("adult") <= 1


def test_the_seed_decides():
    def checks(seed):
        found = simulate(eggs(10), seed, chances=DEADLY, measuring=Measuring())
        return found.log.all_observations

    assert checks(1) == checks(1)
    assert checks(1) != checks(2)


def test_rounds_are_at_the_check_time_by_the_clock_on_the_wall():
    """Clocks go forward on 29 March 2026 in London."""
    weekend = frozenset((date(2026, 3, 21), date(2026, 3, 22)))
    log = simulate(eggs(6), 1, schedule=Schedule(1, weekend, ("AB", "CD"))).log
    rounds = sorted({check.at for check in log.all_observations})
    days = [moment.date() for moment in rounds]

    assert {moment.hour for moment in rounds} == {9}
    assert [str(moment.utcoffset()) for moment in rounds if moment.month == 3][-4:] == [
        "0:00:00",
        "1:00:00",
        "1:00:00",
        "1:00:00",
    ]
    assert set(days) == {days[0] + timedelta(day) for day in range(len(days) + 2)} - weekend
    assert {check.by for check in log.all_observations} == {"AB", "CD"}
    for moment in rounds:
        assert len({check.by for check in log.all_observations if check.at == moment}) == 1


# --- the sizes -----------------------------------------------------------------------------------


def test_heads_are_read_once_an_instar_with_the_error_of_the_lens():
    how = Measuring(share=0.5, head_error_mm=0.03)
    simulation = simulate(eggs(600), 2, measuring=how)
    true, codes = simulation.sizes.head_width_mm, simulation.log.cohort.species.codes
    read = [each for each in simulation.log.all_observations if each.head_width_mm is not None]

    assert len({each.individual for each in read}) == 300
    for code, (mean, sd) in HEAD_MM.items():
        rank = codes.index(code)
        assert true[:, rank].mean() == pytest.approx(mean, rel=0.01)
        assert true[:, rank].std() == pytest.approx(sd, rel=0.12)
        here = [each for each in read if each.stage == code]
        assert len({each.individual for each in here}) == len(here)
        error = [each.head_width_mm - true[int(each.individual) - 1, rank] for each in here]
        assert np.mean(error) == pytest.approx(0, abs=0.006)
        assert np.std(error) == pytest.approx(0.03, abs=0.005)
    assert {each.stage for each in read} == set(HEAD_MM)


def test_lengths_grow_from_molt_to_molt():
    log = simulate(eggs(200), 2, measuring=Measuring(length_error_mm=0.0)).log
    for code, (low, high) in LENGTH_MM.items():
        of_individual: dict[str, list[float]] = {}
        for check in log.all_observations:
            if check.stage == code and check.length_mm is not None:
                of_individual.setdefault(check.individual, []).append(check.length_mm)
        lengths = np.concatenate(list(of_individual.values()))

        assert all(each == sorted(each) for each in of_individual.values())
        assert low * 0.7 < lengths.min() < lengths.mean() < lengths.max() < high * 1.3
        assert lengths.mean() == pytest.approx((low + high) / 2, rel=0.1)
        assert (lengths * 2 == np.round(lengths * 2)).all()
    assert not any(check.length_mm for check in log.all_observations if check.stage == "pupa")


# --- what the profile and the temperatures allow --------------------------------------------------


def test_days_at_a_temperature_become_heat():
    """By hand: 5 days at (20 + 24)/2 − 8 degrees = 70; a 95 % range of 2 days: SD 2/3.92 × 14."""
    days = number(low=4, high=6, at_celsius=(20, 24))
    needed = needs(moth(stage("egg", degree_days=None, days=days)))

    assert needed.mean[0] == pytest.approx(70)
    assert needed.sd[0] == pytest.approx(7.14, abs=0.01)
    assert assumed(needed.assumptions) == (
        "egg takes 70 degree-days: 5 days at 14 degrees above the lower threshold",
    )


def test_days_above_the_upper_threshold_gain_no_more_than_there():
    days = number(3.0, sd=0.3, at_celsius=(34, 34))
    needed = needs(moth(stage("egg", degree_days=None, days=days), upper=number(30.0)))

    assert (needed.mean[0], needed.sd[0]) == pytest.approx((66, 6.6))


def test_a_spread_that_nobody_gave_is_said_to_be_assumed():
    needed = needs(moth(stage("L3", degree_days=number(75.0))))

    assert needed.sd[3] == pytest.approx(7.5)
    assert assumed(needed.assumptions) == ("Individuals differ by 10 % (SD) in L3",)


def test_optional_stages_are_passed_over():
    simulation = simulate(eggs(5, profile=moth(stage("L3", optional=True))), 1)

    assert "Nobody passes through L3" in assumed(simulation.assumptions)
    assert "L3" not in {check.stage for check in simulation.log.all_observations}
    assert np.isnan(simulation.lives.into[:, 3]).all()
    assert not np.isnan(np.delete(simulation.lives.into, 3, axis=1)).any()


def test_extrapolation_is_said():
    measured = number(60.0, sd=8.0, at_celsius=(22, 26))
    simulation = simulate(eggs(3, profile=moth(stage("egg", degree_days=measured))), 1)

    assert assumed(simulation.assumptions) == (
        "Extrapolated: egg measured at 22 to 26 °C, here 20.0 °C",
    )
    assert not simulate(eggs(3, celsius=25.0, profile=simulation.log.cohort.species), 1).assumptions


def test_how_long_adults_live_at_which_temperature_does_not_matter():
    profile = moth(stage("adult", days=number(9.0, sd=1.0, at_celsius=(28.0, 30.0))))
    assert simulate(eggs(2, celsius=20.0, profile=profile), 1).assumptions == ()
    pupa = moth(stage("pupa", degree_days=number(130.0, sd=13.0, at_celsius=(28.0, 30.0))))
    (told,) = simulate(eggs(2, celsius=20.0, profile=pupa), 1).assumptions
    assert told == Extrapolation(("pupa",), (28.0, 30.0), 20.0)


def test_days_after_the_last_temperature_are_said_and_go_on_like_the_last_week():
    days = [DayExtremes(LAID + timedelta(day), 14.0, 26.0) for day in range(10)]
    short = simulate(eggs(20, *days), 4)
    constant = simulate(eggs(20, celsius=20.0), 4)

    assert assumed(short.assumptions) == (
        "after 2026-03-17 the mean temperature of the last days goes on",
    )
    assert short.lives.into == pytest.approx(constant.lives.into, abs=1e-6)


@pytest.mark.parametrize("name", [each.id for each in bundled()])
def test_bundled_profiles_can_be_simulated_unless_they_lack_the_heat(name):
    profile = find(name)
    stages = [stage for stage in profile.stages[:-1] if not stage.optional]
    if profile.lower is None or not all(stage.degree_days or stage.days for stage in stages):
        with pytest.raises(UsageError, match=r"threshold|the heat that it takes"):
            needs(profile)
        return
    log = simulate(eggs(20, celsius=24.0, profile=profile, laid_on=None), 1).log

    assert [check.stage for check in log.all_observations].count("adult") == 20


@pytest.mark.parametrize(
    ("start", "more", "message"),
    [
        (eggs(0), {}, "a simulation starts with eggs"),
        (simulate(eggs(2), 1).log, {}, "without observations"),
        (eggs(2, celsius=7.5), {}, "above 8 °C"),
        (eggs(2, celsius=8.05), {}, "keep the cohort warmer"),
        (eggs(2, ConstantTemperature(20.0, LAID + timedelta(9))), {}, "every day from the laying"),
        (eggs(2, profile=moth(lower=None)), {}, "no lower developmental threshold"),
        (eggs(2, profile=moth(stage("L2", degree_days=None))), {}, "L2: the heat that it takes"),
        (eggs(2), {"schedule": Schedule(0)}, "every day, or every few days"),
        (eggs(2), {"chances": Chances(loss=1.5)}, "loss 1.5 is not between 0 and 1"),
        (eggs(2), {"chances": Chances(pace=-1)}, "pace -1 is not"),
        (eggs(2), {"chances": Chances({"L2": Mortality(2)})}, "mortality in L2 2 is not"),
        (eggs(2), {"chances": Chances({"adult": Mortality(0)})}, "no stage adult to die in"),
        (eggs(2), {"measuring": Measuring(share=7)}, "measured share 7 is not"),
    ],
)
def test_what_makes_no_sense_is_refused(start, more, message):
    with pytest.raises(UsageError, match=message):
        simulate(start, 1, **more)


def test_who_is_no_egg_at_the_start_is_refused():
    start = eggs(3)
    late = replace(start.individuals[1], entered_at=start.cohort.started + timedelta(1))
    old = replace(start.individuals[2], stage="L1", laid_by=start.cohort.started + timedelta(1))
    with pytest.raises(UsageError) as caught:
        simulate(replace(start, individuals=(start.individuals[0], late, old)), 1)

    assert [problem.place for problem in caught.value.problems] == ["2", "3", "3"]


def test_eggs_that_would_hatch_before_the_start_are_refused():
    with pytest.raises(UsageError, match="hatch before the cohort starts"):
        simulate(eggs(2, profile=moth(stage("egg", degree_days=number(0.1)))), 1)


# --- what statistics make of it: the short form of test_simulation_checks.py ----------------------


def test_midpoints_of_daily_checks_are_right_on_average():
    """Reference: the mean duration is the profile's heat over the degrees above the threshold."""
    rng, start = np.random.default_rng(8), eggs(1)
    found = []
    for _ in range(40):
        lives = live(needs(moth()), curve_of(start), np.zeros(200), Chances(), rng)
        seen = observe(lives, rng.uniform() + np.arange(60.0), (np.zeros(200), np.zeros(200)))
        spans = stage_times(seen, "L2")
        summary = summarise(spans.midpoint[spans.which(StageOutcome.COMPLETED)])
        found.append((summary.mean - MEAN_DD["L2"] / (20 - LOWER), summary.sd / summary.n**0.5))
    off, se = np.array(found).T

    assert abs(off.mean()) < 0.1
    assert (np.abs(off) < 1.96 * se).mean() > 0.85
