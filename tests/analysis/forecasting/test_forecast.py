import json
from datetime import date, timedelta

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.forecasting.forecast_model import forecast_model
from rearlog.analysis.forecasting.future_temperature import FutureTemperature
from rearlog.analysis.simulation.simulate import simulate
from rearlog.present.json import to_json
from rearlog.records.errors import UsageError
from rearlog.records.log import ConstantTemperature, DayExtremes, Individual, Observation
from rearlog.records.profile import Quantity
from rearlog.records.times import at_clock
from rearlog.sentences.forecast import notices, words
from rearlog.species.catalogue import bundled, find
from tests.analysis.forecast_trials import simulated, steady, trial
from tests.analysis.invented_forecasts import START, SURE, observed, on, row, told_of
from tests.analysis.invented_moth import LAID, MEAN_DD, eggs, moth, stage


@pytest.fixture(scope="module")
def cohort():
    """Twelve moths, checked every day until all are adult, at temperatures that differ."""
    days = tuple(
        DayExtremes(LAID + timedelta(step), 17.0 + step % 3, 22.0 + step % 4) for step in range(60)
    )
    return simulate(eggs(12, *days), seed=4).log


# --- what is expected ----------------------------------------------------------------------------


def test_the_likely_days_are_heat_over_degrees():
    """60 degree-days at 12 a day are 5 days from the middle of the laying day, 345 are 28.75."""
    told = told_of(eggs(2, celsius=20.0, profile=SURE), on(0))
    assert row(told, "1", "hatch").likely == LAID + timedelta(5)
    assert row(told, "1", "eclosion").likely == LAID + timedelta(29)
    assert [(each.event, each.n) for each in told.events] == [
        ("hatch", 2),
        ("molt to L2", 2),
        ("molt to L3", 2),
        ("pupation", 2),
        ("eclosion", 2),
    ]
    assert told.events[3].likely == LAID + timedelta(18)  # 215 degree-days


def test_it_says_when_somebody_looked_last_and_at_how_many_alive():
    log = observed(eggs(3, celsius=20.0), ("1", 5, "L1"), ("2", 7, "L1"), ("3", 6, "dead"))
    told = told_of(log, on(9))
    assert (told.last_look, told.alive) == (LAID + timedelta(8), 2)
    assert told_of(eggs(1, celsius=20.0), on(0)).last_look is None


def test_heat_that_came_in_the_stage_counts():
    log = observed(eggs(1, celsius=20.0, profile=SURE), ("1", 5, "L1"), ("1", 6, "L1"))
    seen_hatched = told_of(log, on(6))
    assert row(seen_hatched, "1", "molt to L2").likely == LAID + timedelta(1 + 8)


def test_a_warmer_time_to_come_is_sooner_and_has_no_weather_in_it(cohort):
    as_usual, warm = told_of(cohort, on(12)), told_of(cohort, on(12), FutureTemperature(26.0))
    last, sooner = as_usual.events[-1], warm.events[-1]
    assert sooner.likely < last.likely
    assert (sooner.latest - sooner.earliest) < (last.latest - last.earliest)
    assert warm.temperature == 26.0


def test_windows_narrow_as_the_event_comes_near(cohort):
    widths = []
    for day in (1, 12, 22):
        window = told_of(cohort, on(day)).events[-1]
        widths.append((window.latest - window.earliest).days)
    assert widths[0] > widths[1] > widths[2]


def test_no_window_is_of_a_single_day(cohort):
    """What comes after a day's check is seen on the next: a look a day cannot tell one day."""
    for day in range(1, 30, 3):
        told = told_of(cohort, on(day))
        assert all(each.latest > each.earliest for each in (*told.individuals, *told.events))


def test_a_short_window_has_every_day_that_it_touches(cohort):
    """Hatches are 5 ± 0.7 days away: the nearest midnights would cut off a part of the 90 %."""
    told = forecast_model(eggs(2, celsius=20.0), on(3))
    days = told.days(told.predictive.quantile(np.array([[[0.05]], [[0.5]], [[0.95]]])))[:, 0, 1]
    assert days[2] - days[0] < 3
    window = told.window(days)
    assert (window.earliest, window.latest) == (told.date_of(days[0]), told.date_of(days[2]))


def test_an_event_whose_window_is_over_is_called_overdue():
    """Eggs at 20 °C that nobody has looked at for eight weeks."""
    told = told_of(eggs(2, celsius=20.0), on(56))
    assert all(each.overdue for each in told.events)
    assert words(told)[0] == (
        f"Eclosion: of the 2 still to come, all were expected by {told.events[-1].latest} and "
        "none is on record yet."
    )
    assert not any(each.overdue for each in told_of(eggs(2, celsius=20.0), on(3)).events)


def test_those_who_died_or_left_are_not_foretold():
    log = observed(
        eggs(4), ("1", 2, "dead"), ("2", 2, "lost"), ("3", 2, "removed"), ("4", 2, "egg")
    )
    told = told_of(log, on(3))
    assert {each.individual for each in told.individuals} == {"4"}
    assert told.events[-1].n == 1


def test_the_next_event_and_the_last_are_listed(cohort):
    told = told_of(cohort, on(12))
    mine = [each.event for each in told.individuals if each.individual == "1"]
    assert len(mine) == 2
    assert mine[1] == "eclosion"
    assert all(each.earliest <= each.likely <= each.latest for each in told.individuals)


def test_what_came_is_counted(cohort):
    told = told_of(cohort, on(12))
    assert told.events[-1].came == 0
    assert all(each.n + each.came == 12 for each in told.events)


def test_an_egg_that_lingers_is_overdue():
    checks = [("1", day, "egg") for day in range(1, 20)]
    told = told_of(observed(eggs(1, celsius=20.0), *checks), on(19))
    late = row(told, "1", "hatch")
    assert 10 < late.overdue_days < 14  # 5 days are usual, 6.6 the end of the window
    assert late.earliest >= on(19).date()
    assert row(told, "1", "eclosion").overdue_days is None


def test_dates_are_those_of_the_zone():
    """Laid at 23:30 in Auckland, still morning in Europe; 5 days later it is the 13th there."""
    laid = at_clock(LAID, "23:30", "Pacific/Auckland")
    log = eggs(1, celsius=20.0, profile=SURE, zone="Pacific/Auckland")
    log = replace(log, individuals=(Individual("1", log.cohort.started, "egg", laid, laid),))
    assert told_of(log, log.cohort.started).individuals[0].likely == date(2026, 3, 13)


# --- the cohort's own pace -----------------------------------------------------------------------


def test_a_slow_cohort_is_foretold_later():
    quick = [
        (str(code), day, "egg" if day < 5 else "L1") for code in range(1, 13) for day in (4, 5)
    ]
    slow = [(str(code), day, "egg" if day < 7 else "L1") for code in range(1, 13) for day in (6, 7)]
    at_day_9 = [told_of(observed(eggs(12, celsius=20.0), *each), on(7)) for each in (quick, slow)]
    egg = [told.paces[0] for told in at_day_9]
    assert egg[0].adjusted < egg[1].adjusted
    assert egg[1].adjusted > egg[1].profile
    assert egg[1].finished == 12
    later = [told.paces[-1] for told in at_day_9]
    assert later[0].adjusted < later[1].adjusted
    assert later[1].se > egg[1].se


# --- only what was known -------------------------------------------------------------------------


def test_the_forecast_of_each_day_uses_nothing_later(cohort):
    """Beside a log cut off by hand, and one in which all that came later was different."""
    for day in range(1, 30, 2):
        moment = on(day, "12:00")
        kept = tuple(each for each in cohort.all_observations if each.at <= moment)
        days = tuple(each for each in cohort.all_temperatures if each.date < moment.date())
        all_dead = (Observation(code, on(day + 1), fate="dead") for code in cohort.by_code)
        cut_off = replace(cohort, all_observations=kept, all_temperatures=days)
        other = replace(
            cohort,
            all_observations=(*kept, *all_dead),
            all_temperatures=(*days, DayExtremes(moment.date(), 40.0, 45.0)),
        )
        told = told_of(cohort, moment)
        assert told == told_of(cut_off, moment) == told_of(other, moment)


def test_before_the_start_nothing_is_foretold():
    with pytest.raises(UsageError, match="before the cohort's start"):
        forecast_model(eggs(1), START - timedelta(days=1))


# --- what is not known ---------------------------------------------------------------------------


def test_without_temperatures_the_profiles_days_are_taken_and_labelled():
    log = replace(eggs(2, profile=find("painted-lady")), all_temperatures=())
    told = told_of(log, on(0))
    assert told.unit == "days"
    assert "No temperature is known" in notices(told)[0]
    assert "at 20 to 24 °C" in notices(told)[0]
    assert row(told, "1", "hatch").likely == LAID + timedelta(4)  # 3 to 5 days, common practice


def test_without_a_threshold_the_profiles_days_are_taken_and_labelled():
    log = eggs(2, celsius=22.0, profile=find("black-swallowtail"))
    told = told_of(observed(log, ("1", 6, "egg"), ("1", 7, "L1")), on(7))
    assert told.unit == "days"
    assert "No lower threshold" in notices(told)[0]
    assert [each.event for each in told.events] == ["hatch", "pupation", "eclosion"]
    off = row(told, "1", "pupation").likely - on(26).date()  # 10 to 30 days from memory
    assert abs(off.days) <= 2


def test_a_stage_of_which_nothing_is_known_ends_the_forecast():
    told = told_of(eggs(1, profile=moth(stage("L2", degree_days=None))), on(0))
    assert [each.event for each in told.events] == ["hatch", "molt to L2"]
    assert row(told, "1", "eclosion").likely is None
    assert any("How long L2 takes is not known" in each for each in notices(told))


def test_extrapolation_is_said():
    told = told_of(eggs(1, celsius=16.0, profile=find("painted-lady")), on(0))
    assert any("L1, L2, L3, L4, L5 measured at 22.2 to 27.7 °C" in each for each in notices(told))
    within = told_of(eggs(1, celsius=23.0, profile=find("painted-lady")), on(0))
    assert notices(within) == ()


def test_below_the_threshold_nothing_is_to_be_expected():
    told = told_of(eggs(1, celsius=5.0), on(0))
    assert row(told, "1", "hatch").likely is None
    assert any("stands still" in each for each in notices(told))


def test_who_came_into_a_stage_before_a_long_gap_may_be_anywhere_in_it():
    """Days 6 to 9 have no temperature: as if it had been found in L1 when they were over."""
    days = tuple(
        DayExtremes(LAID + timedelta(step), 20, 20) for step in (*range(6), *range(10, 20))
    )
    before = [*(("1", step, "egg") for step in range(1, 4)), ("1", 4, "L1")]
    for day, later in ((11, []), (14, [("1", 12, "L1"), ("1", 13, "L2"), ("1", 14, "L2")])):
        looks = [("1", 11, "L1"), *later]
        told = told_of(observed(eggs(1, *days, profile=SURE), *before, *looks), on(day))
        found = eggs(1, celsius=20.0, profile=SURE)
        midnight = at_clock(LAID + timedelta(10), "00:00", "Europe/London")
        found = replace(found, individuals=(Individual("1", midnight, "L1"),))
        assert told.individuals == told_of(observed(found, *looks), on(day)).individuals
        assert any("4 days (2026-03-14 to 2026-03-17): not known" in each for each in notices(told))
        assert told.individuals[0].likely is not None


@pytest.mark.parametrize("checks", [
    [("1", 1, "dead"), ("2", 1, "dead")],
    [("1", 1, "adult"), ("2", 1, "adult")],
    [("1", 1, "adult"), ("2", 1, "lost")],
])  # fmt: skip
def test_where_nobody_develops_nothing_is_to_come(checks):
    told = told_of(observed(eggs(2), *checks), on(2))
    assert (told.individuals, told.events) == ((), ())
    assert words(told) == ("Nobody is still developing: nothing is to come.",)


def test_a_cohort_without_individuals():
    told = told_of(replace(eggs(1), individuals=()), on(2))
    assert (told.individuals, told.events, told.emergence) == ((), (), ())


@pytest.mark.parametrize("listing", bundled(), ids=lambda each: each.id)
@pytest.mark.parametrize("kept", [True, False], ids=["temperature", "none"])
def test_every_bundled_profile_in_every_stage(listing, kept):
    """One individual entered in each stage: no number that is none, whatever is not known."""
    log = eggs(0, profile=find(listing.id), celsius=21.0)
    codes = log.cohort.species.codes
    log = replace(
        log,
        individuals=tuple(Individual(code, START, code) for code in codes),
        all_temperatures=(ConstantTemperature(21.0, LAID),) if kept else (),
    )
    told = told_of(observed(log, *((code, 1, code) for code in codes)), on(1))
    assert {each.individual for each in told.individuals} == set(codes[:-1])
    document = json.loads(to_json(told))
    assert set(document["individuals"][0]) > {
        "individual", "stage", "event", "earliest", "likely", "latest"
    }  # fmt: skip
    assert set(document) > {"cohort", "as_of", "temperature", "individuals", "events"}
    assert document["as_of"] == "2026-03-10"


# --- emergence -----------------------------------------------------------------------------------


def test_the_expected_emergence_grows_to_all(cohort):
    rows = told_of(cohort, on(12)).emergence
    expected = [each.expected for each in rows]
    assert expected == sorted(expected)
    assert expected[-1] == pytest.approx(12, abs=0.1)
    assert all(each.low - 1 < each.expected < each.high + 1 for each in rows)
    last = told_of(cohort, on(12)).events[-1]
    half = next(each.date for each in rows if each.expected >= 6)
    assert abs((half - last.likely).days) <= 1


def test_what_has_come_stands_beside_what_is_expected(cohort):
    came = sorted(each.at.date() for each in cohort.all_observations if each.stage == "adult")
    day = (came[5] - LAID).days - 1
    rows = told_of(cohort, on(day, "23:00")).emergence
    today = next(each for each in rows if each.date == came[5])
    assert rows[0].date == came[0]
    assert rows[0].expected is None or rows[0].date == came[5]
    assert today.came == sum(each <= came[5] for each in came)
    assert today.expected >= today.came
    assert rows[-1].came is None


def test_the_band_is_wider_than_chance_among_individuals():
    """What all share, the pace of their cohort, makes a count of 24 vary more than a binomial."""
    rows = told_of(eggs(24, celsius=20.0), on(1)).emergence
    half = min(rows, key=lambda each: abs(each.expected - 12))
    assert half.high - half.low > 1.3 * 2 * 1.645 * (24 * 0.25) ** 0.5


def test_the_band_holds_what_came(cohort):
    """Nine days ahead, 90 % of simulated cohorts should have their count in the band."""
    inside, total = 0, 0
    for seed in range(25):
        made = simulate(eggs(24, celsius=20.0), seed=seed)
        rows = {each.date: each for each in told_of(made.log, on(19)).emergence}
        truth = made.lives.into[:, -1]
        told = forecast_model(made.log, on(19))
        for day in (date(2026, 4, 5), date(2026, 4, 7)):
            count = int((truth < told.day_of(day + timedelta(1))).sum())
            inside += rows[day].low <= count <= rows[day].high
            total += 1
    assert inside / total >= 0.85


# --- what they are worth -------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize("differs", [False, True], ids=["as the profile", "cohorts differ"])
@pytest.mark.parametrize(("species", "celsius"), [("painted-lady", 22.0), ("silkworm", 24.0)])
def test_windows_hold_as_many_as_they_say(species, celsius, differs):
    """100 simulated cohorts of 24, forecast when the median individual is in mid-larva."""
    outcomes = [
        trial(simulated(find(species), steady(celsius), seed, differs=differs))
        for seed in range(1000, 1100)
    ]
    held = sum(each.inside for each in outcomes) / sum(each.eclosions for each in outcomes)
    assert 0.85 <= held <= 0.95
    assert np.mean([each.off for each in outcomes]) < 0.10


def test_a_quantity_without_spread_is_taken_to_have_one():
    profile = moth(stage("pupa", degree_days=Quantity("invented", 130.0)))
    told = told_of(eggs(1, profile=profile), on(0))
    assert any("10 % (SD) in pupa" in each for each in notices(told))


def test_rows_of_individuals_are_in_their_order_each_with_its_next_event_and_the_last():
    """Those that are dead, or grown up, have none; whose next event is the last has one."""
    log = observed(
        eggs(5, celsius=20.0),
        *(("1", 3, "dead"), ("2", 3, "pupa"), ("3", 3, "egg"), ("4", 3, "adult"), ("5", 3, "L2")),
    )
    found = told_of(log, on(3)).individuals
    assert [(each.individual, each.stage, each.into, each.event) for each in found] == [
        ("2", "pupa", "adult", "eclosion"),
        ("3", "egg", "L1", "hatch"),
        ("3", "egg", "adult", "eclosion"),
        ("5", "L2", "L3", "molt to L3"),
        ("5", "L2", "adult", "eclosion"),
    ]


def test_before_anything_is_seen_a_pace_is_the_profiles_and_as_uncertain_as_cohorts_differ():
    """By hand: by √(0.08² + 0.03²) of K, the shared part and that of each stage by itself."""
    known = moth(stage("L2", degree_days=None))
    paces = told_of(eggs(2, celsius=20.0, profile=known), on(0)).paces
    assert [each.stage for each in paces] == ["egg", "L1", "L3", "pupa"]
    for each in paces[1:]:
        need = MEAN_DD[each.stage]
        assert (each.profile, each.finished) == (need, 0)
        assert each.adjusted == pytest.approx(need, rel=1e-3)
        assert each.se == pytest.approx(need * np.hypot(0.08, 0.03), rel=1e-3)


def test_what_is_over_is_the_last_event_that_is_to_come_to_somebody():
    told = told_of(observed(eggs(3, celsius=20.0), ("1", 5, "L1"), ("2", 5, "L1")), on(6))
    assert told.finished == 2
    assert told.last_event == told.events[-1]
    hatch, *_, last = told.events
    nobody, late = replace(last, n=0), replace(hatch, overdue=True)
    assert replace(told, events=(late, nobody)).last_event == late
    assert replace(told, events=(nobody,)).last_event is None
    given = ((hatch, last), (late, last), (hatch, late), (late, nobody), (nobody,), ())
    over = [replace(told, events=each).is_over for each in given]
    assert over == [False, False, True, True, False, False]


def test_who_was_never_looked_at_is_overdue_with_the_next_event_alone():
    """After sixty days the window of the last event is over too."""
    hatch, last = told_of(eggs(1, celsius=20.0), on(60)).individuals
    assert hatch.overdue_days is not None
    assert hatch.overdue_days > 40
    assert (last.event, last.overdue_days) == ("eclosion", None)
