"""Which cohorts of many lie farther from the others than chance, and what may be why."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from statistics import median

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import finite
from rearlog.analysis.comparing.thermal import rate_error
from rearlog.analysis.pooling.cohort_summary import CohortSummary
from rearlog.analysis.pooling.pooled_stages import APART_C, CohortInStage, PooledStage, estimates
from rearlog.analysis.pooling.random_effects import deleted_p
from rearlog.analysis.pooling.season_survival import SeasonSurvival
from rearlog.analysis.pooling.season_thermal import SeasonThermal, ThermalConstants
from rearlog.analysis.statistics.differences import holm
from rearlog.analysis.statistics.levels import DIFFERENT

MUCH_MISSED = 0.2
"""More than this part of the daily looks not made is many."""
MUCH_DOUBT = 0.1
"""More than this part of the individuals in doubt is many."""
MUCH_LOST = 0.1
"""More than this part of the individuals lost or removed on the way is many."""


class Direction(StrEnum):
    """On which side of the others a cohort lies."""

    LONGER = "longer"
    SHORTER = "shorter"
    MORE = "more"
    FEWER = "fewer"


class Reason(StrEnum):
    """What sets a cohort apart in its records, and may be why it stands out."""

    WARMER = "warmer"
    """It was APART_C or more warmer than the middle one of the cohorts."""
    COOLER = "cooler"
    """It was so much cooler."""
    TEMPERATURES_STRUCK = "temperatures_struck"
    """A record of its temperature was struck out: that which stands may be the wrong one."""
    CHECKS_MISSED = "checks_missed"
    """More than MUCH_MISSED of the daily looks were not made."""
    DOUBTS = "doubts"
    """Of more than MUCH_DOUBT of the individuals looks contradict each other."""
    LOST = "lost"
    """More than MUCH_LOST of the individuals were lost or removed before the last stage."""


class StandsOut(Struct, frozen=True):
    """A cohort (its `id`, and what it is called) that lies farther from the others than chance.

    In `stage` it took `value` days, the others the mean `centre`, and at its temperature the line
    of the rates says `at_temperature`; where `stage` is None, `value` is the part that reached the
    last stage. `p_holm` says how often chance would take it so far from the others, `p_line` so far
    from the line: `p_line_holm` too is corrected for all cohorts and stages. None where there is no
    line. It was at `celsius`, the middle one of the cohorts at `middle_celsius` (°C, None where not
    known). `reasons` are what sets it apart in its records.
    """

    id: str
    cohort: str
    stage: str | None
    direction: Direction
    value: float
    centre: float
    p_holm: float
    at_temperature: float | None
    p_line: float | None
    p_line_holm: float | None
    celsius: float | None
    middle_celsius: float | None
    reasons: tuple[Reason, ...]

    @property
    def off_the_line(self) -> bool:
        """Whether it stands out from those at its temperature."""
        return self.p_line_holm is not None and self.p_line_holm < DIFFERENT

    @property
    def explained(self) -> bool:
        """Whether its temperature explains that it lies apart."""
        return self.p_line is not None and self.p_line >= DIFFERENT


def standing_out(
    by_stage: Mapping[str, Sequence[CohortInStage]],
    stages: Sequence[PooledStage],
    thermal: Sequence[SeasonThermal],
    cohorts: Sequence[CohortSummary],
    survival: SeasonSurvival,
) -> Iterator[StandsOut]:
    """Those that lie far from the others, the farthest first; durations before survival.

    By `deleted_p`, of the durations and of their rates about the line on temperature, or by the
    funnel of `survival`; p of durations are corrected for all cohorts and stages (Holm 1979).
    """
    centres = {each.stage: each.best.mean for each in stages}
    lines = {each.stage: each.all_cohorts for each in thermal}
    tried = [
        each for stage, rows in by_stage.items() for each in _tried(stage, rows, lines.get(stage))
    ]
    adjusted = holm([*(each.p for each in tried), *(each.p_line for each in tried)])
    warmth = {stage: _middle(row.celsius for row in rows) for stage, rows in by_stage.items()}
    far = []
    for each, p, p_line_holm in zip(
        tried, adjusted[: len(tried)], adjusted[len(tried) :], strict=True
    ):
        off = p_line_holm is not None and p_line_holm < DIFFERENT
        p_holm = 1.0 if p is None else p
        if p_holm >= DIFFERENT and not off:
            continue
        row, middle = each.row, warmth[each.stage]
        centre = centres[each.stage]
        beside = each.there if off and each.there is not None else centre
        far.append(
            StandsOut(
                row.cohort.id,
                row.cohort.name,
                each.stage,
                Direction.LONGER if row.mean > beside else Direction.SHORTER,
                row.mean,
                centre,
                p_holm,
                each.there,
                each.p_line,
                p_line_holm,
                row.celsius,
                middle,
                tuple(_reasons(row.cohort, row.celsius, middle)),
            )
        )
    yield from sorted(far, key=lambda one: min(one.p_holm, one.p_line_holm or 1.0))
    yield from _survival_out(cohorts, survival)


class _Tried(Struct, frozen=True):
    """A cohort in a stage: how often chance would take it so far from the others, how long it
    should take at its temperature, and how often chance would take its rate so far from there."""

    stage: str
    row: CohortInStage
    p: float | None
    there: float | None
    p_line: float | None


def _tried(
    stage: str, rows: Sequence[CohortInStage], line: ThermalConstants | None
) -> Iterator[_Tried]:
    if not rows:
        return
    by_line = _at_temperature(rows, line)
    for place, p in enumerate(deleted_p(*estimates(rows)).tolist()):
        yield _Tried(stage, rows[place], finite(p), *by_line.get(place, (None, None)))


def _survival_out(
    cohorts: Sequence[CohortSummary], survival: SeasonSurvival
) -> Iterator[StandsOut]:
    if survival.over_cohorts is None:
        return
    middle = _middle(each.celsius for each in cohorts)
    by_id = {each.id: each for each in cohorts}
    centre = survival.over_cohorts.centre
    judged = zip(survival.ids, survival.over_cohorts.points, strict=True)
    for key, point in sorted(judged, key=lambda item: item[1].p_holm):
        if point.p_holm < DIFFERENT:
            cohort = by_id[key]
            yield StandsOut(
                cohort.id,
                cohort.name,
                None,
                Direction.MORE if point.fraction > centre else Direction.FEWER,
                point.fraction,
                centre,
                point.p_holm,
                None,
                None,
                None,
                cohort.celsius,
                middle,
                tuple(_reasons(cohort, cohort.celsius, middle)),
            )


def _at_temperature(
    rows: Sequence[CohortInStage], line: ThermalConstants | None
) -> dict[int, tuple[float, float]]:
    """For each of known temperature, by its place: how long it should take by the `line` of all,
    and how often a rate would lie so far from the line of the others. Nobody where the line has its
    threshold above the coldest of them, or there are too few."""
    if line is None or line.threshold >= line.coldest:
        return {}
    warm = {place: row.celsius for place, row in enumerate(rows) if row.celsius is not None}
    means, errors = estimates([rows[place] for place in warm])
    p = deleted_p(
        [1 / mean for mean in means],
        [rate_error(mean, se) for mean, se in zip(means, errors, strict=True)],
        list(warm.values()),
    )
    return {
        place: (line.constant / (celsius - line.threshold), float(own))
        for (place, celsius), own in zip(warm.items(), p, strict=True)
        if not np.isnan(own)
    }


def _middle(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return median(known) if known else None


def _reasons(
    cohort: CohortSummary, celsius: float | None, middle: float | None
) -> Iterator[Reason]:
    if celsius is not None and middle is not None and abs(celsius - middle) >= APART_C:
        yield Reason.WARMER if celsius > middle else Reason.COOLER
    if cohort.struck_temperatures:
        yield Reason.TEMPERATURES_STRUCK
    if cohort.missed > MUCH_MISSED * cohort.due:
        yield Reason.CHECKS_MISSED
    if cohort.doubtful > MUCH_DOUBT * cohort.individuals:
        yield Reason.DOUBTS
    if cohort.gone > MUCH_LOST * cohort.individuals:
        yield Reason.LOST
