"""The tables of the answers about one cohort. Nothing is computed here, only laid out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

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
    from rearlog.analysis.stages.stage_heat import Heat, StageHeat
    from rearlog.analysis.survival.survival import Survival


def durations_tables(result: Durations) -> list[Table]:
    """How long each stage took beside what is expected; then, in full, what became of those who
    entered it, and how sure all of it is."""
    short = Table.of(
        f"{result.cohort} ({result.species}): days in each stage",
        result.stages,
        [
            ("stage", lambda each: each.stage),
            ("finished it", lambda each: each.completed),
            ("days on average", lambda each: tenth(each.mean)),
            ("shortest–longest", _range),
            ("expected", lambda each: between(each.expected)),
            ("which is", durations_words.compared),
        ],
        _gaps(result),
    )
    fates = Table.of(
        f"{result.cohort} ({result.species}): what became of those who entered each stage",
        result.stages,
        [
            ("stage", lambda each: each.stage),
            ("entered", lambda each: each.entered),
            ("done", lambda each: each.completed),
            ("died", lambda each: each.died),
            ("lost", lambda each: each.lost),
            ("removed", lambda each: each.removed),
            ("still in", lambda each: each.in_stage),
            ("start unknown", lambda each: each.start_unknown),
        ],
        full=True,
    )
    days = Table.of(
        "Days in the stage, of those who completed it",
        result.stages,
        [
            ("stage", lambda each: each.stage),
            ("n", lambda each: each.completed),
            ("mean", lambda each: each.mean),
            ("SE", lambda each: each.se),
            ("SD", lambda each: each.sd),
            ("median", lambda each: each.median),
            ("range", _range),
            ("±", _half_width),
            ("expected", lambda each: between(each.expected)),
            ("out", lambda each: each.outside),
        ],
        [
            "SE: standard error of the mean (how far the average may be off), that of the checks "
            "included. SD: how far individuals lie from the average. ±: how far off one duration "
            "can be: a check shows only that a molt fell between the last check and this one. Out: "
            "individuals that cannot have been in the expected range.",
        ],
        full=True,
    )
    done = Table.of(
        "Days after which so many had completed it",
        result.stages,
        [
            ("stage", lambda each: each.stage),
            ("a quarter", lambda each: between(each.quartile_bounds[0])),
            ("half", lambda each: between(each.quartile_bounds[1])),
            ("three quarters", lambda each: between(each.quartile_bounds[2])),
            (f"half of all such: {LIMITS}", lambda each: between(each.median_limits)),
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


def _range(each: StageDuration | StageHeat) -> str | None:
    return None if each.min is None else between((each.min, each.max))


def _half_width(each: StageDuration) -> str | None:
    """How far off one duration can be."""
    return None if each.interval_width is None else f"{each.interval_width / 2:.1f}"


def individuals_table(result: Durations) -> list[Table]:
    """Every individual in every stage."""
    return [
        Table.of(
            f"{result.cohort}: days of each individual",
            result.individuals,
            [
                ("individual", lambda each: each.individual),
                ("stage", lambda each: each.stage),
                ("days", lambda each: each.days),
                ("between", _surely),
                ("outcome", lambda each: each.outcome),
                ("DD", lambda each: each.degree_days),
                ("expected", lambda each: between(each.expected)),
                ("outside", lambda each: each.outside or ""),
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
    reason = no_expected(result)
    short = Table.of(
        f"{result.cohort}: degree-days (heat above {result.lower:g} °C, added up) in each stage",
        result.stages,
        [
            ("stage", lambda each: each.stage),
            ("finished it", lambda each: each.n),
            ("degree-days on average", lambda each: tenth(each.mean)),
            ("expected", lambda each: between(each.expected, 0)),
            ("which is", stage_heat_words.compared),
        ],
        [*_gaps(result), *([f"Nothing is expected here, since {reason}."] if reason else [])],
    )
    stages = Table.of(
        f"{result.cohort}: degree-days above {result.lower:g} °C{upper}, {result.method}",
        result.stages,
        [
            ("stage", lambda each: each.stage),
            ("n", lambda each: each.n),
            ("mean DD", lambda each: each.mean),
            ("SD", lambda each: each.sd),
            ("SE", lambda each: each.se),
            ("range", _range),
            ("expected", lambda each: between(each.expected)),
        ],
        [
            f"Days: {covered.days}, of which with a temperature on record {covered.recorded}, "
            f"filled from the days beside them {covered.filled}, missing {covered.missing}."
        ],
        full=True,
    )
    days = Table.of(
        "Day by day",
        result.daily,
        [
            ("date", lambda each: str(each.date)),
            ("DD", lambda each: each.degree_days),
            ("total", lambda each: each.cumulative),
            ("", lambda each: "filled" if each.filled else ""),
        ],
        full=not daily,
    )
    return [short, days, stages]


def survival_tables(result: Survival, *, kaplan_meier: bool = False) -> list[Table]:
    """What became of those who entered each stage; then, in full, mortality, causes and life table.

    The curve is in full too, unless `kaplan_meier` asks for it.
    """
    stages = Table.of(
        f"{result.cohort}: survival by stage, n = {result.n}",
        result.stage_table,
        [
            ("stage", lambda each: each.stage),
            ("entered", lambda each: each.entered),
            ("died", lambda each: each.died),
            ("lost", lambda each: each.lost),
            ("taken out", lambda each: each.removed),
            ("still in it", lambda each: each.in_stage),
            ("went on", lambda each: each.completed),
        ],
        survival_words.told(result),
    )
    mortality = Table.of(
        "Mortality by stage",
        [each for each in result.stage_table if each.q_least is not None],
        [
            ("stage", lambda each: each.stage),
            ("q", lambda each: limits(each.q_least, each.q_most) if each.q is None else each.q),
            (LIMITS, lambda each: limits(each.q_low, each.q_high)),
            ("k", lambda each: each.k),
            (
                LIMITS,
                lambda each: None if each.k_low is None else between((each.k_low, each.k_high), 2),
            ),
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
    causes = Table.of(
        "Causes of death",
        result.causes,
        [
            ("cause", lambda each: each.cause or "not noted"),
            ("stage", lambda each: each.stage),
            ("deaths", lambda each: each.deaths),
        ],
        full=True,
    )
    days = "Survival by age in days"
    if result.since is not None:
        days = f"Survival by {survival_words.days_of([result]).lower()}"
    curve = Table.of(
        f"{days} (Kaplan–Meier)",
        result.kaplan_meier,
        [
            ("day", lambda each: f"{round(each.day, 2):g}"),
            ("at risk", lambda each: each.at_risk),
            ("died", lambda each: each.deaths),
            ("censored", lambda each: each.censored),
            ("survival", lambda each: each.survival),
            ("SE", lambda each: each.se),
            (LIMITS, lambda each: limits(each.low, each.high)),
        ],
        [
            "A death counts on the day it was found. Censored: lost, taken out alive, or alive at "
            "the last check. SE by Greenwood, limits "
            "on the log–log scale, and Wilson’s where all or none survive."
        ],
        full=not kaplan_meier,
    )
    looks = Table.of(
        "Survival between the looks (Turnbull)",
        result.between_looks,
        [
            ("after day", lambda each: f"{round(each.after, 2):g}"),
            ("by day", lambda each: f"{round(each.by, 2):g}"),
            ("died", lambda each: each.died),
            ("survival", lambda each: each.survival),
        ],
        [
            "Died: the part of all that died after the one day and by the other, for a death found "
            "is one since the last look."
        ],
        full=not kaplan_meier,
    )
    ages = Table.of(
        "Life table by age in days" if result.since is None else f"Life table, {days.lower()}",
        result.life_table,
        [
            ("x", lambda each: each.x),
            ("n", lambda each: each.n),
            ("l", lambda each: each.l),
            ("d", lambda each: each.d),
            ("q", lambda each: each.q),
            ("L", lambda each: each.L),
            ("T", lambda each: each.T),
            ("e", lambda each: each.e),
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
    short = Table.of(
        f"{result.cohort}: how wide the head was in each stage",
        result.instars,
        [
            ("stage", lambda each: each.stage),
            ("measured", lambda each: each.n),
            ("mm on average", lambda each: each.head_width_mm_mean),
            ("times the one before", lambda each: each.ratio_to_previous),
            ("usual, mm", lambda each: each.expected),
        ],
    )
    widths = Table.of(
        f"{result.cohort}: head capsule width by instar, mm",
        result.instars,
        [
            ("instar", lambda each: each.stage),
            ("n", lambda each: each.n),
            ("mean", lambda each: each.head_width_mm_mean),
            ("SD", lambda each: each.sd),
            ("ratio", lambda each: each.ratio_to_previous),
            ("profile", lambda each: each.expected),
        ],
        growth_words.words(result),
        full=True,
    )
    series = Table.of(
        "Measured",
        result.series,
        [
            ("individual", lambda each: each.individual),
            ("day", lambda each: each.day),
            ("stage", lambda each: each.stage),
            ("DD", lambda each: each.degree_days),
            ("length mm", lambda each: each.length_mm),
            ("head mm", lambda each: each.head_width_mm),
            ("mass mg", lambda each: each.mass_mg),
        ],
        full=True,
    )
    gains = Table.of(
        "Growth from weighing to weighing",
        result.gains,
        [
            ("individual", lambda each: each.individual),
            ("from day", lambda each: each.from_day),
            ("to day", lambda each: each.to_day),
            ("rate a day", lambda each: each.rate_per_day),
            ("fold", lambda each: each.fold),
        ],
        ["Rate: ln(m2/m1)/days, the growth a day as a part of the mass."],
        full=bool(result.instars),
    )
    measured = [each for each in (series, gains) if each.rows]
    if not result.instars:
        return [*reversed(measured), replace(widths, columns=[])]
    return [short, *measured, widths]


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
    return [] if result.gaps is None else [gaps(result.gaps) + "."]
