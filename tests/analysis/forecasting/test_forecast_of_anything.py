"""Whatever a log holds, it is foretold or said not to be: 100 logs made at random."""

import random
from datetime import UTC, date, datetime, timedelta

import pytest

from rearlog.analysis.forecasting.deadline import deadline
from rearlog.analysis.forecasting.due import due
from rearlog.analysis.forecasting.forecast import forecast
from rearlog.analysis.forecasting.forecast_model import forecast_model
from rearlog.analysis.forecasting.future_temperature import FutureTemperature
from rearlog.analysis.forecasting.review import review
from rearlog.analysis.stages.events import ALIVE
from rearlog.present.json import plain
from rearlog.records.log import (
    Cohort,
    CohortLog,
    ConstantTemperature,
    DayExtremes,
    Individual,
    Observation,
    Readings,
)
from rearlog.species.catalogue import bundled, find

START = datetime(2026, 3, 9, 9, tzinfo=UTC)
PROFILES = [find(each.id) for each in bundled()]


def life(rng, code, stages):
    """Looked at now and then, seldom more than once a day; any stage may be passed over."""
    at = START + timedelta(days=rng.choice([0, 0, 0, 2.5]))
    rank = rng.choice([0, 0, 0, rng.randrange(len(stages))])
    laid = (at - timedelta(days=rng.choice([0, 1, 3])), at) if rng.random() < 0.6 else (None, None)
    individual = Individual(code, at, stages[rank], *(laid if rank == 0 else (None, None)))
    checks = []
    while rng.random() < 0.9:
        at += timedelta(days=rng.choice([0.3, 1, 1, 1, 3, 10]))
        rank = min(len(stages) - 1, rank + rng.choice([0, 0, 0, 1, 1, 2, 3]))
        fate = rng.choice([None] * 12 + ["dead", "lost", "removed"])
        stage = None if fate else stages[rank]
        checks.append(Observation(code, at, stage, fate, witnessed=rng.random() < 0.2))
        if fate:
            break
    return individual, checks


def weather(rng):
    """A kept temperature, days with gaps, a logger, all of these or none."""
    first = date(2026, 3, 7)
    days = tuple(
        DayExtremes(first + timedelta(step), rng.uniform(0, 20), rng.uniform(20, 38))
        for step in range(30)
        if rng.random() < 0.6
    )
    kept = ConstantTemperature(
        rng.choice([-5, 5, 22, 40]), first, rng.choice([None, date(2026, 3, 20)])
    )
    count = rng.randrange(1, 500)
    logger = Readings(
        START + timedelta(days=rng.uniform(-2, 5)),
        tuple(900 * step for step in range(count)),
        tuple(rng.uniform(10, 30) for _ in range(count)),
    )
    return rng.choice([(), (kept,), days, (logger,), (kept, *days, logger)])


def anything(rng):
    profile = rng.choice(PROFILES)
    lives = [life(rng, str(code), profile.codes) for code in range(rng.choice([0, 1, 2, 5]))]
    zone = rng.choice(["UTC", "Europe/London", "Pacific/Auckland"])
    planned = rng.choice([None, None, 23.0])
    return CohortLog(
        Cohort("any", profile, zone, START, START, planned_celsius=planned),
        tuple(individual for individual, _ in lives),
        tuple(check for _, checks in lives for check in checks),
        weather(rng),
    )


@pytest.mark.parametrize("seed", range(100))
def test_whatever_a_log_holds(seed):
    rng = random.Random(seed)
    log = anything(rng)
    as_of = START + timedelta(days=rng.choice([0, 1, 5.3, 12, 40, 200]))
    coming = rng.choice(
        [
            FutureTemperature(),
            FutureTemperature(),
            FutureTemperature(-3.0),
            FutureTemperature(15.0),
            FutureTemperature(30.0),
        ]
    )
    told = forecast_model(log, as_of, coming)
    found = forecast(told)
    developing = {
        code
        for code, fate, rank in zip(
            told.history.codes, told.history.fate, told.history.last_rank, strict=True
        )
        if fate == ALIVE and rank < len(told.phases.stages) - 1
    }
    assert {each.individual for each in found.individuals} == developing
    foretold = [(each.earliest, each.likely, each.latest) for each in found.individuals]
    foretold += [(each.earliest, each.likely, each.latest) for each in found.events]
    for earliest, likely, latest in foretold:
        assert likely is None or earliest <= likely <= latest
    for answer in (found, due(told), review(log, as_of)):
        assert plain(answer)  # refuses a NaN
    if told.course.curve is not None:
        by = told.date_of(told.course.now) + timedelta(rng.choice([1, 40]))
        assert plain(deadline(log, as_of, by, coming))
