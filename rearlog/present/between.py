"""The tables of the answers between cohorts. Nothing is computed here, only laid out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

from rearlog.analysis.comparing.stage_comparison import DAYS, DEGREE_DAYS, MOST_IN_PAIRS
from rearlog.present.tables import Table, between, constants_reach, limits, p_cell, reach, tenth
from rearlog.sentences import compare as comparison_words
from rearlog.sentences import factorial as factorial_words
from rearlog.sentences import growth_by_heat as growth_by_heat_words
from rearlog.sentences import heat_mortality as mortality_words
from rearlog.sentences import sample_size as sample_size_words
from rearlog.sentences import stage_comparison as stage_words
from rearlog.sentences import survival_difference as survival_words
from rearlog.sentences import thermal as thermal_words
from rearlog.sentences.heat_needs import assumed
from rearlog.sentences.phrases import LIMITS
from rearlog.sentences.survival import share_reached

if TYPE_CHECKING:
    from rearlog.analysis.comparing.compare import Comparison
    from rearlog.analysis.comparing.factorial import Cell, Effect, Factorial
    from rearlog.analysis.comparing.growth_by_heat import GrowthByHeat
    from rearlog.analysis.comparing.heat_mortality import HeatMortality
    from rearlog.analysis.comparing.rate_curves import RateCurve
    from rearlog.analysis.comparing.stage_comparison import StageComparison
    from rearlog.analysis.comparing.survival_difference import GroupSurvival, SurvivalComparison
    from rearlog.analysis.comparing.thermal import RatePoint, StageThermal, Thermal
    from rearlog.analysis.simulation.sample_size import SampleSize


def factorial_tables(result: Factorial) -> list[Table]:
    """Of the whole the terms, the ratios of the levels and the combinations; then, in full, the
    terms and combinations of every stage. Where nothing could be tested, the combinations alone."""
    row = result.overall
    if row is None:
        return []
    title = " and ".join(result.factors)
    lines = factorial_words.words(result)
    rest = [each for each in result.stages if each is not row]
    combinations = Table(
        f"{row.stage}: days of each combination",
        [*result.factors, "n", "finished it", "days on average", LIMITS],
        [_cell(each) for each in row.cells],
    )
    if not any(each.effects for each in result.stages):
        return [combinations]
    return [
        Table(
            f"{row.stage}: what {title} add",
            ["term", "df", "χ²", "F", "df of error", "p"],
            [_effect(each) for each in row.effects],
            [
                "χ²: how far the term improves the fit of the logarithms of the days; p by F. Of a "
                "stage, p is corrected for the number of stages (Holm).",
                *lines,
            ],
        ),
        Table.of(
            f"{row.stage}: how many times as long",
            row.ratios,
            [
                ("factor", lambda each: each.factor),
                ("level", lambda each: each.level),
                ("beside", lambda each: each.reference),
                ("times as long", lambda each: each.ratio),
                (LIMITS, lambda each: between((each.low, each.high), 2)),
            ],
        ),
        combinations,
        Table(
            f"Stage by stage: what {title} add",
            ["stage", "term", "df", "χ²", "F", "df of error", "p"],
            [[each.stage, *_effect(effect)] for each in rest for effect in each.effects],
            [
                f"{each.stage}: no test, since {factorial_words.reason(each)}."
                for each in rest
                if not each.effects
            ],
            full=True,
        ),
        Table(
            "Stage by stage: days of each combination",
            ["stage", *result.factors, "n", "finished it", "days on average", LIMITS],
            [[each.stage, *_cell(cell)] for each in rest for cell in each.cells],
            full=True,
        ),
    ]


def _effect(effect: Effect) -> list[Any]:
    p = effect.p if effect.p_holm is None else effect.p_holm
    return [effect.term, effect.df, effect.chi2, effect.f, round(effect.freedom), p_cell(p)]


def _cell(cell: Cell) -> list[Any]:
    mean, likely = tenth(cell.mean), limits(cell.low, cell.high, 1)
    return [*cell.levels, cell.n, cell.completed, mean, likely]


MOST_SIDE_BY_SIDE = 6
"""More cohorts than this are a row each, not a column."""


def comparison_tables(result: Comparison) -> list[Table]:
    """The means of each stage side by side; then, in full, stage by stage in days and in
    degree-days with the tests, and survival."""
    tables = [*_short(result)]
    for unit in dict.fromkeys(row.unit for row in result.stages):
        rows = [row for row in result.stages if row.unit == unit]
        what = stage_words.unit_word(rows[0])
        more = _more_columns(rows)
        tables.append(
            Table(
                f"{_called(result.cohorts)}: {what} of those that completed it",
                ["stage", "cohort", "n", "mean", "SE", "SD", "median", *more, "p", "test"],
                [cells for row in rows for cells in _group_rows(row, more)],
                [
                    "SE: standard error of the mean (how far the average may be off), that of the "
                    "checks included. SD: how far individuals lie from the average. p: how often "
                    "chance alone would make cohorts differ so much; in a stage, corrected for "
                    "the number of stages (Holm). Test: of the means (Welch)."
                    f"{''.join(_MORE[name] for name in more)} No difference shown does not mean "
                    "that there is none.",
                    "",
                    *map(stage_words.words, rows),
                ],
                full=True,
            )
        )
    return [*tables, _survival(result.cohorts, result.survival)]


def _called(cohorts: Sequence[str]) -> str:
    """Cohorts in a title: by their names, or of many their number."""
    if len(cohorts) <= MOST_IN_PAIRS:
        return ", ".join(cohorts)
    return f"{len(cohorts)} cohorts"


def _short(result: Comparison) -> Iterator[Table]:
    """The days of each stage, a column a cohort; of many cohorts the whole, a row a cohort."""
    rows = [row for row in result.stages if row.unit == DAYS]
    if not rows:
        return
    if len(result.cohorts) <= MOST_SIDE_BY_SIDE:
        yield Table(
            "Days in each stage, on average",
            ["stage", *result.cohorts, "do they differ?"],
            [
                [
                    row.stage,
                    *(tenth(stage_words.compared_mean(each)) for each in row.groups),
                    stage_words.differ(row),
                ]
                for row in rows
            ],
            comparison_words.beside(result),
        )
        return
    units = {row.unit: row for row in result.overall}
    days, heat = units[DAYS], units.get(DEGREE_DAYS)
    warm = {each.cohort: each for each in heat.groups} if heat else {}
    died = {each.cohort: each for each in result.survival.groups}
    yield Table.of(
        f"The {len(result.cohorts)} cohorts: {days.stage}",
        days.groups,
        [
            ("cohort", lambda each: each.cohort),
            ("finished it", lambda each: each.n),
            ("days on average", lambda each: tenth(stage_words.compared_mean(each))),
            (
                "degree-days",
                lambda each: tenth(stage_words.compared_mean(warm[each.cohort])) if warm else None,
            ),
            ("died", lambda each: f"{died[each.cohort].died} of {died[each.cohort].n}"),
        ],
        comparison_words.beside(result),
    )


def _survival(cohorts: Sequence[str], result: SurvivalComparison) -> Table:
    """Who died, and what part reached the end, or how long half of them lived in the last stage."""
    what, end, explained = "survival", survival_words.end_reached(result), ""
    if result.of_last_stage:
        what, end = f"survival since first seen as {result.since}", "half had died (days)"
        explained = f" Half had died: after and by which day since first seen as {result.since}."
    return Table(
        f"{_called(cohorts)}: {what}",
        ["cohort", "n", "died", "expected", end, LIMITS],
        [
            [
                *(each.cohort, each.n, each.died, each.expected),
                *(_half_died(each) if result.of_last_stage else _reached(each)),
            ]
            for each in result.groups
        ],
        [
            "Expected: deaths if all cohorts died alike (log-rank test of deaths that lie between "
            f"two looks; p by permutation).{explained}",
            "",
            survival_words.words(result),
        ],
        full=not result.of_last_stage,
    )


def _reached(group: GroupSurvival) -> tuple[str, str | None]:
    low, high = group.reached.low, group.reached.high
    return share_reached(group.reached), None if low is None else between((low, high), 2)


def _half_died(group: GroupSurvival) -> tuple[str | None, str | None]:
    found = group.median
    if found is None or found.low is None:
        return None, None
    low, high = found.population_low, found.population_high
    return between((found.low, found.high)), None if low is None else between((low, high))


_MORE = {
    "all": " All: the mean with those counted that were not seen to complete it; such tests are "
    "of the logarithms of these.",
    "alike": " Alike: cohorts that share a letter were not shown to differ, the number of pairs "
    "allowed for (Games and Howell).",
}
"""Columns for some comparisons, with their sentences."""


def _more_columns(rows: Sequence[StageComparison]) -> list[str]:
    """The columns of which some row has something."""
    groups = [group for row in rows for group in row.groups]
    known = {
        "all": any(group.mean_of_all is not None for group in groups),
        "alike": any(
            each.letters is not None for row in rows if len(row.groups) > 2 for each in row.groups
        ),
    }
    return [name for name, there in known.items() if there]


def _group_rows(row: StageComparison, more: Sequence[str]) -> Iterator[list[Any]]:
    """A row a cohort; what holds for the stage stands in its first."""
    for place, group in enumerate(row.groups):
        yield [
            "" if place else row.stage,
            group.cohort,
            group.n,
            group.mean,
            group.se,
            group.sd,
            group.median,
            *({"all": group.mean_of_all, "alike": group.letters or ""}[name] for name in more),
            "" if place else p_cell(row.p_holm),
            "" if place or row.p is None else stage_words.test_name(row),
        ]


def thermal_tables(result: Thermal) -> list[Table]:
    """The threshold and the heat that each stage needs above it; then, in full, the points, the
    models, and what they say."""
    short = Table.of(
        f"{result.species}: below how many °C nothing develops, and the heat it takes",
        result.stages,
        [
            ("stage", lambda each: each.stage),
            ("°C", lambda each: each.linear and tenth(each.linear.threshold)),
            ("possible", lambda each: each.linear and constants_reach(each.linear, 1)[0]),
            ("degree-days", lambda each: each.linear and round(each.linear.constant)),
            ("possible", lambda each: each.linear and constants_reach(each.linear, 1)[1]),
            ("", lambda each: thermal_words.remark(each) if each.linear else "no line yet"),
        ],
        [
            "Degree-days: heat above the threshold, added up. Possible: so far the true values may "
            f"be off ({LIMITS}); –: two temperatures do not tell. Other answers count heat above "
            "the lower threshold of the species profile, not above this one.",
            *thermal_words.unusable(result),
            *(mortality_words.words(result.mortality[-1])[:1] if result.mortality else ()),
            *([f"Left out: {', '.join(result.left_out)}."] if result.left_out else []),
        ],
    )
    points = Table(
        f"{result.species}: mean days at the mean temperature while in the stage",
        ["stage", "cohort", "°C", "days", "SE", "rate", "residual", "n", ""],
        [
            [
                "" if place else each.stage,
                point.cohort,
                point.temperature,
                point.days,
                point.days_se,
                f"{point.rate:.4f}",
                None if point.residual is None else f"{point.residual:+.4f}",
                point.n,
                ", ".join(_marks(point)),
            ]
            for each in result.stages
            for place, point in enumerate(each.points)
        ],
        [
            "Rate: 1/days. Residual: how far the rate lies above the straight line. "
            "+: so many more are still in the stage."
        ],
        full=True,
    )
    constants = Table.of(
        "Lower threshold T0 (°C) and thermal constant K (degree-days)",
        result.stages,
        [
            ("stage", lambda each: each.stage),
            ("T0", lambda each: each.linear and _doubted(each, each.linear.threshold)),
            ("SE", lambda each: each.linear and each.linear.threshold_se),
            ("K", lambda each: each.linear and each.linear.constant),
            ("SE", lambda each: each.linear and each.linear.constant_se),
            ("T0 (WLS)", lambda each: each.weighted and each.weighted.threshold),
            ("SE", lambda each: each.weighted and each.weighted.threshold_se),
            ("T0 (RMA)", lambda each: each.ikemoto_takai and each.ikemoto_takai.threshold),
            ("K (RMA)", lambda each: each.ikemoto_takai and each.ikemoto_takai.constant),
        ],
        [
            "T0 and K: straight line through the rates (Campbell et al. 1974). With few cohorts "
            f"the {LIMITS} lie far more than two SE away. WLS: the line with cohorts weighed by "
            "1/SE² of their rates. RMA: reduced major axis (Ikemoto and Takai 2000). "
            "?: not to be used, for the reason below.",
            "",
            *[f"{each.stage}: {' '.join(thermal_words.words(each))}" for each in result.stages],
            *_no_curves(result.stages),
        ],
        full=True,
    )
    compared = [(each.stage, each.curves) for each in result.stages if len(each.curves) > 1]
    curves = [_curves_table(compared)] if compared else []
    return [short, points, constants, *curves, *_mortality_tables(result)]


def _mortality_tables(result: Thermal) -> Iterator[Table]:
    """What part of each stage died at which temperature, and what follows for all temperatures."""
    if result.mortality:
        yield Table(
            f"{result.species}: the part that died, by the temperature while in the stage",
            ["stage", "cohort", "°C", "n", "died", "mortality", LIMITS, "curve", LIMITS],
            [
                [
                    "" if place else each.stage,
                    point.cohort,
                    point.temperature,
                    point.n,
                    point.died,
                    point.mortality,
                    between((point.low, point.high), 2),
                    *_on_curve(each, point.temperature),
                ]
                for each in result.mortality
                for place, point in enumerate(each.points)
            ],
            [
                "n: those that died in the stage or came through. Curve: the part that dies at "
                "this temperature by logistic regression on °C and, from four temperatures on, "
                "°C²; its limits count that cohorts scatter by more than chance (quasi-binomial).",
                "",
                *[" ".join(mortality_words.words(each)) for each in result.mortality],
            ],
            full=True,
        )


def _on_curve(each: HeatMortality, celsius: float) -> tuple[float | None, str | None]:
    if each.curve is None:
        return None, None
    low, high = (float(end[0]) for end in each.curve.band([celsius]))
    return float(each.curve.mortality([celsius])[0]), between((low, high), 2)


def growth_by_heat_tables(result: GrowthByHeat) -> list[Table]:
    """How fast each cohort grows; then, in full, the laws of it."""
    points = Table.of(
        f"{result.species}: how fast the population grows, by temperature",
        result.points,
        [
            ("cohort", lambda point: point.cohort),
            ("°C", lambda point: tenth(point.temperature)),
            ("n", lambda point: point.n),
            ("r a day", lambda point: None if point.r is None else f"{point.r:.4f}"),
            (LIMITS, lambda point: None if point.low is None else reach(point.low, point.high, 4)),
            ("SE", lambda point: None if point.se is None else f"{point.se:.4f}"),
            ("", lambda point: "" if point.used else "not fitted"),
        ],
        [
            "r: the part by which the population would grow a day at stable ages; limits and SE by "
            "the bootstrap over individuals. °C: the mean of their lives.",
            *growth_by_heat_words.words(result),
        ],
    )
    laws = [_curves_table([("r", result.curves)])] if len(result.curves) > 1 else []
    return [points, *laws]


def _curves_table(curves: Sequence[tuple[str, Sequence[RateCurve]]]) -> Table:
    """The laws of each stage (or of r), the best first."""
    return Table(
        "Laws of the rate, compared",
        ["stage", "law", "ΔAICc", "weight", "T0", "optimum", "upper"],
        [
            [
                "" if place else name,
                curve.law.replace("_", "-"),
                f"{curve.delta:.1f}",
                f"{curve.weight:.0%}",
                curve.threshold,
                curve.optimum,
                curve.upper,
            ]
            for name, laws in curves
            for place, curve in enumerate(laws)
        ],
        [
            "°C at which the rate is 0, highest, and 0 again; the latter two only where a cohort "
            "lies past the highest point. ΔAICc: how much worse than the best (Burnham and "
            "Anderson 2002); weight: its part of the evidence."
        ],
        full=True,
    )


def _no_curves(stages: tuple[StageThermal, ...]) -> Iterator[str]:
    without = [(each.no_curve, each.stage) for each in stages if each.no_curve is not None]
    for reason, group in groupby(without, key=lambda each: each[0]):
        names = ", ".join(stage for _, stage in group)
        yield f"No curve for {names}: {thermal_words.WHY_NOT[reason]}."


def _doubted(each: StageThermal, threshold: float) -> float | str:
    """A threshold, with a mark where it is not to be used."""
    return threshold if thermal_words.is_credible(each) else f"{threshold:.2f} ?"


def _marks(point: RatePoint) -> Iterator[str]:
    if not point.used:
        yield "left out"
    if point.in_stage:
        yield f"+{point.in_stage}"


def sample_size_tables(result: SampleSize) -> list[Table]:
    """The sizes that were tried, and the one that is enough; in full, how sure that is."""
    (lead, *others) = sample_size_words.words(result)
    return [
        Table.of(
            f"{result.stage} to {result.until}: how often a difference shows",
            result.table,
            [
                ("individuals in each cohort", lambda each: each.n),
                ("shown in", lambda each: f"{each.power:.0%}"),
            ],
            [*others, *(f"Note: {text}." for text in assumed(result.assumptions))],
        ),
        Table.of(
            f"{result.stage} to {result.until}: {result.days:.1f} days at {result.celsius:.1f} °C, "
            f"{result.other_days:.1f} at {result.other_celsius:.1f} °C",
            result.table,
            [
                ("individuals", lambda each: each.n),
                ("shown", lambda each: f"{each.power:.1%}"),
                (LIMITS, lambda each: f"{each.low:.1%}–{each.high:.1%}"),
            ],
            [
                f"Shown: the part of {result.runs} invented comparisons in which p was below "
                f"{result.level:g}, checks every {_days(result.every)}. With "
                f"{result.false_alarms.n} individuals and no difference it was so in "
                f"{result.false_alarms.power:.1%} ({result.false_alarms.low:.1%}–"
                f"{result.false_alarms.high:.1%}).",
                "",
                lead,
            ],
            full=True,
        ),
    ]


def _days(count: int) -> str:
    return "day" if count == 1 else f"{count} days"
