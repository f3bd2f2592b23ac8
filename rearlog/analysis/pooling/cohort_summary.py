"""One cohort in a few numbers: all that an answer about many cohorts needs of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

import numpy as np
from msgspec import Struct

from rearlog.analysis.forecasting.forecast import Forecast
from rearlog.analysis.heat.heat_curve import HeatCurve
from rearlog.analysis.stages.completeness import Completeness
from rearlog.analysis.stages.events import ALIVE, DEAD, LOST, REMOVED, EventHistory
from rearlog.analysis.stages.in_doubt import InDoubt
from rearlog.analysis.stages.progress import watched_celsius
from rearlog.analysis.stages.stage_times import StageOutcome, StageTimes, completed, stage_times
from rearlog.analysis.statistics.checked_mean import checked_mean
from rearlog.analysis.statistics.student_t import limit_95
from rearlog.analysis.survival.survival import reached_end
from rearlog.records.log import CohortLog

LEAST_KNOWN = 0.5
"""The temperature of a stage is told where that of so many of those that completed it is known."""
FEWEST_POOLED = 3
"""Individuals that completed a stage, below which the mean of a cohort is given no weight."""
MOST_WAITING = 0.1
"""With more than this part still on the way, a cohort shows its early ones alone: not pooled."""
LEAST_EXPECTED = 0.005
"""Days on which fewer adults than this are expected are not told."""


class StageSummary(Struct, frozen=True):
    """One stage of one cohort, or the whole development: how many `entered`, and what became of
    them.

    `mean` (days) of those that `completed` it, its standard error `se` on `freedom` degrees of
    freedom with the error of the checks counted, and `sd` as in the answer about durations.
    `celsius` is the mean temperature that they had in it. None where these are not known.
    """

    stage: str
    entered: int
    completed: int
    died: int
    lost: int
    removed: int
    in_stage: int
    mean: float | None
    sd: float | None
    se: float | None
    freedom: float | None
    celsius: float | None

    @property
    def weighed(self) -> tuple[float, float] | None:
        """Mean and standard error (days) where they have weight among others: enough completed it,
        and few are still in it."""
        waiting = MOST_WAITING * (self.completed + self.in_stage)
        if self.completed < FEWEST_POOLED or self.in_stage > waiting:
            return None
        return (self.mean, self.se) if self.mean and self.se else None

    @property
    def interval(self) -> tuple[float, float] | None:
        """The 95 % limits of the mean (Student's t)."""
        if self.mean is None or self.se is None or self.freedom is None:
            return None
        margin = limit_95(self.freedom) * self.se
        return max(0.0, self.mean - margin), self.mean + margin


class ExpectedAdults(Struct, frozen=True):
    """How many adults a cohort is expected to have more on a day, if all live."""

    date: date
    adults: float


class CohortSummary(Struct, frozen=True):
    """One cohort, known by its `id`, as it enters an answer about many.

    `name` is its label, `species` the scientific name. `individuals` have come to `dead`, `lost`,
    `removed` or `alive`; of `known` it is known whether they came into the `last_stage`, of which
    `reached` did; `waiting` may yet, `gone` were lost or removed before. `celsius` is the mean
    temperature while it was watched, `looks` how many looks stand, of `due` daily ones `missed`
    were not made, and `doubtful` individuals have looks that contradict each other;
    `struck_temperatures` records of temperature were struck out. `stages` are those that somebody
    entered, the last of them the whole development. `as_of` is the day from
    which `coming` counts: None where nothing is to come that can be foretold. The window of the
    last adults is `earliest` to `latest`.
    """

    id: str
    name: str
    site: str | None
    species: str
    last_stage: str
    started: date
    last_look: date | None
    invented: bool
    individuals: int
    dead: int
    lost: int
    removed: int
    alive: int
    known: int
    reached: int
    waiting: int
    gone: int
    celsius: float | None
    looks: int
    due: int
    missed: int
    doubtful: int
    struck_temperatures: int
    stages: tuple[StageSummary, ...]
    as_of: date | None
    earliest: date | None
    likely: date | None
    latest: date | None
    coming: tuple[ExpectedAdults, ...]

    @property
    def year(self) -> int:
        """The year in which it was started."""
        return self.started.year

    @property
    def whole(self) -> StageSummary | None:
        """The whole development, from the first stage to the last."""
        return self.stages[-1] if self.stages else None


def cohort_summary(
    log: CohortLog,
    history: EventHistory,
    curve: HeatCurve | None,
    completeness: Completeness,
    in_doubt: Sequence[InDoubt],
    forecast: Forecast | None,
) -> CohortSummary:
    """Sum up a cohort of which all of this was worked out; no `forecast` where it is over.

    Means and errors of the stages: `checked_mean`.
    """
    cohort = log.cohort
    goal = reached_end(history, None, history.stages[-1])
    dead, lost, removed, alive = (
        int((history.fate == fate).sum()) for fate in (DEAD, LOST, REMOVED, ALIVE)
    )
    running = forecast if forecast and _is_coming(forecast) else None
    last = running.last_event if running else None
    days = [checks[-1].at for checks in log.checks.values() if checks]
    return CohortSummary(
        id=cohort.id,
        name=cohort.name,
        site=cohort.site,
        species=cohort.species.scientific_name,
        last_stage=history.stages[-1],
        started=cohort.clock.day(cohort.started),
        last_look=cohort.clock.day(max(days)) if days else None,
        invented=cohort.invented,
        individuals=len(history.codes),
        dead=dead,
        lost=lost,
        removed=removed,
        alive=alive,
        known=goal.n,
        reached=goal.reached,
        waiting=goal.waiting,
        gone=goal.gone,
        celsius=watched_celsius(history, curve),
        looks=completeness.checks,
        due=completeness.due,
        missed=completeness.missed,
        doubtful=len({each.individual for each in in_doubt}),
        struck_temperatures=sum(1 for each in log.all_temperatures if each.struck is not None),
        stages=tuple(_stages(history, curve)),
        as_of=running.as_of if running else None,
        earliest=last.earliest if last else None,
        likely=last.likely if last else None,
        latest=last.latest if last else None,
        coming=tuple(_coming(running)) if running else (),
    )


def still_to_come(history: EventHistory) -> bool:
    """Whether somebody lives who has not come into the last stage."""
    return bool(((history.fate == ALIVE) & (history.last_rank < len(history.stages) - 1)).any())


def _stages(history: EventHistory, curve: HeatCurve | None) -> Iterator[StageSummary]:
    first, *_, last = history.stages
    for stage in history.stages[:-1]:
        spans = stage_times(history, stage)
        if spans.entered.any():
            yield _stage(stage, spans, curve)
    yield _stage(f"{first} to {last}", stage_times(history, first, last), curve)


def _stage(name: str, spans: StageTimes, curve: HeatCurve | None) -> StageSummary:
    values, bounds, _ = completed(spans)
    found = checked_mean(values, bounds)
    counts = {outcome: int(spans.which(outcome).sum()) for outcome in StageOutcome}
    return StageSummary(
        stage=name,
        entered=int(spans.entered.sum()),
        completed=len(values),
        died=counts[StageOutcome.DIED],
        lost=counts[StageOutcome.LOST],
        removed=counts[StageOutcome.REMOVED],
        in_stage=counts[StageOutcome.IN_STAGE],
        mean=found.mean if found else float(values[0]) if values.size else None,
        sd=found.sd if found else None,
        se=found.se if found else None,
        freedom=found.freedom if found else None,
        celsius=_celsius(spans, curve),
    )


def _celsius(spans: StageTimes, curve: HeatCurve | None) -> float | None:
    over = spans.which(StageOutcome.COMPLETED)
    if curve is None or not over.any():
        return None
    warmth = curve.mean_celsius(*spans.spent(over))
    known = warmth[~np.isnan(warmth)]
    return float(known.mean()) if known.size >= LEAST_KNOWN * warmth.size else None


def _is_coming(forecast: Forecast) -> bool:
    """Whether something is to come, and can be foretold."""
    last = forecast.last_event
    return last is not None and last.earliest is not None and not last.overdue


def _coming(forecast: Forecast) -> Iterator[ExpectedAdults]:
    """The steps of the number that is expected by each day, from today on."""
    before = 0.0
    for each in forecast.emergence:
        if each.expected is None:
            before = float(each.came or 0)
            continue
        if each.expected - before >= LEAST_EXPECTED:
            yield ExpectedAdults(each.date, round(each.expected - before, 2))
        before = each.expected
