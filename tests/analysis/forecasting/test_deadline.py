from datetime import timedelta

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.forecasting.deadline import WARMEST_C, _laid_by, deadline
from rearlog.analysis.forecasting.forecast import forecast
from rearlog.analysis.forecasting.forecast_model import forecast_model
from rearlog.analysis.forecasting.future_temperature import FutureTemperature
from rearlog.analysis.stages.profile_values import Extrapolation
from rearlog.records.errors import UsageError
from rearlog.records.log import Individual
from rearlog.records.times import at_clock
from rearlog.sentences.deadline import notices, words
from rearlog.species.catalogue import find
from tests.analysis.invented_forecasts import observed, on
from tests.analysis.invented_moth import LAID, LOWER, MEAN_DD, eggs, moth, number, stage

BY, SOONER = LAID + timedelta(25), LAID + timedelta(20)


def test_at_the_temperature_that_it_names_half_are_out_on_the_day():
    """Round trip: they are by the forecast at that temperature, and are not a degree cooler."""
    log = eggs(24, celsius=20.0)
    found = deadline(log, on(3), BY)
    assert [aim.share for aim in found.aims] == [0.5, 0.95]
    half, most = found.aims
    assert LOWER < half.celsius < most.celsius
    for aim, name in ((half, "likely"), (most, "latest")):
        warm, cooler = (
            forecast(forecast_model(log, on(3), FutureTemperature(aim.celsius - less))).events[-1]
            for less in (0, 1)
        )
        assert getattr(warm, name) <= BY
        assert getattr(cooler, name) >= BY


def test_the_day_of_laying_is_over_on_the_day_after_it():
    found = deadline(eggs(24, celsius=20.0), on(3), BY)
    (today, soon, none) = (
        replace(found.aims[0], laid_by=day)
        for day in (found.as_of, found.as_of - timedelta(1), None)
    )
    assert [found.is_over(aim) for aim in (today, soon, none)] == [False, True, False]


@pytest.mark.parametrize(
    ("days", "before"),
    [(25.0, 25), (25.1, 26), (999.9, 1000), (1000.0, None), (float("nan"), None)],
)
def test_a_life_has_its_day_of_laying_unless_it_lasts_a_thousand_days(days, before):
    """By hand: a day that has begun is one more."""
    assert _laid_by(BY, days) == (None if before is None else BY - timedelta(before))


@pytest.mark.parametrize("coming", [FutureTemperature(), FutureTemperature(24.0)])
def test_a_new_cohort_that_is_laid_on_the_last_day_is_out_in_time(coming):
    """Round trip: eggs laid on that day, or half of them a day later, forecast from the first."""
    log = eggs(24, celsius=20.0)
    found = deadline(log, on(3), LAID + timedelta(60), coming)
    half = found.aims[0].laid_by
    assert half is not None
    laid = [at_clock(half, clock, "Europe/London") for clock in ("00:00", "23:59")]
    begun = replace(log.cohort, started=laid[1])
    new = replace(
        log,
        cohort=begun,
        individuals=tuple(
            Individual(str(code), laid[1], "egg", laid[0], laid[1]) for code in range(24)
        ),
    )
    kept = FutureTemperature(coming.celsius or 20.0)
    told = forecast(forecast_model(new, laid[1], kept)).events[-1]
    assert 0 <= (LAID + timedelta(60) - told.likely).days <= 1


@pytest.mark.parametrize(
    ("species", "warmest"),
    [
        (moth(upper=number(28.0)), 28.0),
        (moth(), WARMEST_C),
        (
            moth(stage("L1", degree_days=None, days=number(4.0, sd=0.4, at_celsius=(20.0, 23.0)))),
            25.0,  # two degrees above what the days of a stage were measured at
        ),
        (find("painted-lady"), 29.7),  # its larvae were measured up to 27.7 °C
        (find("green-dock-beetle"), 30.0),  # measured at 18 to 28 °C
        (find("monarch"), WARMEST_C),  # its upper threshold of 33 °C is above that
    ],
)
def test_no_temperature_is_named_that_may_kill(species, warmest):
    """A day that is too near: the straight line would have them kept at more than 35 °C."""
    found = deadline(eggs(24, celsius=20.0, profile=species), on(3), LAID + timedelta(10))
    assert found.warmest == pytest.approx(warmest)
    assert [aim.celsius for aim in found.aims] == [None, None]
    assert f"not be out by 2026-03-18 at any temperature up to {warmest:g} °C" in words(found)[0]
    assert "which is over" in words(found)[1]


def test_extrapolation_is_said():
    found = deadline(eggs(24, celsius=23.0, profile=find("painted-lady")), on(3), SOONER)
    assert found.aims[0].celsius == 29.0  # whole degrees
    assert any("L5 measured at 22.2 to 27.7 °C" in each for each in notices(found))


def test_where_nobody_is_to_come_only_a_new_cohort_is_planned():
    log = observed(eggs(2, celsius=20.0), ("1", 1, "dead"), ("2", 1, "dead"))
    found = deadline(log, on(3), BY)
    assert (found.n, [aim.celsius for aim in found.aims]) == (0, [None, None])
    assert words(found)[0].startswith("Nobody")
    assert all(aim.laid_by is not None for aim in found.aims)


def test_where_development_stands_still_no_day_of_laying_will_do():
    found = deadline(eggs(2, celsius=6.0), on(3), BY)
    assert [aim.laid_by for aim in found.aims] == [None, None]
    assert found.aims[0].celsius > LOWER


@pytest.mark.parametrize(
    ("log", "by", "message"),
    [
        (eggs(2), LAID + timedelta(3), "not a day to come"),
        (eggs(2, profile=moth(lower=None)), BY, "needs degree-days"),
        (replace(eggs(2), all_temperatures=()), BY, "needs degree-days"),
    ],
)
def test_what_cannot_be_answered(log, by, message):
    with pytest.raises(UsageError, match=message):
        deadline(log, on(3), by)


def test_a_life_of_which_a_stage_is_not_known_has_no_day_of_laying():
    log = eggs(2, profile=moth(replace(moth().stages[2], degree_days=None)))
    found = deadline(log, on(3), BY)
    assert [aim.laid_by for aim in found.aims] == [None, None]
    assert not any(np.isnan(aim.share) for aim in found.aims)


def test_extrapolation_is_said_of_every_stage_to_come_but_the_last_and_once():
    """Egg and pupa were measured where it is warmer than what is named for half and for most."""
    near = dict.fromkeys(("egg", "pupa"), (24.0, 30.0)) | {"L1": (8.0, 30.0)}
    species = moth(
        *(
            stage(code, degree_days=number(MEAN_DD[code], sd=0.1, at_celsius=celsius))
            for code, celsius in near.items()
        ),
        *(stage(code, degree_days=number(MEAN_DD[code], sd=0.1)) for code in ("L2", "L3")),
        stage("adult", days=number(9.0, sd=1.0, at_celsius=(28.0, 30.0))),
    )
    log = eggs(2, celsius=20.0, profile=species)

    def said(*looks):
        found = deadline(observed(log, *looks), on(6), LAID + timedelta(36))
        return [aim.celsius for aim in found.aims], found.notices

    def beyond(*stages):
        return [17.0, 19.0], tuple(
            Extrapolation(stages, (24.0, 30.0), celsius) for celsius in (17.0, 19.0)
        )

    assert said() == beyond("egg", "pupa")
    hatched = beyond("pupa")
    assert said(("1", 5, "L1"), ("2", 5, "L1")) == hatched
    assert said(("1", 5, "L1"), ("2", 5, "dead")) == hatched
    assert said(("1", 5, "dead"), ("2", 5, "dead")) == ([None, None], ())
