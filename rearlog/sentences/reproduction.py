"""How many eggs follow each egg, how soon, and how fast numbers grow."""

from __future__ import annotations

from collections.abc import Sequence

from rearlog.analysis.reproduction.estimates import Measure
from rearlog.analysis.reproduction.euler_lotka import EggAge
from rearlog.analysis.reproduction.pairs_of_cohorts import PairOfCohorts
from rearlog.analysis.reproduction.reproduction import Reproduction, ReproductionComparison
from rearlog.analysis.statistics.differences import FEWEST_FOR_INTERVAL, Verdict
from rearlog.analysis.survival.survival import Sex
from rearlog.sentences.differences import DIFFER
from rearlog.sentences.phrases import (
    BAND,
    INTERVAL,
    Finding,
    by_cohort,
    cohorts_named,
    listed,
    there,
    with_short_names,
)
from rearlog.sentences.texts import Texts

CALLED = {
    Measure.R0: "eggs for each egg (R0)",
    Measure.RATE: "growth a day (r)",
    Measure.FINITE_RATE: "times as many a day (λ)",
    Measure.GENERATION: "days of a generation (T)",
    Measure.COHORT_GENERATION: "mean age of laying (Tc)",
    Measure.DOUBLING: "days to double",
    Measure.GROSS_RATE: "gross rate, Σ m_x",
    Measure.LIFE: "days that an egg lives",
    Measure.PRE_LAYING: "days from adult to eggs",
    Measure.TO_FIRST_EGGS: "days from egg to eggs",
    Measure.LAYING: "days of laying",
    Measure.EGGS: "eggs of a female",
    Measure.EGGS_A_DAY: "eggs a day of laying",
    Measure.FEMALE_DAYS: "days as adult, females",
    Measure.MALE_DAYS: "days as adult, males",
    Measure.FEMALE_SHARE: "females, part",
    Measure.HATCH_SHARE: "eggs that hatch, part",
}
"""What measures are called in tables."""

DIGITS = {
    Measure.R0: 1,
    Measure.RATE: 4,
    Measure.FINITE_RATE: 4,
    Measure.GROSS_RATE: 1,
    Measure.EGGS: 1,
    Measure.FEMALE_SHARE: 2,
    Measure.HATCH_SHARE: 3,
}
"""Decimals of a measure; 2 of the others."""


def number(value: float | None, measure: Measure) -> str | None:
    """A value of a measure with its decimals."""
    return None if value is None else f"{value:.{DIGITS.get(measure, 2)}f}"


def lead(result: Reproduction | ReproductionComparison) -> str:
    """How many eggs follow each egg and how soon, or which of several grows the fastest."""
    return _lead_of_one(result) if isinstance(result, Reproduction) else _lead_of_all(result)


def _lead_of_one(result: Reproduction) -> str:
    r0, t = result.of(Measure.R0), result.of(Measure.GENERATION)
    text = (
        f"{'So far each' if result.alive else 'Each'} egg in {result.cohort} was followed by "
        f"{_eggs(there(r0.estimate))} of the next generation"
    )
    if r0.low is None or r0.high is None:
        return f"{text}; of so few nobody can say how sure that is."
    text += f" ({INTERVAL} {_plain(r0.low)} to {_plain(r0.high)})"
    if t.estimate is not None:
        text += f", in {t.estimate:.0f} days"
    return f"{text}{_whether_they_last(result)}."


def _whether_they_last(result: Reproduction) -> str:
    """What is said where the intervals of R0 and of r do not both show that numbers grow."""
    r0, rate = result.of(Measure.R0), result.of(Measure.RATE)
    if rate.low is not None and rate.low > 0 and there(r0.low) > 1:
        return ""
    if rate.high is not None and rate.high < 0 and there(r0.high) < 1:
        return ": too few to keep up their number"
    return "; whether they keep up their number cannot be told"


def _eggs(value: float) -> str:
    text = _plain(value)
    return f"{text} egg{'' if text == '1.0' else 's'}"


def _plain(value: float) -> str:
    """A number of eggs: with a decimal where it is small."""
    return f"{value:.1f}" if value < 10 else f"{value:,.0f}"


def _lead_of_all(result: ReproductionComparison) -> str:
    names = cohorts_named([each.cohort for each in result.cohorts])
    known = [
        (factor, place)
        for place, each in enumerate(result.cohorts)
        if each.of(Measure.RATE).estimate is not None
        and (factor := each.of(Measure.FINITE_RATE).estimate) is not None
    ]
    if len(known) < 2:
        return f"No two of {names} laid eggs, so that their growth cannot be compared."
    (low, slowest), *middle, (high, fastest) = sorted(known)
    rates = {(each.first, each.second): each for each in result.pairs_of(Measure.RATE)}
    pair = rates[min(slowest, fastest), max(slowest, fastest)]
    told = listed(
        [
            f"{factor:.3f} times in {result.cohorts[at].cohort}"
            for factor, at in sorted(known, key=lambda each: each[1])
        ]
    )
    if pair.verdict is Verdict.DIFFER:
        text = (
            f"Numbers grow faster in {result.cohorts[fastest].cohort} than in "
            f"{result.cohorts[slowest].cohort}: to {high:.3f} times as many each day, and to "
            f"{low:.3f} times"
        )
        if len(middle) == 1:
            ((factor, at),) = middle
            text += f"; in {result.cohorts[at].cohort} to {factor:.3f} times"
        elif middle:
            text += f"; the other {len(middle)} lie between"
        return f"{text}."
    if any(each.verdict is Verdict.DIFFER for each in rates.values()):
        return f"Numbers do not grow equally fast in {names}: each day to {told}."
    if all(each.verdict is Verdict.NOT_TESTED for each in rates.values()):
        return f"Whether numbers grow equally fast in {names} cannot be told of so few: {told}."
    return (
        f"No difference in how fast numbers grow was shown between {names}, which is no proof that "
        "there is none."
    )


def words(result: Reproduction | ReproductionComparison) -> tuple[str, ...]:
    """Who was counted, what is not known, and how errors were found."""
    if isinstance(result, ReproductionComparison):
        return (*_found(result), *_made(result.cohorts))
    return (_who(result), *_notes(result), *_made([result]))


def _who(result: Reproduction) -> str:
    sexes = [
        f"{count or 'no'} {what if count != 1 else what.removesuffix('s')}"
        for count, what in ((result.females, "females"), (result.males, "males"))
    ]
    unsexed = f" and {result.unsexed} of no known sex" if result.unsexed else ""
    told = f"Of {result.n} eggs came {listed(sexes)}{unsexed}"
    return f"{told}; {result.layers or 'none'} laid {result.eggs} eggs in all."


def _notes(result: Reproduction) -> list[str]:
    lines = []
    if result.males_records:
        eggs = "1 egg" if result.males_eggs == 1 else f"{result.males_eggs} eggs"
        records = "1 record" if result.males_records == 1 else f"{result.males_records} records"
        lines.append(f"{eggs} of {records} in doubt are not counted: they are told of males.")
    if result.cages_unsexed:
        cages = "1 cage" if result.cages_unsexed == 1 else f"{result.cages_unsexed} cages"
        lines.append(
            f"Eggs of {cages} were shared among animals of unknown sex; the part of females rests "
            "on noted sexes and on eggs of their own."
        )
    if result.alive:
        lives = "lives" if result.alive == 1 else "live"
        lines.append(f"{result.alive} still {lives}: figures are of what was seen so far.")
    if gone := result.n - result.dead - result.alive:
        lines.append(f"{gone} lost or taken out: counted for as long as they were under watch.")
    if result.left_out:
        lines.append(
            f"{result.left_out} entered later than as eggs, their age unknown, and are left out."
        )
    if result.since_entry:
        lines.append(
            f"Of {result.since_entry} it is not known when the egg was laid: their age counts from "
            "when they came under watch, and is higher in truth."
        )
    if result.units is not None:
        lines.append(
            f"Those that shared a cage or container count as one: {result.units} in place of "
            f"{result.n}."
        )
    return lines


def _made(results: Sequence[Reproduction]) -> list[str]:
    """How the figures were made: the age of eggs, the errors, resamples without eggs."""
    ages = {
        EggAge.MIDDLE: "Eggs of the day from age x to x + 1 count as laid at x + 0.5.",
        EggAge.START: "Eggs of the day from age x to x + 1 count as laid at age x.",
    }
    lines = [ages[results[0].egg_age]]
    drawn = [each for each in results if each.resamples]
    if drawn:
        lines.append(
            f"SE and limits: bootstrap, {drawn[0].resamples:,} resamples of whole lives (bias-"
            "corrected and accelerated; of the sexes Wilson’s; of hatching no less than of "
            "eggs that hatch each by itself)."
        )
    few = [each.cohort for each in results if not each.resamples]
    if few:
        lines.append(f"Fewer than {FEWEST_FOR_INTERVAL} to draw from, so no SE: {listed(few)}.")
    for each in drawn:
        if each.childless:
            lines.append(
                f"{each.cohort}: in {each.childless:,} resamples nobody laid eggs; they count as "
                "R0 = 0 and as less than any r, and not in T or the SE of r and λ."
            )
    return lines


def _found(result: ReproductionComparison) -> list[str]:
    """Which pairs differ in r and in R0."""
    lines = []
    names = [each.cohort for each in result.cohorts]
    for measure, what in ((Measure.RATE, "r"), (Measure.R0, "R0")):
        differ = [
            f"{names[each.first]} from {names[each.second]}"
            for each in result.pairs_of(measure)
            if each.verdict is Verdict.DIFFER
        ]
        told = ", ".join(differ) if differ else "no two, which is no proof that none do"
        lines.append(f"In {what} differ {told}.")
    return lines


def differ(pairs: Sequence[PairOfCohorts]) -> str:
    """Whether any of the pairs of a measure differ, in a word for a cell."""
    verdicts = {each.verdict for each in pairs}
    for verdict in (Verdict.DIFFER, Verdict.NOT_SHOWN):
        if verdict in verdicts:
            return DIFFER[verdict]
    return DIFFER[Verdict.NOT_TESTED]


def stage_name(stage: str, sex: Sex | None) -> str:
    """What those of a stage and sex are called in tables."""
    told = {Sex.FEMALE: "female", Sex.MALE: "male", Sex.NOT_KNOWN: f"{stage}, sex not known"}
    return stage if sex is None else told[sex]


def title(results: Sequence[Reproduction]) -> str:
    """The finding of the chart: how many eggs follow each egg, in how many days."""
    found = [_finding(each) for each in results]
    if len(results) == 1:
        eggs = _eggs(found[0].value)
        text = f"Each egg in {results[0].cohort} was followed by {eggs}"
    else:
        text = f"Eggs that follow each egg: {by_cohort(found)}"
    return with_short_names(text, [each.cohort for each in results])


def _finding(result: Reproduction) -> Finding:
    r0 = there(result.of(Measure.R0).estimate)
    return Finding(result.cohort, r0, _plain(r0))


def notes(results: Sequence[Reproduction], *, bands: bool = True) -> list[str]:
    """How the curves were made."""
    text = "lₓ: part of all eggs that is alive at age x. mₓ: eggs on the day for each of these, "
    text += "both sexes counted"
    return [f"{text}. Shaded: {BAND} (bootstrap)." if bands else f"{text}."]


def alt_text(results: Sequence[Reproduction]) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(each.cohort for each in results)
    ends = "; ".join(
        f"{each.cohort}: the last died at age {each.life_table[-1].x + 1}"
        for each in results
        if not each.alive and each.life_table
    )
    text = f"Survival and eggs by age in {names}. {title(results)}"
    return f"{text}; {ends}." if ends else f"{text}."


TEXTS: Texts = {
    Reproduction: {"words": words, "lead": lead},
    ReproductionComparison: {"words": words, "lead": lead},
}
