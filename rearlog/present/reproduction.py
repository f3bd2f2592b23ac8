"""The tables of life tables. Nothing is computed here, only laid out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any

from msgspec.structs import replace

from rearlog.analysis.reproduction.estimates import Estimate, Measure
from rearlog.analysis.reproduction.pairs_of_cohorts import PairOfCohorts
from rearlog.analysis.reproduction.reproduction import (
    AgeStageDay,
    LifeTableDay,
    Reproduction,
    ReproductionComparison,
)
from rearlog.analysis.statistics.differences import Verdict
from rearlog.analysis.statistics.pairs import letters
from rearlog.present.between import MOST_SIDE_BY_SIDE
from rearlog.present.flat import flat, grouped_rows
from rearlog.present.tables import Table, reach
from rearlog.sentences import reproduction as sentences
from rearlog.sentences.differences import DIFFER
from rearlog.sentences.phrases import LIMITS

SHORT = (
    Measure.R0,
    Measure.RATE,
    Measure.FINITE_RATE,
    Measure.GENERATION,
    Measure.DOUBLING,
    Measure.PRE_LAYING,
    Measure.EGGS,
    Measure.FEMALE_DAYS,
    Measure.MALE_DAYS,
    Measure.FEMALE_SHARE,
    Measure.HATCH_SHARE,
)
"""What is shown unasked."""

_ROUND = "n: individuals (of eggs that hatch: eggs). SE: standard error (how far it may be off)."


def reproduction_tables(
    result: Reproduction, *, ages: bool = False, stages: bool = False
) -> list[Table]:
    """The figures that most people want; then, in full, all of them, those of females only, and the
    life tables by age and by age and stage, which can be asked for by themselves."""
    eggs = f"{result.cohort} ({result.n} eggs)"
    return [
        Table.of(
            f"{eggs}: from egg to egg",
            [each for each in result.estimates if _is_told(each)],
            [each for each in _EVERY_FIGURE if each[0] != "n"],
            sentences.words(result),
        ),
        Table.of(
            f"{eggs}: every figure, of both sexes",
            result.estimates,
            _EVERY_FIGURE,
            [_ROUND],
            full=True,
        ),
        Table.of(
            f"{eggs}: of females only, eggs that become daughters",
            result.females_only,
            _EVERY_FIGURE,
            [
                "Who died before its sex showed counts as the part of a female that females are of "
                "the others. Where nobody is lost, R0, r and T are those of both sexes."
            ],
            full=True,
        ),
        _by_age(result, full=not ages),
        _by_stage(result, full=not stages),
        Table.of(
            f"{result.cohort}: stages in a population of stable ages",
            result.stable_stages,
            [
                ("stage", lambda each: sentences.stage_name(each.stage, each.sex)),
                ("part", lambda each: Decimal(f"{each.part:.4f}")),
            ],
            full=True,
        ),
    ]


def _is_told(each: Estimate) -> bool:
    """Whether a figure is shown unasked: of most of them only where something is known."""
    return each.measure in SHORT[:4] or (each.measure in SHORT and each.estimate is not None)


def _decimal(value: float | None, measure: Measure) -> Decimal | None:
    text = sentences.number(value, measure)
    return None if text is None else Decimal(text)


def _limits(each: Estimate | PairOfCohorts) -> str | None:
    found = each if isinstance(each, Estimate) else each.difference
    low, high = (sentences.number(end, each.measure) for end in (found.low, found.high))
    if low is None:
        return None if high is None else f"<{high}"
    return f">{low}" if high is None else f"{low} to {high}"


_EVERY_FIGURE: tuple[tuple[str, Callable[[Estimate], Any]], ...] = (
    ("", lambda each: sentences.CALLED[each.measure]),
    ("n", lambda each: each.n),
    ("estimate", lambda each: _decimal(each.estimate, each.measure)),
    ("SE", lambda each: _decimal(each.se, each.measure)),
    (LIMITS, _limits),
)


def _by_age(result: Reproduction, *, full: bool) -> Table:
    return Table.of(
        f"{result.cohort}: life table by age in days",
        result.life_table,
        [
            ("x", lambda each: each.x),
            ("n", lambda each: each.n),
            ("l", lambda each: each.l),
            ("its limits", lambda each: reach(each.l_low, each.l_high, 2)),
            ("m", lambda each: each.m),
            ("limits of m", lambda each: reach(each.m_low, each.m_high, 2)),
            ("l·m", lambda each: each.lm),
            ("e", lambda each: each.e),
            ("v", lambda each: each.v),
            ("c", lambda each: None if each.c is None else Decimal(f"{each.c:.4f}")),
            ("l, ♀", lambda each: each.l_female),
            ("m, ♀", lambda each: each.m_female),
        ],
        [
            "n: watched through the day. l: part of the eggs alive at age x. m: eggs on the day "
            f"for each of these. Limits: {LIMITS}. e: days still to live. v: reproductive value, 1 "
            "of an egg. c: part of this age in a population of stable ages. ♀: of females only, m "
            "counting daughters."
        ],
        full=full,
    )


def _by_stage(result: Reproduction, *, full: bool) -> Table:
    return Table.of(
        f"{result.cohort}: life table by age and stage, both sexes",
        result.age_stage,
        [
            ("x", lambda each: each.x),
            ("stage", lambda each: sentences.stage_name(each.stage, each.sex)),
            ("n", lambda each: each.n),
            ("s", lambda each: each.s),
            ("f", lambda each: each.f),
            ("e", lambda each: each.e),
            ("v", lambda each: each.v),
        ],
        [
            "s: part of the eggs that is alive in the stage at age x. f: eggs on the day for each "
            "of these. e: days still to live. v: reproductive value."
        ],
        full=full,
    )


def compared_tables(
    result: ReproductionComparison, *, ages: bool = False, stages: bool = False
) -> list[Table]:
    """The figures side by side with letters; then, in full, every pair and every figure; the life
    tables of each where they are asked for."""
    names = [each.cohort for each in result.cohorts]
    figures = [Table.of("", each.estimates, _EVERY_FIGURE) for each in result.cohorts]
    every = grouped_rows("cohort", names, figures)
    return [
        _side_by_side(result, names),
        Table.of(
            f"{', '.join(names)}: differences",
            result.pairs,
            [
                ("", lambda each: sentences.CALLED[each.measure]),
                ("pair", lambda each: f"{names[each.first]} − {names[each.second]}"),
                ("difference", lambda each: _decimal(each.difference.estimate, each.measure)),
                (LIMITS, _limits),
                ("p", lambda each: None if each.p is None else Decimal(f"{each.p:.4f}")),
                ("differ?", lambda each: DIFFER[each.verdict]),
            ],
            [
                "Difference: the first less the second, resamples of both paired. p: how often "
                "chance alone would make it so large, corrected for the number of pairs (Holm); "
                "the limits hold for all pairs of a figure together (Bonferroni). Limits for all "
                "pairs at once are wider than what Holm asks of a pair, so a difference can be "
                "shown though its limits include 0."
            ],
            full=True,
        ),
        replace(
            every,
            title=f"{', '.join(names)}: every figure, of both sexes",
            words=[_ROUND],
            full=True,
        ),
        *(_by_age(each, full=False) for each in result.cohorts if ages),
        *(_by_stage(each, full=False) for each in result.cohorts if stages),
    ]


def _side_by_side(result: ReproductionComparison, names: Sequence[str]) -> Table:
    """A column a cohort; of many a row a cohort."""
    told = {
        measure: _with_letters(result, measure)
        for measure in SHORT
        if any(each.of(measure).estimate is not None for each in result.cohorts)
    }
    beside = ["Estimate ± SE."]
    if len(names) > 2:
        beside[0] += " Cohorts that share a letter were not shown to differ."
    lines = [*beside, "", *sentences.words(result)]
    if len(names) > MOST_SIDE_BY_SIDE:
        few = [each for each in SHORT[:4] if each in told]
        return Table(
            f"The {len(names)} cohorts: from egg to egg",
            ["cohort", *(sentences.CALLED[each] for each in few)],
            [[name, *(told[each][place] for each in few)] for place, name in enumerate(names)],
            lines,
        )
    return Table(
        "From egg to egg",
        ["", *names, "do they differ?"],
        [
            [sentences.CALLED[each], *cells, sentences.differ(result.pairs_of(each))]
            for each, cells in told.items()
        ],
        lines,
    )


def _with_letters(result: ReproductionComparison, measure: Measure) -> list[str | None]:
    """The estimate of each cohort with its error; of more than two with the letters that those
    share that were not shown to differ."""
    given = letters_of(result, measure)
    cells: list[str | None] = []
    for each, own in zip(result.cohorts, given, strict=True):
        found = each.of(measure)
        text = sentences.number(found.estimate, measure)
        if text is not None and found.se is not None:
            text += f" ± {sentences.number(found.se, measure)}"
        if text is not None and len(given) > 2 and own:
            text += f" {own}"
        cells.append(text)
    return cells


def letters_of(result: ReproductionComparison, measure: Measure) -> list[str]:
    """For each cohort the letters that those share that were not shown to differ in a measure; none
    where it was not tested."""
    pairs = result.pairs_of(measure)
    tested = {
        place
        for each in pairs
        if each.verdict is not Verdict.NOT_TESTED
        for place in (each.first, each.second)
    }
    places = {place: n for n, place in enumerate(sorted(tested))}
    differ = [
        (places[each.first], places[each.second])
        for each in pairs
        if each.verdict is Verdict.DIFFER
    ]
    given = letters(len(places), differ)
    return [given[places[place]] if place in places else "" for place in range(len(result.cohorts))]


def flat_reproduction(
    results: Sequence[Reproduction], *, ages: bool = False, stages: bool = False
) -> Table:
    """A row a figure, those of both sexes and of females only; or a row a day of age, or a day of
    age in a stage; the cohort in front."""
    if ages or stages:
        kind = LifeTableDay if ages else AgeStageDay
        parts = [flat(kind, each.life_table if ages else each.age_stage) for each in results]
    else:
        parts = [
            grouped_rows(
                "of",
                ["both sexes", "females"],
                [flat(Estimate, each.estimates), flat(Estimate, each.females_only)],
            )
            for each in results
        ]
    return grouped_rows("cohort", [each.cohort for each in results], parts)
