"""The tables in which people see the answers. Nothing is computed here, only laid out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rearlog.analysis.composition import Composition
    from rearlog.analysis.durations import Durations, StageDuration
    from rearlog.analysis.growth import Growth
    from rearlog.analysis.heat import Heat
    from rearlog.analysis.survival import Survival


@dataclass(frozen=True)
class Table:
    """Rows under headings, with plain `words` beneath; shown by the terminal and by the page."""

    title: str
    columns: Sequence[str]
    rows: Sequence[Sequence[Any]]
    words: Sequence[str] = ()


def between(interval: Sequence[float | None] | None, digits: int = 1) -> str | None:
    """A range as people read it; an upper end that is not known stays open."""
    if interval is None:
        return None
    low, high = interval
    return f">{low:.{digits}f}" if high is None else f"{low:.{digits}f}–{high:.{digits}f}"


def durations_tables(result: Durations) -> list[Table]:
    """What became of those who entered each stage, and how long it took."""
    fates = Table(
        f"{result.cohort} ({result.species}): what became of those who entered each stage",
        ["stage", "entered", "done", "died", "lost", "removed", "still in", "start unknown"],
        [
            [
                each.stage,
                each.entered,
                each.completed,
                each.died,
                each.lost,
                each.removed,
                each.in_stage,
                each.start_unknown,
            ]
            for each in result.stages
        ],
    )
    days = Table(
        "Days in the stage, of those who completed it",
        ["stage", "n", "mean", "SD", "median", "range", "±", "half by", "expected", "out"],
        [_days_row(each) for each in result.stages],
        [
            "±: how far off one duration can be, since checks show only between which of them a "
            "molt fell. Half by: when half were done, counting those who died or are still in it "
            "(Turnbull’s estimate). Out: individuals that cannot have been in the expected range.",
            "",
            *result.words,
            "",
            *_bases(result.stages),
        ],
    )
    return [fates, days]


def _days_row(each: StageDuration) -> list[Any]:
    width = each.interval_width
    spread = None if each.min is None else between((each.min, each.max))
    return [
        each.stage,
        each.completed,
        each.mean,
        each.sd,
        each.median,
        spread,
        None if width is None else f"{width / 2:.1f}",
        between(each.npmle_median),
        between(each.expected),
        each.outside,
    ]


def _bases(stages: Sequence[StageDuration]) -> list[str]:
    lines = []
    for text, group in groupby(stages, key=lambda each: each.basis):
        lines.append(f"Expected for {', '.join(each.stage for each in group)}: {text}.")
    return lines


def individuals_table(result: Durations) -> list[Table]:
    """Every individual in every stage."""
    return [
        Table(
            f"{result.cohort}: days of each individual",
            ["individual", "stage", "days", "between", "outcome", "DD", "expected", "outside"],
            [
                [
                    each.individual,
                    each.stage,
                    each.days,
                    None if each.low is None else between((each.low, each.high)),
                    each.outcome,
                    each.degree_days,
                    between(each.expected),
                    each.outside or "",
                ]
                for each in result.individuals
            ],
        )
    ]


def heat_tables(result: Heat, *, daily: bool = False) -> list[Table]:
    """The degree-days of each stage, and with `daily` of each day."""
    upper = f", upper {result.upper:g} °C ({result.cutoff} cutoff)" if result.upper else ""
    covered = result.coverage
    words = [
        f"Of {covered.days} days, {covered.recorded} have a temperature on record, "
        f"{covered.filled} are filled from the days beside them, {covered.missing} are missing."
    ]
    if result.missing_dates:
        words.append(f"Missing: {', '.join(map(str, result.missing_dates))}.")
    stages = Table(
        f"{result.cohort}: degree-days above {result.lower:g} °C{upper}, {result.method}",
        ["stage", "n", "mean DD", "SD", "SE", "range", "expected"],
        [
            [
                each.stage,
                each.n,
                each.mean,
                each.sd,
                each.se,
                None if each.min is None else between((each.min, each.max)),
                between(each.expected),
            ]
            for each in result.stages
        ],
        words,
    )
    if not daily:
        return [stages]
    days = Table(
        "Day by day",
        ["date", "DD", "total", ""],
        [
            [str(each.date), each.degree_days, each.cumulative, "filled" if each.filled else ""]
            for each in result.daily
        ],
    )
    return [days, stages]


def survival_tables(result: Survival) -> list[Table]:
    """Deaths by stage, causes, the life table by age, and the answer in words."""
    stages = Table(
        f"{result.cohort}: survival by stage, n = {result.n}",
        ["stage", "entered", "died", "lost", "removed", "completed", "q", "95 % limits", "k"],
        [
            [
                each.stage,
                each.entered,
                each.died,
                each.lost,
                each.removed,
                each.completed,
                each.q,
                between((each.q_low, each.q_high), 2) if each.q_low is not None else None,
                each.k,
            ]
            for each in result.stage_table
        ],
        ["q: the part of those whose fate in the stage is known that died in it."],
    )
    causes = Table(
        "Causes of death",
        ["cause", "stage", "deaths"],
        [[each.cause or "not noted", each.stage, each.deaths] for each in result.causes],
    )
    ages = Table(
        "Life table by age in days",
        ["x", "n", "l", "d", "q", "L", "T", "e"],
        [
            [each.x, each.n, each.l, each.d, each.q, each.L, each.T, each.e]
            for each in result.life_table
        ],
        result.words,
    )
    return [stages, *([causes] if result.causes else []), ages]


def growth_tables(result: Growth) -> list[Table]:
    """Head widths by instar, and the series of what was measured."""
    widths = Table(
        f"{result.cohort}: head capsule width by instar, mm",
        ["instar", "n", "mean", "SD", "ratio", "profile"],
        [
            [
                each.stage,
                each.n,
                each.head_width_mm_mean,
                each.sd,
                each.ratio_to_previous,
                each.expected,
            ]
            for each in result.instars
        ],
        result.words,
    )
    series = Table(
        "Measured",
        ["individual", "day", "stage", "DD", "length mm", "head mm", "mass mg"],
        [
            [
                each.individual,
                each.day,
                each.stage,
                each.degree_days,
                each.length_mm,
                each.head_width_mm,
                each.mass_mg,
            ]
            for each in result.series
        ],
    )
    return [series, widths]


def composition_tables(result: Composition) -> list[Table]:
    """How many were in each stage at the end of each day."""
    return [
        Table(
            f"{result.cohort}: how many were in which stage",
            ["date", *result.stages, "dead", "lost", "removed"],
            [
                [str(day.date), *day.in_stage, day.dead, day.lost, day.removed]
                for day in result.days
            ],
        )
    ]
