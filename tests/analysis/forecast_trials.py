"""Forecasts of simulated cohorts beside what came of them, for tests and the benchmark."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np
from msgspec.structs import replace

from rearlog.analysis.forecasting.cohort_pace import COHORT_CV, PHASE_CV
from rearlog.analysis.forecasting.forecast import forecast
from rearlog.analysis.forecasting.forecast_model import forecast_model
from rearlog.analysis.simulation.simulate import Simulation, simulate
from rearlog.records.log import (
    Cohort,
    CohortLog,
    ConstantTemperature,
    DayExtremes,
    Individual,
    Temperature,
)
from rearlog.records.profile import Profile
from rearlog.records.times import at_clock

LAID = date(2026, 3, 8)
DAYS = 200
EGGS = 24
ZONE = "Europe/London"

Weather = Callable[[np.random.Generator], tuple[Temperature, ...]]


def steady(celsius: float) -> Weather:
    """An incubator."""
    return lambda _: (ConstantTemperature(celsius, LAID),)


def window_sill(celsius: float) -> Weather:
    """A room whose days differ, one much like the one before: SD 1.5 °C, correlation 0.6."""

    def draw(rng: np.random.Generator) -> tuple[Temperature, ...]:
        means = np.empty(DAYS)
        means[0] = rng.normal(0, 1.5)
        for day in range(1, DAYS):
            means[day] = 0.6 * means[day - 1] + rng.normal(0, 1.5 * 0.8)
        return tuple(
            DayExtremes(LAID + timedelta(day), celsius + mean - 2, celsius + mean + 2)
            for day, mean in enumerate(means.tolist())
        )

    return draw


@dataclass(frozen=True)
class Outcome:
    """One cohort: how many eclosions were forecast and in their windows, and how far off (as a
    share of the time to go) their likely days were on average; the same for the cohort's median."""

    eclosions: int
    inside: int
    off: float
    median_off: float


def with_its_own_needs(profile: Profile, rng: np.random.Generator) -> Profile:
    """The profile of a cohort that differs from the species' as cohorts are taken to differ."""
    common = 1 + rng.normal(0, COHORT_CV)
    stages = []
    for stage in profile.stages:
        heat = stage.degree_days
        if heat is not None and heat.value is not None:
            own = heat.value * (common + rng.normal(0, PHASE_CV))
            stage = replace(stage, degree_days=replace(heat, value=own))
        stages.append(stage)
    return replace(profile, stages=tuple(stages))


def simulated(
    profile: Profile, weather: Weather, seed: int, *, differs: bool = False, eggs: int = EGGS
) -> Simulation:
    """A cohort of eggs, looked at every day; its log names the species' own profile."""
    rng = np.random.default_rng(seed)
    start = at_clock(LAID + timedelta(1), "09:00", ZONE)
    laid = at_clock(LAID, "00:00", ZONE), at_clock(LAID + timedelta(1), "00:00", ZONE)
    truth = with_its_own_needs(profile, rng) if differs else profile
    log = CohortLog(
        Cohort("eggs", truth, ZONE, start, start),
        tuple(Individual(str(code), start, "egg", *laid) for code in range(1, eggs + 1)),
        all_temperatures=weather(rng),
    )
    made = simulate(log, seed)
    cohort = replace(made.log.cohort, species=profile)
    return replace(made, log=replace(made.log, cohort=cohort))


def middle_of_the_larva(made: Simulation) -> datetime:
    """When the median individual is in the middle of its larval life."""
    stages = made.lives.stages
    into = np.median(made.lives.into, axis=0)
    day = (into[1] + into[stages.index("pupa")]) / 2
    return made.log.cohort.started + timedelta(days=float(day))


def trial(made: Simulation) -> Outcome:
    """Forecast a cohort in the middle of its larval life, and look what came of it."""
    as_of = middle_of_the_larva(made)
    told = forecast_model(made.log, as_of)
    rows = [each for each in forecast(told).individuals if each.into == "adult"]
    place = {each.code: row for row, each in enumerate(made.log.individuals)}
    inside, off = 0, []
    came, likely = [], []
    for each in rows:
        day = float(made.lives.into[place[each.individual], -1])
        assert each.earliest is not None
        assert each.latest is not None
        assert each.likely is not None
        inside += each.earliest <= told.date_of(day) <= each.latest
        came.append(day - told.course.now)
        likely.append(told.day_of(each.likely) + 0.5 - told.course.now)
        off.append(abs(likely[-1] - came[-1]) / came[-1])
    middle = float(np.median(came))
    median_off = abs(float(np.median(likely)) - middle) / middle
    return Outcome(len(rows), inside, float(np.mean(off)), median_off)
