"""What cohorts that are over tell of their species: values for its profile.

Means are those of who completed a stage, by midpoints. The spread between individuals is what is
left of the variance when that of dating passages to the middles of the intervals between checks is
taken off: h²/12 for each of both ends (Sheppard's correction, 1898, Proc. Lond. Math. Soc.
29:353–380; cited from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain

import numpy as np
from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.arrays import Floats, mean_of_known
from rearlog.analysis.comparing.cohorts import ComparedCohort
from rearlog.analysis.comparing.rate_models import NEAR_C
from rearlog.analysis.comparing.thermal import (
    NOT_CREDIBLE,
    Objection,
    Thermal,
)
from rearlog.analysis.heat.heat_curve import HeatCurve
from rearlog.analysis.stages.stage_times import StageOutcome, StageTimes, completed, stage_times
from rearlog.analysis.statistics.checked_mean import checked_mean

FEWEST = 5
"""Fewer individuals than this tell no value: common practice, no rule."""

_DISTORTING = NOT_CREDIBLE | {Objection.STILL_IN_STAGE, Objection.HOTTEST_NOT_FASTER}


class LearnedValue(Struct, frozen=True):
    """The mean of n individuals of some cohorts, with its standard error.

    `sd` is the spread between individuals, None where it is less than the checks can show.
    `celsius` are the mean temperatures (lowest and highest) of the cohorts, where they are known.
    """

    mean: float
    se: float
    sd: float | None
    n: int
    cohorts: tuple[str, ...]
    celsius: tuple[float, float] | None


class LearnedStage(Struct, frozen=True):
    """What is learned of a stage; None where fewer than FEWEST individuals tell.

    `completed` is how many completed it in `days`, and `heated` those of them whose degree-days are
    known, in all cohorts that count; `measured` is how many heads were. Of the cohorts, in
    `unfinished` some are still in it, and those `at_other_temperatures` have other days.
    """

    stage: str
    days: LearnedValue | None
    degree_days: LearnedValue | None
    head_width_mm: LearnedValue | None
    completed: int
    heated: int
    measured: int
    unfinished: tuple[str, ...]
    at_other_temperatures: tuple[str, ...]


class LearnedThreshold(Struct, frozen=True):
    """A lower threshold (°C) from the rates of `stage` at some mean temperatures (°C)."""

    celsius: float
    se: float | None
    stage: str
    at: tuple[float, ...]


class Learned(Answer, frozen=True):
    """What some cohorts tell of their species.

    Degree-days are counted above `lower` (°C): the `threshold` that they tell, or their profile's.
    """

    species: str
    cohorts: tuple[str, ...]
    threshold: LearnedThreshold | None
    lower: float | None
    stages: tuple[LearnedStage, ...]

    @property
    def values(self) -> tuple[LearnedValue, ...]:
        """All that was learned of the stages."""
        every = ((each.days, each.degree_days, each.head_width_mm) for each in self.stages)
        return tuple(value for value in chain.from_iterable(every) if value is not None)


class HeadsMeasured(Struct, frozen=True):
    """The head widths (mm) of n individuals of a cohort in one instar."""

    stage: str
    n: int
    mean: float
    sd: float | None


def credible_threshold(found: Thermal | None) -> LearnedThreshold | None:
    """The lower threshold of the whole development, or of the stage with the longest rates.

    None where anything speaks against it that cannot be left aside.
    """
    stage = found.shown() if found else None
    if stage is None or stage.linear is None or _DISTORTING & {*stage.objections}:
        return None
    swinging, line = stage.swinging, stage.linear
    return LearnedThreshold(
        round(swinging.threshold if swinging else line.threshold, 1),
        None if swinging else line.threshold_se,
        stage.stage,
        tuple(sorted(round(point.temperature, 1) for point in stage.points)),
    )


def learn(
    cohorts: Sequence[ComparedCohort],
    heats: Sequence[HeatCurve | None],
    heads: Sequence[Sequence[HeadsMeasured]],
    threshold: LearnedThreshold | None,
    lower: float | None,
) -> Learned:
    """The values of the stages that the cohorts have in common.

    The curves of `cohorts` tell their mean temperatures, `heats` their degree-days above `lower`,
    `heads` the widths that were measured in each.
    """
    codes = cohorts[0].history.stages
    return Learned(
        cohorts[0].species,
        tuple(each.cohort for each in cohorts),
        threshold,
        lower,
        tuple(_stage(cohorts, heats, heads, code) for code in codes[:-1]),
    )


class _OfCohort(Struct, frozen=True, eq=False):
    """What a cohort tells: n values, the variance that dating gives each, and the passages."""

    cohort: str
    values: Floats
    dating: float
    passages: Sequence[Floats]
    celsius: float | None


def _stage(
    cohorts: Sequence[ComparedCohort],
    heats: Sequence[HeatCurve | None],
    heads: Sequence[Sequence[HeadsMeasured]],
    code: str,
) -> LearnedStage:
    days: list[_OfCohort] = []
    heat: list[_OfCohort] = []
    unfinished: list[str] = []
    for each, curve in zip(cohorts, heats, strict=True):
        spans = stage_times(each.history, code)
        if spans.which(StageOutcome.IN_STAGE).any():  # those that are done are the early ones
            unfinished.append(each.cohort)
            continue
        days.append(_part(each, spans, None))
        if curve is not None:
            heat.append(_part(each, spans, curve))
    alike = _alike(days)
    names = {each.cohort for each in alike}
    widths = [
        (each.cohort, found)
        for each, measured in zip(cohorts, heads, strict=True)
        for found in measured
        if found.stage == code
    ]
    return LearnedStage(
        code,
        _value(alike),
        _value(heat),
        _width(widths),
        sum(len(each.values) for each in days),
        sum(len(each.values) for each in heat),
        sum(found.n for _, found in widths),
        tuple(unfinished),
        tuple(each.cohort for each in days if len(each.values) and each.cohort not in names),
    )


def _part(cohort: ComparedCohort, spans: StageTimes, curve: HeatCurve | None) -> _OfCohort:
    values, passages, who = completed(spans, curve)
    ends = [bounds[who] for bounds in (spans.start, spans.end)]
    widths = [np.diff(each if curve is None else curve.at(each), axis=1) for each in ends]
    dating = sum(float(np.mean(each**2)) / 12 for each in widths) if len(who) else 0.0
    return _OfCohort(cohort.cohort, values, dating, passages, _celsius(cohort.curve, ends))


def _celsius(curve: HeatCurve | None, ends: Sequence[Floats]) -> float | None:
    """The mean temperature (°C) that individuals had between two passages."""
    start, end = (each.mean(axis=1) for each in ends)
    later = end > start
    if curve is None or not later.any():
        return None
    return mean_of_known(curve.mean_celsius(start[later], end[later]))


def _alike(parts: Sequence[_OfCohort]) -> list[_OfCohort]:
    """The parts at about one temperature that have the most individuals; those of which none is
    known only where no others tell a value."""
    groups: list[list[_OfCohort]] = []
    known = [(each.celsius, each) for each in parts if each.celsius is not None]
    for celsius, part in sorted(known, key=lambda pair: pair[0]):
        coldest = groups[-1][0].celsius if groups else None
        if coldest is not None and celsius - coldest <= 2 * NEAR_C:
            groups[-1].append(part)
        else:
            groups.append([part])
    best = max(groups, key=_count, default=[])
    unknown = [each for each in parts if each.celsius is None]
    return best if _count(best) >= FEWEST or _count(unknown) < FEWEST else unknown


def _count(parts: Sequence[_OfCohort]) -> int:
    return sum(len(each.values) for each in parts)


def _value(parts: Sequence[_OfCohort]) -> LearnedValue | None:
    """The value that some cohorts tell together; a cohort of one individual tells no error."""
    found = [
        (each, mean)
        for each in parts
        if (mean := checked_mean(each.values, each.passages)) is not None
    ]
    n = sum(mean.n for _, mean in found)
    if n < FEWEST:
        return None
    freedom = n - len(found)
    variance = sum((mean.n - 1) * mean.sd**2 for _, mean in found) / freedom
    dating = sum(mean.n * each.dating for each, mean in found) / n
    own = variance - dating
    shown = own > variance * (2 / freedom) ** 0.5
    warmth = [each.celsius for each, _ in found if each.celsius is not None]
    return LearnedValue(
        sum(mean.n * mean.mean for _, mean in found) / n,
        sum((mean.n * mean.se) ** 2 for _, mean in found) ** 0.5 / n,
        own**0.5 if shown else None,
        n,
        tuple(each.cohort for each, _ in found),
        (min(warmth), max(warmth)) if len(warmth) == len(found) else None,
    )


def _width(found: Sequence[tuple[str, HeadsMeasured]]) -> LearnedValue | None:
    """The mean head width of all individuals, of whatever cohort."""
    n = sum(each.n for _, each in found)
    spread = [(each.n - 1, each.sd) for _, each in found if each.sd is not None]
    freedom = sum(weight for weight, _ in spread)
    if n < FEWEST or not freedom:
        return None
    sd = float((sum(weight * sd**2 for weight, sd in spread) / freedom) ** 0.5)
    return LearnedValue(
        sum(each.n * each.mean for _, each in found) / n,
        sd / n**0.5,
        sd or None,
        n,
        tuple(name for name, _ in found),
        None,
    )
