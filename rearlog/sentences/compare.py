"""What a comparison of cohorts says, in sentences that claim no more than it can."""

from __future__ import annotations

from collections.abc import Sequence

from rearlog.analysis.comparing.cohorts import Shared
from rearlog.analysis.comparing.compare import Comparison
from rearlog.analysis.comparing.stage_comparison import (
    DAYS,
    DEGREE_DAYS,
    MOST_IN_PAIRS,
    Counted,
    StageComparison,
)
from rearlog.analysis.statistics.differences import Verdict
from rearlog.records.command_text import CommandText
from rearlog.sentences import survival_difference as survival_words
from rearlog.sentences.differences import FOUND
from rearlog.sentences.gap_filling import gaps
from rearlog.sentences.phrases import (
    MOST_NAMED,
    Finding,
    by_cohort,
    cohorts_named,
    listed,
    p_text,
    sentence_case,
    there,
    with_short_names,
)
from rearlog.sentences.stage_comparison import (
    from_lowest,
    known_mean,
    means,
    meanwhile,
    on_average,
    reason,
    test_name,
    things_shared,
    told_apart,
    unit_word,
    words,
)
from rearlog.sentences.survival_by_group import not_known, things
from rearlog.sentences.texts import Texts

TIMES_WITH_ONE_DECIMAL = 1.2
"""From so many times as much on, one decimal is enough to see that it is more."""

NO_PROOF = "no difference was shown, which is no proof that there is none"


def lead(result: Comparison) -> str:
    """How much longer the slowest took than the fastest, where a test shows that they differ."""
    days = _overall(result, DAYS)
    if result.survival.of_last_stage:
        return survival_words.lead(result.survival, compared(result))
    if days is None or len(days.by_mean) < 2:
        names = cohorts_named(result.cohorts, compared(result))
        return f"No two of {names} have come far enough for their days to compare."
    when = meanwhile(days.stage)
    if days.verdict is Verdict.NOT_TESTED:
        return f"Whether the days {when} differ cannot be told: {reason(days)}."
    tested = from_lowest(days)
    lowest, *middle, highest = tested
    if days.verdict is Verdict.NOT_SHOWN:
        names = cohorts_named([each.cohort for each in tested], compared(result))
        return (
            f"No difference in the days {when} was shown between {names} ({on_average(tested)}), "
            "which is no proof that there is none."
        )
    if not result.in_pairs:
        return f"Not all took the same time {when}: on average {means(days, tested)}."
    if not told_apart(days, lowest.cohort, highest.cohort):
        text = f"Not all took the same time {when} ({on_average(tested)})"
        if not any(each.verdict is Verdict.DIFFER for each in days.pairs):
            text += ", but of no two of them is a difference shown"
        return f"{text}."
    # of the figures as they are shown, lest they contradict each other
    least, most = round(known_mean(lowest), 1), round(known_mean(highest), 1)
    text = (
        f"{sentence_case(when)} {lowest.cohort} took {most - least:.1f} days less than "
        f"{highest.cohort}: {least:.1f} and {most:.1f} days on average"
    )
    if len(middle) == 1:
        text += f"; {middle[0].cohort} took {known_mean(middle[0]):.1f}"
    elif middle:
        text += f"; the other {len(middle)} lie between"
    return f"{text}."


def _overall(result: Comparison, unit: str) -> StageComparison | None:
    return next((row for row in result.overall if row.unit == unit), None)


def heat_title(result: Comparison) -> str | None:
    """Whether the cohorts needed the same heat, with how much; None where no test was made."""
    heat = _overall(result, DEGREE_DAYS)
    if heat is None or heat.verdict is Verdict.NOT_TESTED:
        return None
    tested = from_lowest(heat)
    each_its_own, at_the_end = "", " degree-days"
    if len(tested) > MOST_NAMED:
        each_its_own, at_the_end = at_the_end, each_its_own
    found = [
        Finding(each.cohort, known_mean(each), f"{known_mean(each):.0f}{each_its_own}")
        for each in tested
    ]
    needed = by_cohort(found) + at_the_end
    if heat.verdict is Verdict.DIFFER:
        return f"The cohorts needed different heat {meanwhile(heat.stage)}: {needed}"
    return f"No difference in heat {meanwhile(heat.stage)} is shown: {needed}"


def beside(result: Comparison) -> list[str]:
    """Whether they differ in the heat that they needed, and in how many died."""
    lines = []
    if any(row.counted is Counted.EVERYBODY for row in result.stages):
        lines.append("Those that did not complete a stage count for as long as they were watched.")
    lines += [_warmth(row) for row in result.overall if row.unit != DAYS and row.by_mean]
    return [*lines, survival_words.lead(result.survival, compared(result))]


def notices(result: Comparison) -> list[str]:
    """What a reader should know of the whole comparison."""
    found = []
    if len(result.species) > 1:
        found.append(
            f"The cohorts are of different species ({', '.join(result.species)}): "
            "stages of the same name are compared, whatever they are."
        )
    if not result.in_pairs:
        found.append(
            f"The {len(result.cohorts)} {compared(result)} are compared all at once"
            + CommandText(
                ". Which of them differ from which is told with --pairs: "
                f"rearlog compare COHORT… {f'--by {result.by} ' if result.by else ''}--pairs",
                "",
            )
        )
    if result.pooled_over:
        design = (str(result.by), *result.pooled_over)
        remedy = (
            f"; of these cohorts they cannot be told apart, as {listed(design)} go together"
            if result.inseparable
            else CommandText(
                f"; to tell them apart: rearlog compare COHORT… --by {','.join(design)}", ""
            )
        )
        found.append(
            f"Cohorts of one group differ in {listed(result.pooled_over)} as well, which may be "
            "what sets groups apart" + remedy
        )
    if result.not_known:
        last = result.survival.of_last_stage
        found.append(not_known(there(result.by), result.not_known, since_last=last))
    if result.days_only:
        found.append(_days_only(result))
    found += [gaps(each) + "." for each in result.gaps]
    if result.clutches_divided:
        found.append(
            "The clutches are of the same names in all cohorts, and are taken to be the same: "
            "they are not counted."
        )
    clustered = next((row for row in result.stages if row.clustered_by), None)
    if clustered is not None:
        things = things_shared(clustered, many=True)
        found.append(
            f"Individuals shared {things}: the error of a mean is that of {things}, not of "
            f"individuals.{_likeness(result)}{_survival_alone(clustered)}"
        )
    return found


def _days_only(result: Comparison) -> str:
    """Which are compared in days alone, and why."""
    who = cohorts_named(result.days_only, compared(result))
    if len(result.days_only) == 1:
        shared = " that all of it had" if result.by is not None else ""
        has, its, it_is = "has", "its", "it is"
    else:
        shared = " that all of a group had" if result.by is not None else ""
        has, its, it_is = "have", "their", "they are"
    return (
        f"{who} {has} no temperatures{shared}, or {its} species no lower threshold: {it_is} "
        "compared in days only."
    )


def _survival_alone(row: StageComparison) -> str:
    """That survival is tested otherwise, where whole cohorts are counted."""
    if Shared.COHORT not in row.clustered_by:
        return ""
    return " The test of survival counts individuals all the same."


def _likeness(result: Comparison) -> str:
    """How alike those are that share a cage, over the stages in days."""
    known = [
        row.intraclass for row in result.stages if row.unit == DAYS and row.intraclass is not None
    ]
    if not known:
        return ""
    ends = dict.fromkeys(f"{each:.2f}" for each in (min(known), max(known)))
    return f" Their days are alike by {' to '.join(ends)} (intraclass correlation)."


def title(result: Comparison) -> str:
    """How many times as long the slowest took as the fastest, in days and in heat, where a test
    shows that they differ."""
    return with_short_names(_title(result), result.cohorts)


def _title(result: Comparison) -> str:
    days = _overall(result, DAYS)
    if days is None or len(days.by_mean) < 2:
        return "No two cohorts have finished development"
    if days.verdict is Verdict.NOT_TESTED:
        return f"Too little to compare the days of {_allcohorts_named(days, compared(result))}"
    rows = [row for row in result.overall if row.verdict is not Verdict.NOT_TESTED]
    told = [_times_words(row) for row in rows]
    if not any(told):
        units = " or ".join(map(unit_word, rows))
        names = _allcohorts_named(days, compared(result))
        return f"No difference in {units} was shown between {names}"
    text = "; ".join(
        text or f"no difference in {unit_word(row)} was shown"
        for row, text in zip(rows, told, strict=True)
    )
    begins = tuple(f"{cohort} " for cohort in result.cohorts)  # which keep their letters
    return text if text.startswith(begins) else sentence_case(text)


def alt_text(result: Comparison) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(result.cohorts)
    return f"Chart of the development of {names}, in days and in degree-days. {title(result)}."


def notes(shown: Sequence[StageComparison], *, brief: bool = False) -> list[str]:
    """What the marks of the chart are, and what the comparisons in it say: where there is little
    room, or many are compared, only whether they differ."""
    marks = "Marks: mean of those that completed it. Bars: SD."
    if not brief and all(len(each.groups) <= MOST_NAMED for each in shown):
        return [marks, *(sentence_case(words(each)) for each in shown)]
    found = [
        f"In {unit_word(each)}: no test"
        if each.p_holm is None
        else f"In {unit_word(each)}: {FOUND[each.verdict]} ({p_text(each.p_holm)})"
        for each in shown
    ]
    return [f"{marks} {'. '.join(found)}."]


def _times_words(row: StageComparison) -> str | None:
    """How many times as much the highest took as the lowest; None where no difference was shown,
    or none between these two."""
    if row.verdict is not Verdict.DIFFER:
        return None
    verb = "took" if row.unit == DAYS else "needed"
    lowest, *_, highest = from_lowest(row)
    if not told_apart(row, lowest.cohort, highest.cohort):
        return f"the cohorts differ in {unit_word(row)}"
    times = known_mean(highest) / known_mean(lowest)
    digits = 1 if times >= TIMES_WITH_ONE_DECIMAL else 2
    return (
        f"{highest.cohort} {verb} {times:.{digits}f} times as many {unit_word(row)} as "
        f"{lowest.cohort}"
    )


def compared(result: Comparison) -> str:
    """What is compared: cohorts, or the groups of a factor, as sites."""
    return "cohorts" if result.by is None else things(result.by)


def _allcohorts_named(row: StageComparison, compared: str) -> str:
    return cohorts_named([each.cohort for each in row.groups if each.n], compared)


def made_tests(comparison: Comparison) -> str:
    """The tests that were made, each with the stages and the unit that it was made for."""
    made: dict[tuple[str, str], list[str]] = {}
    for row in comparison.stages:
        if row.p is not None:
            made.setdefault((test_name(row), unit_word(row)), []).append(row.stage)
    uses = (f"{test} in {unit} of {', '.join(stages)}" for (test, unit), stages in made.items())
    return "; ".join(uses) or "no test of durations could be made"


def plainly(comparison: Comparison) -> list[str]:
    """Whether cohorts differ, for those who do not know the trade's words."""
    sentences = [
        _pace(row) if row.unit == DAYS else _warmth(row) for row in comparison.whole if row.by_mean
    ]
    found = comparison.survival.verdict
    if found is not Verdict.NOT_TESTED:
        finding = FOUND[found] if found is Verdict.DIFFER else NO_PROOF
        sentences.append(f"In how many died, {finding}.")
    return sentences


def _pace(row: StageComparison) -> str:
    text = f"From egg to adult it took, on average, {_plain_means(row, '.1f')}"
    if row.verdict is Verdict.NOT_TESTED:
        return f"{text}."
    if row.verdict is Verdict.NOT_SHOWN:
        return f"{text}; {NO_PROOF}."
    fastest, *_, slowest = from_lowest(row)
    if not told_apart(row, fastest.cohort, slowest.cohort):
        return f"{text}: not the same in all."
    # of the figures as they are shown, lest they contradict each other
    gap = round(known_mean(slowest), 1) - round(known_mean(fastest), 1)
    return f"{text}: {fastest.cohort} was faster than {slowest.cohort} by {gap:.1f} days."


def _warmth(row: StageComparison) -> str:
    text = f"Counted as warmth, they needed {_plain_means(row, '.0f')}"
    if row.verdict is Verdict.NOT_TESTED:
        return f"{text}."
    if row.verdict is Verdict.DIFFER:
        return f"{text}: not the same, so warmth alone does not explain the days."
    return f"{text}; {NO_PROOF}."


def _plain_means(row: StageComparison, form: str) -> str:
    """The means of all that somebody completed it in; of many the lowest and the highest."""
    known = [each for each in row.groups if each.mean is not None]
    if many := len(known) > MOST_IN_PAIRS:
        lowest, *_, highest = sorted(known, key=known_mean)
        known = [lowest, highest]
    first, *others = [(f"{known_mean(each):{form}}", each.cohort) for each in known]
    told = [f"{first[0]} {unit_word(row)} in {first[1]}", *map(" in ".join, others)]
    return " to ".join(told) if many else listed(told)


TEXTS: Texts = {Comparison: {"notices": notices, "lead": lead}}
