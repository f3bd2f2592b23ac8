"""How a cohort grew: head widths instar by instar, lengths and masses by age."""

from __future__ import annotations

import re
from collections import defaultdict
from typing import ClassVar

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.answer import Answer
from rearlog.analysis.arrays import finite
from rearlog.analysis.growth.instars import (
    Dyar,
    NoDyar,
    dyar,
    fold_increase,
    growth_ratios,
    relative_growth_rate,
)
from rearlog.analysis.growth.width_groups import NoGroups, WidthGroups, width_groups
from rearlog.analysis.heat.heat_curve import HeatCurve
from rearlog.analysis.stages.durations import summarise
from rearlog.analysis.stages.events import EventHistory
from rearlog.analysis.stages.settled_stages import doubtful_rows, settled_stage
from rearlog.records.log import CohortLog, Individual

_INSTAR = re.compile(r"[LN](\d+)")


class InstarWidth(Struct, frozen=True):
    """Head capsule width (mm) of the n individuals measured in one instar.

    An individual measured more than once in an instar counts with its mean: the width is fixed.
    `expected` is the profile's mean.
    """

    stage: str
    n: int
    head_width_mm_mean: float
    sd: float | None
    ratio_to_previous: float | None
    expected: float | None

    @property
    def se(self) -> float | None:
        """The standard error of the mean; one width has none."""
        return None if self.sd is None else float(self.sd / self.n**0.5)


class Measurement(Struct, frozen=True):
    """One individual measured at one check; `day` and degree-days count from its entry."""

    individual: str
    day: float
    stage: str
    degree_days: float | None
    length_mm: float | None
    head_width_mm: float | None
    mass_mg: float | None


class MassGain(Struct, frozen=True):
    """Growth of one individual between two weighings: rate = ln(m2/m1)/days."""

    individual: str
    from_day: float
    to_day: float
    rate_per_day: float
    fold: float


class Growth(Answer, frozen=True):
    """The growth of a cohort.

    `mass_fold` is the largest mass of an individual over its first, averaged over those that were
    `weighed_again`. `groups` are what the widths make alone, whatever instars were written down.
    """

    main: ClassVar[str] = "series"

    cohort: str
    instars: tuple[InstarWidth, ...]
    dyar: Dyar | None
    no_dyar: NoDyar | None
    series: tuple[Measurement, ...]
    gains: tuple[MassGain, ...]
    mass_fold: float | None
    weighed_again: int
    groups: WidthGroups | None = None
    no_groups: NoGroups | None = NoGroups.FEW_WIDTHS


def growth(log: CohortLog, history: EventHistory, curve: HeatCurve | None) -> Growth:
    """Head widths by instar with Dyar's ratio, and the series of lengths and masses.

    Dyar's ratio is fitted to each individual's width in each instar (see `instars.dyar`). A stage
    that was called stays as it was; that of a look which said “no change” is the settled one.
    """
    doubtful = doubtful_rows(history)
    series = tuple(
        measured
        for individual in log.individuals
        for measured in _series(log, history, doubtful.get(individual.code), individual, curve)
    )
    widths = _widths(series)
    instars = _instars(log, widths)
    numbers = [int(stage[1:]) for stage, values in widths.items() for _ in values]
    every = [value for values in widths.values() for value in values.values()]
    whose = [individual for values in widths.values() for individual in values]
    fit = dyar(numbers, every, whose) if every else NoDyar.NO_WIDTHS
    groups = width_groups(every) if every else NoGroups.FEW_WIDTHS
    gains = _gains(series)
    folds = _folds(series)
    return Growth(
        cohort=log.cohort.name,
        instars=instars,
        dyar=fit if isinstance(fit, Dyar) else None,
        no_dyar=fit if isinstance(fit, NoDyar) else None,
        series=series,
        gains=gains,
        mass_fold=float(np.mean(folds)) if folds else None,
        weighed_again=len(folds),
        groups=groups if isinstance(groups, WidthGroups) else None,
        no_groups=groups if isinstance(groups, NoGroups) else None,
    )


def _series(
    log: CohortLog,
    history: EventHistory,
    doubtful: int | None,
    individual: Individual,
    curve: HeatCurve | None,
) -> list[Measurement]:
    """The measurements of one individual, of which `doubtful` is the row if its looks are."""
    clock = log.cohort.clock
    begin = clock.days(individual.entered_at)
    since_entry = replace(clock, zero=individual.entered_at)
    called, found = individual.stage, []
    for check in log.checks[individual.code]:
        stage = called = check.stage or called
        if check.length_mm is None and check.head_width_mm is None and check.mass_mg is None:
            continue
        day = since_entry.days(check.at)
        if check.same and doubtful is not None:
            stage = settled_stage(history, doubtful, clock.days(check.at), called)
        heat = None if curve is None else finite(float(curve.between(begin, begin + day)))
        found.append(
            Measurement(
                individual.code,
                day,
                stage,
                heat,
                check.length_mm,
                check.head_width_mm,
                check.mass_mg,
            )
        )
    return found


def _widths(series: tuple[Measurement, ...]) -> dict[str, dict[str, float]]:
    """For each instar the mean width of each individual measured in it, by its code."""
    readings: dict[str, dict[str, list[float]]] = defaultdict(lambda: defaultdict(list))
    for each in series:
        if each.head_width_mm is not None and _INSTAR.fullmatch(each.stage):
            readings[each.stage][each.individual].append(each.head_width_mm)
    return {
        stage: {code: float(np.mean(values)) for code, values in by_individual.items()}
        for stage, by_individual in readings.items()
    }


def _instars(log: CohortLog, widths: dict[str, dict[str, float]]) -> tuple[InstarWidth, ...]:
    stages = [stage for stage in log.cohort.species.stages if _INSTAR.fullmatch(stage.code)]
    summaries = {
        stage: summarise(np.array(list(values.values()))) for stage, values in widths.items()
    }
    means = [summaries[stage.code].mean if stage.code in summaries else None for stage in stages]
    rows = []
    for stage, mean, ratio in zip(stages, means, growth_ratios(means), strict=True):
        if mean is None:
            continue
        known = stage.head_width_mm
        summary = summaries[stage.code]
        rows.append(
            InstarWidth(
                stage.code, summary.n, mean, summary.sd, ratio, known.centre if known else None
            )
        )
    return tuple(rows)


def _gains(series: tuple[Measurement, ...]) -> tuple[MassGain, ...]:
    gains = []
    last: dict[str, Measurement] = {}
    for each in series:
        if each.mass_mg is None:
            continue
        before = last.get(each.individual)
        if before is not None and before.mass_mg is not None and each.day > before.day:
            gains.append(
                MassGain(
                    each.individual,
                    before.day,
                    each.day,
                    relative_growth_rate(before.mass_mg, each.mass_mg, each.day - before.day),
                    fold_increase(before.mass_mg, each.mass_mg),
                )
            )
        last[each.individual] = each
    return tuple(gains)


def _folds(series: tuple[Measurement, ...]) -> list[float]:
    masses: dict[str, list[float]] = defaultdict(list)
    for each in series:
        if each.mass_mg is not None:
            masses[each.individual].append(each.mass_mg)
    return [max(values) / values[0] for values in masses.values() if len(values) > 1]
