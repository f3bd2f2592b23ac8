"""An invented cohort: lives drawn from a species profile, and the checks that bracket them.

For lessons, for planning, and for tests: the truth is known beside what the checks say of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.arrays import Floats, finite
from rearlog.analysis.heat.daily_temperatures import MISSING, lay_out
from rearlog.analysis.heat.heat_curve import HeatCurve, heat_curve, settings
from rearlog.analysis.simulation.lives import Chances, Lives, live
from rearlog.analysis.simulation.sizes import Measuring, Sizes, measure, sizes
from rearlog.analysis.stages.events import FATE_NAMES
from rearlog.analysis.stages.heat_needs import Assumption, RecentGoesOn, needs
from rearlog.analysis.stages.profile_values import beyond_measured
from rearlog.records.errors import Problem, UsageError
from rearlog.records.fates import Fate
from rearlog.records.log import CohortLog, ConstantTemperature, Observation
from rearlog.records.times import at_clock

LONGEST_DAYS = 1500.0
"""A cohort (or a span) that would take longer is refused: it is too cold for the species."""

WEEKEND = (5, 6)


class Schedule(Struct, frozen=True):
    """When a cohort is looked at: every `every` days at its check time, save on the days that are
    `forgotten` and, with `no_weekends`, on Saturdays and Sundays; each round by one of `observers`
    (initials), if any are given."""

    every: int = 1
    forgotten: frozenset[date] = frozenset()
    observers: tuple[str, ...] = ()
    no_weekends: bool = False

    def skips(self, day: date) -> bool:
        """Whether nobody looks on this day."""
        return day in self.forgotten or (self.no_weekends and day.weekday() in WEEKEND)


class Simulation(Struct, frozen=True):
    """An invented cohort: its log, the true lives and sizes behind it (in days since the cohort's
    zero), and what was assumed beyond the profile."""

    log: CohortLog
    lives: Lives
    sizes: Sizes
    assumptions: tuple[Assumption, ...]

    @property
    def last_check(self) -> datetime:
        """When the last of the cohort was looked at for the last time."""
        return max(check.at for check in self.log.all_observations)


DAILY = Schedule()
UNHARMED = Chances()
UNMEASURED = Measuring(share=0.0)


def simulate(
    start: CohortLog,
    seed: int,
    *,
    chances: Chances = UNHARMED,
    schedule: Schedule = DAILY,
    measuring: Measuring = UNMEASURED,
) -> Simulation:
    """Invent the checks of a cohort until all of it are adult, dead or lost.

    `start` is the cohort at its start: its eggs, its temperatures from the laying on, and no
    observations. Beyond the last temperature the mean of the last days goes on. Each egg is laid at
    random between its `laid_after` and `laid_by`, or at the start where those are not known. The
    model of development is that of `simulation.lives`. The same arguments give the same cohort. It
    is marked as invented, and its observations have no numbers yet.

    Raises UsageError with what cannot be simulated.
    """
    _refuse_impossible(start, chances, schedule, measuring)
    profile = start.cohort.species
    needed = needs(profile)
    rng, looks_rng = np.random.default_rng(seed).spawn(2)
    temperatures = lay_out(start)
    curve = heat_curve(temperatures, settings(profile, temperatures))
    lives = live(needed, curve, rng.uniform(*laying(start)), chances, rng)
    if lives.finished.max() > LONGEST_DAYS:
        raise UsageError(f"it would take {lives.finished.max():.0f} days", "keep the cohort warmer")
    true_sizes = sizes(profile, len(start.individuals), measuring.share, rng)
    checks = _checks(start, lives, true_sizes, curve, schedule, measuring, looks_rng)
    return Simulation(
        replace(start, cohort=replace(start.cohort, invented=True), all_observations=tuple(checks)),
        lives,
        true_sizes,
        (*needed.assumptions, *_beyond(start, curve, lives)),
    )


def laying(log: CohortLog) -> tuple[Floats, Floats]:
    """The days between which each egg was laid, both (n,), since zero; 0 where not known."""

    def day(moment: datetime | None) -> float:
        return 0.0 if moment is None else log.cohort.clock.days(moment)

    after = [day(each.laid_after or each.laid_by) for each in log.individuals]
    return np.array(after), np.array([day(each.laid_by) for each in log.individuals])


def _rounds(log: CohortLog, schedule: Schedule, until_day: float) -> list[datetime]:
    """The moments of the rounds, until the first at or after `until_day`."""
    cohort, found = log.cohort, list[datetime]()
    day = cohort.started.date()
    while not found or cohort.clock.days(found[-1]) < until_day:
        day += timedelta(schedule.every)
        if not schedule.skips(day):
            found.append(at_clock(day, cohort.check_time, cohort.zone))
    return found


def _checks(
    start: CohortLog,
    lives: Lives,
    true_sizes: Sizes,
    curve: HeatCurve,
    schedule: Schedule,
    measuring: Measuring,
    rng: np.random.Generator,
) -> Iterator[Observation]:
    """Look at each individual in each round until it is seen as adult, dead or lost."""
    seen = np.zeros(len(lives.fate), dtype=np.int64)
    watched = np.ones(len(lives.fate), dtype=bool)
    for moment in _rounds(start, schedule, float(lives.finished.max())):
        day = start.cohort.clock.days(moment)
        ranks, gone = lives.ranks_at(day), lives.end <= day
        lengths, heads = measure(true_sizes, ranks, lives.grown(curve, day), measuring, rng)
        lengths = np.where(gone, np.nan, lengths)
        heads = np.where(gone | (ranks == seen), np.nan, heads)
        by = str(rng.choice(schedule.observers)) if schedule.observers else None
        for place in np.flatnonzero(watched):
            fate = FATE_NAMES[lives.fate[place]] if gone[place] else None
            yield Observation(
                start.individuals[place].code,
                moment,
                stage=None if fate == Fate.LOST else lives.stages[ranks[place]],
                fate=fate,
                cause=lives.causes[place] if fate else None,
                length_mm=finite(lengths[place]),
                head_width_mm=finite(heads[place]),
                by=by,
            )
        seen, watched = ranks, watched & ~gone & (ranks < len(lives.stages) - 1)


def _beyond(start: CohortLog, curve: HeatCurve, lives: Lives) -> Iterator[Assumption]:
    """Temperatures that the profile was not measured at, and days without their own."""
    temperatures = curve.temperatures
    means = (temperatures.minimum + temperatures.maximum) / 2
    here = float(means[temperatures.status != MISSING].mean())
    yield from beyond_measured(start.cohort.species.stages[:-1], here)
    kept = any(
        isinstance(each, ConstantTemperature) and each.last is None for each in start.temperatures
    )
    if not kept and lives.finished.max() > curve.knots[-1]:
        yield RecentGoesOn(temperatures.dates[-1])


def _refuse_impossible(
    start: CohortLog, chances: Chances, schedule: Schedule, measuring: Measuring
) -> None:
    """Raise UsageError with everything in the arguments that makes no sense."""
    begins, stages = start.cohort.started, start.cohort.species.codes
    problems = [
        Problem("it enters neither as an egg nor at the start", each.code)
        for each in start.individuals
        if (each.entered_at, each.stage) != (begins, stages[0])
    ]
    problems += [
        Problem("its egg would be laid after the start", each.code)
        for each in start.individuals
        if each.laid_by is not None and each.laid_by > begins
    ]
    if not start.individuals or start.all_observations:
        problems.append(Problem("a simulation starts with eggs, and without observations"))
    if schedule.no_weekends and begins.weekday() in WEEKEND and schedule.every % 7 == 0:
        problems.append(Problem("every check would fall on a weekend, when nobody looks"))
    if schedule.every < 1:
        problems.append(Problem("the cohort must be looked at every day, or every few days"))
    problems += [
        Problem(f"there is no stage {stage} to die in", remedy=f"use {', '.join(stages[:-1])}")
        for stage in chances.mortality
        if stage not in stages[:-1]
    ]
    shares = {"pace": chances.pace, "loss": chances.loss, "measured share": measuring.share}
    shares |= {f"mortality in {key}": each.probability for key, each in chances.mortality.items()}
    problems += [
        Problem(f"{name} {value:g} is not between 0 and 1")
        for name, value in shares.items()
        if not 0 <= value <= 1
    ]
    if problems:
        raise UsageError(problems)
