"""The tables of life tables. Nothing is computed here, only laid out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any

from rearlog.analysis.reproduction.differences import PairOfCohorts
from rearlog.analysis.reproduction.estimates import Estimate, Measure
from rearlog.analysis.reproduction.reproduction import (
    AgeStageDay,
    LifeTableDay,
    Reproduction,
    ReproductionComparison,
)
from rearlog.analysis.statistics.differences import Verdict
from rearlog.analysis.statistics.pairs import letters
from rearlog.present.between import MOST_SIDE_BY_SIDE
from rearlog.present.flat import flat
from rearlog.present.tables import Table
from rearlog.sentences import reproduction as sentences
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
        Table(
            f"{eggs}: from egg to egg",
            ["", "estimate", "SE", LIMITS],
            [
                [sentences.CALLED[each.measure], *_estimate(each)]
                for each in _some(result.estimates, SHORT)
            ],
            sentences.words(result),
        ),
        Table(
            f"{eggs}: every figure, of both sexes",
            ["", "n", "estimate", "SE", LIMITS],
            [
                [sentences.CALLED[each.measure], each.n, *_estimate(each)]
                for each in result.estimates
            ],
            [_ROUND],
            full=True,
        ),
        Table(
            f"{eggs}: of females only, eggs that become daughters",
            ["", "n", "estimate", "SE", LIMITS],
            [
                [sentences.CALLED[each.measure], each.n, *_estimate(each)]
                for each in result.females_only
            ],
            [
                "Who died before its sex showed counts as the part of a female that females are of "
                "the others. Where nobody is lost, R0, r and T are those of both sexes."
            ],
            full=True,
        ),
        _by_age(result, full=not ages),
        _by_stage(result, full=not stages),
        Table(
            f"{result.cohort}: stages in a population of stable ages",
            ["stage", "part"],
            [
                [sentences.stage_name(each.stage, each.sex), Decimal(f"{each.part:.4f}")]
                for each in result.stable_stages
            ],
            full=True,
        ),
    ]


def _some(estimates: Sequence[Estimate], wanted: Sequence[Measure]) -> Iterator[Estimate]:
    """Those wanted of which something is known."""
    for each in estimates:
        if each.measure in wanted and (each.estimate is not None or each.measure in SHORT[:4]):
            yield each


def _estimate(each: Estimate) -> list[Any]:
    """Estimate, standard error and limits, with the decimals of the measure."""
    values = (each.estimate, each.se)
    return [*(_decimal(value, each.measure) for value in values), _limits(each)]


def _decimal(value: float | None, measure: Measure) -> Decimal | None:
    text = sentences.number(value, measure)
    return None if text is None else Decimal(text)


def _limits(each: Estimate | PairOfCohorts) -> str | None:
    found = each if isinstance(each, Estimate) else each.difference
    low, high = (sentences.number(end, each.measure) for end in (found.low, found.high))
    if low is None:
        return None if high is None else f"<{high}"
    return f">{low}" if high is None else f"{low} to {high}"


def _by_age(result: Reproduction, *, full: bool) -> Table:
    return Table(
        f"{result.cohort}: life table by age in days",
        ["x", "n", "l", "its limits", "m", "limits of m", "l·m", "e", "v", "c", "l, ♀", "m, ♀"],
        [
            [
                each.x,
                each.n,
                each.l,
                _range(each.l_low, each.l_high),
                each.m,
                _range(each.m_low, each.m_high),
                each.lm,
                each.e,
                each.v,
                None if each.c is None else Decimal(f"{each.c:.4f}"),
                each.l_female,
                each.m_female,
            ]
            for each in result.life_table
        ],
        [
            "n: watched through the day. l: part of the eggs alive at age x. m: eggs on the day "
            f"for each of these. Limits: {LIMITS}. e: days still to live. v: reproductive value, 1 "
            "of an egg. c: part of this age in a population of stable ages. ♀: of females only, m "
            "counting daughters."
        ],
        full=full,
    )


def _range(low: float | None, high: float | None) -> str | None:
    return None if low is None or high is None else f"{low:.2f} to {high:.2f}"


def _by_stage(result: Reproduction, *, full: bool) -> Table:
    return Table(
        f"{result.cohort}: life table by age and stage, both sexes",
        ["x", "stage", "n", "s", "f", "e", "v"],
        [
            [
                each.x,
                sentences.stage_name(each.stage, each.sex),
                each.n,
                each.s,
                each.f,
                each.e,
                each.v,
            ]
            for each in result.age_stage
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
    return [
        _side_by_side(result, names),
        Table(
            f"{', '.join(names)}: differences",
            ["", "pair", "difference", LIMITS, "p", "differ?"],
            [
                [
                    sentences.CALLED[each.measure],
                    f"{names[each.first]} − {names[each.second]}",
                    _decimal(each.difference.estimate, each.measure),
                    _limits(each),
                    None if each.p is None else Decimal(f"{each.p:.4f}"),
                    sentences.DIFFER[each.verdict],
                ]
                for each in result.pairs
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
        Table(
            f"{', '.join(names)}: every figure, of both sexes",
            ["cohort", "", "n", "estimate", "SE", LIMITS],
            [
                [each.cohort, sentences.CALLED[one.measure], one.n, *_estimate(one)]
                for each in result.cohorts
                for one in each.estimates
            ],
            [_ROUND],
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
        parts = [
            (each.cohort, flat(kind, each.life_table if ages else each.age_stage))
            for each in results
        ]
        rows = [[name, *row] for name, part in parts for row in part.rows]
        return Table("", ["cohort", *parts[0][1].columns], rows)
    tables = [
        (each.cohort, of, flat(Estimate, found))
        for each in results
        for of, found in (("both sexes", each.estimates), ("females", each.females_only))
    ]
    rows = [[name, of, *row] for name, of, table in tables for row in table.rows]
    return Table("", ["cohort", "of", *tables[0][2].columns], rows)
