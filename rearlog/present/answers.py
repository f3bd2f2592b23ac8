"""The tables of the answers about one cohort. Nothing is computed here, only laid out."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from rearlog.analysis.statistics.levels import LEAST_TOLD
from rearlog.analysis.statistics.life_table import STILL_THAT_DAY
from rearlog.present.tables import Table, between, limits, tenth
from rearlog.sentences import durations as durations_words
from rearlog.sentences import growth as growth_words
from rearlog.sentences import stage_heat as stage_heat_words
from rearlog.sentences import survival as survival_words
from rearlog.sentences import survival_by_group as by_group_words
from rearlog.sentences.gap_filling import gaps
from rearlog.sentences.phrases import LIMITS, reached_word
from rearlog.sentences.stage_heat import no_expected

if TYPE_CHECKING:
    from rearlog.analysis.comparing.survival_by_group import SurvivalByGroup
    from rearlog.analysis.growth.growth import Growth
    from rearlog.analysis.stages.durations import Durations, IndividualDuration, StageDuration
    from rearlog.analysis.stages.stage_counts import StageCounts
    from rearlog.analysis.stages.stage_heat import Heat
    from rearlog.analysis.survival.survival import Survival


def durations_tables(result: Durations) -> list[Table]:
    """How long each stage took beside what is expected; then, in full, what became of those who
    entered it, and how sure all of it is."""
    short = Table(
        f"{result.cohort} ({result.species}): days in each stage",
        ["stage", "finished it", "days on average", "shortest–longest", "expected", "which is"],
        [
            [
                each.stage,
                each.completed,
                tenth(each.mean),
                None if each.min is None else between((each.min, each.max)),
                between(each.expected),
                durations_words.compared(each),
            ]
            for each in result.stages
        ],
        _gaps(result),
    )
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
        full=True,
    )
    days = Table(
        "Days in the stage, of those who completed it",
        ["stage", "n", "mean", "SE", "SD", "median", "range", "±", "expected", "out"],
        [_days_row(each) for each in result.stages],
        [
            "SE: standard error of the mean (how far the average may be off), that of the checks "
            "included. SD: how far individuals lie from the average. ±: how far off one duration "
            "can be: a check shows only that a molt fell between the last check and this one. Out: "
            "individuals that cannot have been in the expected range.",
        ],
        full=True,
    )
    done = Table(
        "Days after which so many had completed it",
        ["stage", "a quarter", "half", "three quarters", f"half of all such: {LIMITS}"],
        [
            [each.stage, *map(between, each.quartile_bounds), between(each.median_limits)]
            for each in result.stages
        ],
        [
            "After some time between the two numbers: checks tell no more of these individuals. "
            "Those that died or are still in it count for as long as they were watched. Half of "
            "all such: of all the individuals that these stand for. –: too few have completed it.",
            "",
            *durations_words.words(result),
            "",
            *durations_words.bases(result.stages),
        ],
        full=True,
    )
    return [short, fates, days, done]


def _days_row(each: StageDuration) -> list[Any]:
    width = each.interval_width
    spread = None if each.min is None else between((each.min, each.max))
    return [
        each.stage,
        each.completed,
        each.mean,
        each.se,
        each.sd,
        each.median,
        spread,
        None if width is None else f"{width / 2:.1f}",
        between(each.expected),
        each.outside,
    ]


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
                    _surely(each),
                    each.outcome,
                    each.degree_days,
                    between(each.expected),
                    each.outside or "",
                ]
                for each in result.individuals
            ],
            _gaps(result),
        )
    ]


def _surely(each: IndividualDuration) -> str | None:
    """Between how many days it was in a stage; nothing where that it was is all that is known."""
    if each.low is None or (each.high is None and each.low < LEAST_TOLD):
        return None
    return between((each.low, each.high))


def heat_tables(result: Heat, *, daily: bool = False) -> list[Table]:
    """The degree-days of each stage beside what is expected; then, in full or where they are asked
    for, those of each day."""
    upper = f", upper {result.upper:g} °C ({result.cutoff} cutoff)" if result.upper else ""
    covered = result.coverage
    words = [
        f"Days: {covered.days}, of which with a temperature on record {covered.recorded}, filled "
        f"from the days beside them {covered.filled}, missing {covered.missing}."
    ]
    words += _gaps(result)
    if (reason := no_expected(result)) is not None:
        words.append(f"Nothing is expected here, since {reason}.")
    short = Table(
        f"{result.cohort}: degree-days (heat above {result.lower:g} °C, added up) in each stage",
        ["stage", "finished it", "degree-days on average", "expected", "which is"],
        [
            [
                each.stage,
                each.n,
                tenth(each.mean),
                between(each.expected, 0),
                stage_heat_words.compared(each),
            ]
            for each in result.stages
        ],
        words[1:],
    )
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
        words[:1],
        full=True,
    )
    days = Table(
        "Day by day",
        ["date", "DD", "total", ""],
        [
            [str(each.date), each.degree_days, each.cumulative, "filled" if each.filled else ""]
            for each in result.daily
        ],
        full=not daily,
    )
    return [short, days, stages]


def survival_tables(result: Survival, *, kaplan_meier: bool = False) -> list[Table]:
    """What became of those who entered each stage; then, in full, mortality, causes and life table.

    The curve is in full too, unless `kaplan_meier` asks for it.
    """
    stages = Table(
        f"{result.cohort}: survival by stage, n = {result.n}",
        ["stage", "entered", "died", "lost", "taken out", "still in it", "went on"],
        [
            [
                each.stage,
                each.entered,
                each.died,
                each.lost,
                each.removed,
                each.in_stage,
                each.completed,
            ]
            for each in result.stage_table
        ],
        survival_words.told(result),
    )
    mortality = Table(
        "Mortality by stage",
        ["stage", "q", LIMITS, "k", LIMITS],
        [
            [
                each.stage,
                limits(each.q_least, each.q_most) if each.q is None else each.q,
                limits(each.q_low, each.q_high),
                each.k,
                None if each.k_low is None else between((each.k_low, each.k_high), 2),
            ]
            for each in result.stage_table
            if each.q_least is not None
        ],
        [
            "q: the part that dies in the stage; who was lost, taken out or is still in it counts "
            "as long as it was watched (Aalen & Johansen’s estimate). Two numbers: the last were "
            "not watched to the end of it, and q lies between them. k: its killing power, "
            "−log10(1 − q). K, that of all these stages together, from the part that reached "
            f"{reached_word(result.reached.stage)}: {survival_words.total_k(result)}."
        ],
        full=True,
    )
    causes = Table(
        "Causes of death",
        ["cause", "stage", "deaths"],
        [[each.cause or "not noted", each.stage, each.deaths] for each in result.causes],
        full=True,
    )
    days = "Survival by age in days"
    if result.since is not None:
        days = f"Survival by {survival_words.days_of([result]).lower()}"
    curve = Table(
        f"{days} (Kaplan–Meier)",
        ["day", "at risk", "died", "censored", "survival", "SE", LIMITS],
        [
            [
                f"{round(each.day, 2):g}",
                each.at_risk,
                each.deaths,
                each.censored,
                each.survival,
                each.se,
                limits(each.low, each.high),
            ]
            for each in result.kaplan_meier
        ],
        [
            "A death counts on the day it was found. Censored: lost, taken out alive, or alive at "
            "the last check. SE by Greenwood, limits "
            "on the log–log scale, and Wilson’s where all or none survive."
        ],
        full=not kaplan_meier,
    )
    looks = Table(
        "Survival between the looks (Turnbull)",
        ["after day", "by day", "died", "survival"],
        [
            [f"{round(each.after, 2):g}", f"{round(each.by, 2):g}", each.died, each.survival]
            for each in result.between_looks
        ],
        [
            "Died: the part of all that died after the one day and by the other, for a death found "
            "is one since the last look."
        ],
        full=not kaplan_meier,
    )
    ages = Table(
        "Life table by age in days" if result.since is None else f"Life table, {days.lower()}",
        ["x", "n", "l", "d", "q", "L", "T", "e"],
        [
            [each.x, each.n, each.l, each.d, each.q, each.L, each.T, each.e]
            for each in result.life_table
        ],
        [
            "At age x: n alive, l the part of all that is; from x to the next day: d died, q the "
            "chance to, L days lived by each of all; T the sum of L from x on; e the days still to "
            "live within this table, which ends with the watch: it is no length of life. A look "
            f"up to {STILL_THAT_DAY:g} days after age x counts as that of day x, a later one as "
            "that of the next.",
            "",
            *survival_words.words(result),
        ],
        full=True,
    )
    return [
        stages,
        *([mortality] if mortality.rows else []),
        *([causes] if result.causes else []),
        curve,
        *([looks] if result.between_looks else []),
        ages,
    ]


def by_group_tables(result: SurvivalByGroup, *, kaplan_meier: bool = False) -> list[Table]:
    """The groups beside each other; then, in full, the tables of `survival_tables` for each."""
    found = result.comparison
    expected = {each.cohort: each.expected for each in found.groups} if found else {}
    beside = Table(
        f"{', '.join(result.cohorts)}: survival by {result.by}",
        [result.by, "n", "died", "expected", "half died after day", "by day"],
        [
            [name, each.n, each.deaths, expected.get(name), each.median.low, each.median.high]
            for name, each in zip(result.names, result.groups, strict=True)
        ],
        [
            "Expected: deaths if all groups died alike (log-rank test of deaths that lie between "
            "two looks; p by permutation).",
            "",
            *by_group_words.words(result),
        ],
    )
    each_group = [
        table
        for group in result.groups
        for place, table in enumerate(survival_tables(group, kaplan_meier=kaplan_meier))
        for table in [replace(table, full=True) if not place else table]
    ]
    return [beside, *each_group]


def growth_tables(result: Growth) -> list[Table]:
    """Head widths by instar, and the series of what was measured."""
    short = Table(
        f"{result.cohort}: how wide the head was in each stage",
        ["stage", "measured", "mm on average", "times the one before", "usual, mm"],
        [
            [
                each.stage,
                each.n,
                each.head_width_mm_mean,
                each.ratio_to_previous,
                each.expected,
            ]
            for each in result.instars
        ],
    )
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
        growth_words.words(result),
        full=True,
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
        full=True,
    )
    gains = Table(
        "Growth from weighing to weighing",
        ["individual", "from day", "to day", "rate a day", "fold"],
        [
            [each.individual, each.from_day, each.to_day, each.rate_per_day, each.fold]
            for each in result.gains
        ],
        ["Rate: ln(m2/m1)/days, the growth a day as a part of the mass."],
        full=bool(result.instars),
    )
    if not result.instars:
        widths = Table(widths.title, [], [], growth_words.words(result), full=True)
        shown = [(gains, result.gains), (series, result.series)]
        return [*(table for table, rows in shown if rows), widths]
    shown = [(series, result.series), (gains, result.gains)]
    return [short, *(table for table, rows in shown if rows), widths]


def stage_count_tables(result: StageCounts) -> list[Table]:
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


def _gaps(result: Durations | Heat) -> list[str]:
    """What was made of days without a temperature, where there are some."""
    return [] if result.gaps is None else [f"{gaps(result.gaps)}."]
