"""What a comparison of cohorts says, in sentences that claim no more than it can."""

from __future__ import annotations

from collections.abc import Sequence

from rearlog.analysis.comparing.cohorts import Shared
from rearlog.analysis.comparing.compare import (
    DAYS,
    FEWEST_CLUSTERS,
    MOST_IN_PAIRS,
    WHOLE,
    Comparison,
    Counted,
    GroupSummary,
    PairDifference,
    StageComparison,
)
from rearlog.analysis.statistics.differences import FEWEST_FOR_TEST, NoTest, Ratio, Verdict
from rearlog.analysis.statistics.levels import LEAST_TOLD
from rearlog.sentences import survival_difference as survival_words
from rearlog.sentences.differences import DIFFER, FOUND, NO_TEST, SHARED
from rearlog.sentences.durations import left_open_words
from rearlog.sentences.gap_filling import gaps
from rearlog.sentences.phrases import (
    INTERVAL,
    MOST_NAMED,
    Finding,
    by_cohort,
    cohorts_named,
    during,
    listed,
    p_text,
    sentence_case,
    there,
    with_short_names,
)
from rearlog.sentences.survival_by_group import not_known, things
from rearlog.sentences.texts import Texts

TIMES_WITH_ONE_DECIMAL = 1.2
"""From so many times as much on, one decimal is enough to see that it is more."""

NO_PROOF = "no difference was shown, which is no proof that there is none"


def lead(result: Comparison) -> str:
    """How much longer the slowest took than the fastest, where a test shows that they differ."""
    days = next((row for row in result.overall if row.unit == DAYS), None)
    if result.survival.of_last_stage:
        return survival_words.lead(result.survival, compared(result))
    if days is None or len(days.by_mean) < 2:
        names = cohorts_named(result.cohorts, compared(result))
        return f"No two of {names} have come far enough for their days to compare."
    when = meanwhile(days.stage)
    if days.verdict is Verdict.NOT_TESTED:
        return f"Whether the days {when} differ cannot be told: {reason(days)}."
    tested = sorted((each for each in days.groups if each.cohort not in days.left_out), key=_mean)
    lowest, *middle, highest = tested
    if days.verdict is Verdict.NOT_SHOWN:
        names = cohorts_named([each.cohort for each in tested], compared(result))
        return (
            f"No difference in the days {when} was shown between {names} ({_on_average(tested)}), "
            "which is no proof that there is none."
        )
    if not result.in_pairs:
        return f"Not all took the same time {when}: on average {_means(days, tested)}."
    if not _told_apart(days, lowest.cohort, highest.cohort):
        text = f"Not all took the same time {when} ({_on_average(tested)})"
        if not any(each.verdict is Verdict.DIFFER for each in days.pairs):
            text += ", but of no two of them is a difference shown"
        return f"{text}."
    # of the figures as they are shown, lest they contradict each other
    least, most = round(_mean(lowest), 1), round(_mean(highest), 1)
    text = (
        f"{sentence_case(when)} {lowest.cohort} took {most - least:.1f} days less than "
        f"{highest.cohort}: {least:.1f} and {most:.1f} days on average"
    )
    if len(middle) == 1:
        text += f"; {middle[0].cohort} took {_mean(middle[0]):.1f}"
    elif middle:
        text += f"; the other {len(middle)} lie between"
    return f"{text}."


def heat_title(result: Comparison) -> str | None:
    """Whether the cohorts needed the same heat, with how much; None where no test was made."""
    heat = next((row for row in result.overall if row.unit != DAYS), None)
    if heat is None or heat.verdict is Verdict.NOT_TESTED:
        return None
    tested = sorted((each for each in heat.groups if each.cohort not in heat.left_out), key=_mean)
    each_its_own, at_the_end = "", " degree-days"
    if len(tested) > MOST_NAMED:
        each_its_own, at_the_end = at_the_end, each_its_own
    found = [
        Finding(each.cohort, _mean(each), f"{_mean(each):.0f}{each_its_own}") for each in tested
    ]
    needed = by_cohort(found) + at_the_end
    if heat.verdict is Verdict.DIFFER:
        return f"The cohorts needed different heat {meanwhile(heat.stage)}: {needed}"
    return f"No difference in heat {meanwhile(heat.stage)} is shown: {needed}"


def _told_apart(row: StageComparison, *two: str) -> bool:
    """Whether two cohorts are a pair that was shown to differ."""
    return any(
        {each.cohort, each.other} == {*two} and each.verdict is Verdict.DIFFER for each in row.pairs
    )


def meanwhile(stage: str) -> str:
    """During which stage or stages."""
    return "from egg to adult" if stage == WHOLE else during(stage)


def _on_average(groups: Sequence[GroupSummary]) -> str:
    """The means of cohorts, the lowest first; of many the lowest and the highest."""
    if len(groups) > MOST_NAMED:
        return f"{_mean(groups[0]):.1f} to {_mean(groups[-1]):.1f} days on average"
    return f"{listed([f'{_mean(each):.1f}' for each in groups])} days on average"


def differ(row: StageComparison) -> str:
    """What the test of a stage says, in a word for a cell."""
    return DIFFER[row.verdict]


def beside(result: Comparison) -> list[str]:
    """Whether they differ in the heat that they needed, and in how many died."""
    lines = []
    if any(row.counted is Counted.EVERYBODY for row in result.stages):
        lines.append("Those that did not complete a stage count for as long as they were watched.")
    lines += [_warmth(row) for row in result.overall if row.unit != DAYS and row.by_mean]
    return [*lines, survival_words.lead(result.survival, compared(result))]


def compared_mean(group: GroupSummary) -> float | None:
    """The mean that was compared, None where nobody completed it."""
    return None if group.mean is None else _mean(group)


def words(row: StageComparison) -> str:
    """What the comparison of one stage says."""
    if row.p_holm is None:
        return f"{row.stage}: no test, since {reason(row)} ({_sizes(row.groups)})."
    tested = [each for each in row.groups if each.cohort not in row.left_out]
    if len(row.pairs) == 1:
        text = _pair_words(row, row.pairs[0].longer_first)
    else:
        text = f"{row.stage}: {FOUND[row.verdict]}; on average {_means(row, tested)}"
    if row.counted is Counted.EVERYBODY:
        text += ", those counted that were not seen to complete it"
    text += f" ({p_text(row.p_holm)}; {_sizes(tested)})."
    if len(row.pairs) != 1 and row.verdict is Verdict.DIFFER:
        text += _pairs_words(row)
    if row.shown_alone:
        text += (
            f" By itself it would count as a difference ({p_text(there(row.p))}), but among so "
            "many stages chance alone makes one."
        )
    if row.left_out:
        text += f" Left out: {_too_few(row)}."
    text += _others_missing(row)
    if row.resolution is not None and row.verdict is Verdict.NOT_SHOWN:
        text += (
            f" Less than {row.resolution:.1f} {unit_word(row)} cannot be shown here, since most "
            "passed between the same two checks."
        )
    return text


def _means(row: StageComparison, tested: Sequence[GroupSummary]) -> str:
    """The means of all cohorts in a row, with their unit; of many the lowest and the highest."""
    if len(tested) <= MOST_IN_PAIRS:
        told = [f"{_mean(each):.1f} in {each.cohort}" for each in tested]
        return f"{listed(told)} {unit_word(row)}"
    lowest, *_, highest = sorted(tested, key=_mean)
    return (
        f"{_mean(lowest):.1f} {unit_word(row)} in {lowest.cohort} to {_mean(highest):.1f} in "
        f"{highest.cohort}"
    )


def reason(row: StageComparison) -> str | None:
    """Why no test could be made; None where one was."""
    match row.reason:
        case None:
            return None
        case NoTest.TOO_FEW:
            return _too_few(row)
        case NoTest.ONE_CLUSTER:
            shared = _things(row, many=False)
            return (
                f"all of {listed(_with_clusters(row, 1))} are of one {shared}: what comes of the "
                f"{shared} cannot be told from what comes of the {_compared_things(row)}; a test "
                f"takes {_enough(row)}"
            )
        case NoTest.FEW_CLUSTERS:
            shared = _things(row, many=True)
            return (
                f"{listed(_with_clusters(row, 2))} had two {shared} and no more: too few to say "
                f"how far {shared} differ; a test takes {_enough(row)}"
            )
        case other:
            return NO_TEST[other]


def notices(result: Comparison) -> list[str]:
    """What a reader should know of the whole comparison."""
    found = []
    if len(result.species) > 1:
        found.append(
            f"The cohorts are of different species ({', '.join(result.species)}): "
            "stages of the same name are compared, whatever they are."
        )
    if not result.in_pairs:
        by = f"--by {result.by} " if result.by else ""
        found.append(
            f"The {len(result.cohorts)} {compared(result)} are compared all at once. Which of them "
            f"differ from which is told with --pairs: rearlog compare COHORT… {by}--pairs"
        )
    if result.pooled_over:
        design = (str(result.by), *result.pooled_over)
        remedy = (
            f"of these cohorts they cannot be told apart, as {listed(design)} go together"
            if result.inseparable
            else f"to tell them apart: rearlog compare COHORT… --by {','.join(design)}"
        )
        found.append(
            f"Cohorts of one group differ in {listed(result.pooled_over)} as well, which may be "
            f"what sets groups apart; {remedy}"
        )
    if result.not_known:
        last = result.survival.of_last_stage
        found.append(not_known(there(result.by), result.not_known, since_last=last))
    if result.days_only:
        found.append(_days_only(result))
    found += [f"{gaps(each)}." for each in result.gaps]
    if result.clutches_divided:
        found.append(
            "The clutches are of the same names in all cohorts, and are taken to be the same: "
            "they are not counted."
        )
    clustered = next((row for row in result.stages if row.clustered_by), None)
    if clustered is not None:
        things = _things(clustered, many=True)
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
    days = next((row for row in result.overall if row.unit == DAYS), None)
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
    lowest, *_, highest = sorted(
        (each for each in row.groups if each.cohort not in row.left_out), key=_mean
    )
    if not _told_apart(row, lowest.cohort, highest.cohort):
        return f"the cohorts differ in {unit_word(row)}"
    times = _mean(highest) / _mean(lowest)
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


def _mean(group: GroupSummary) -> float:
    """The mean that was compared."""
    return there(group.mean if group.mean_of_all is None else group.mean_of_all)


def test_name(row: StageComparison) -> str:
    """The test that was made, and of whom if not of those that completed it."""
    return row.test if row.counted is Counted.COMPLETED else f"{row.test}, all"


def unit_word(row: StageComparison) -> str:
    """The unit of a comparison as it is said."""
    return "days" if row.unit == DAYS else "degree-days"


def _too_few(row: StageComparison) -> str:
    known = "" if row.unit == DAYS else " at known temperatures"
    return f"fewer than {FEWEST_FOR_TEST} were followed to its end{known} in {listed(row.left_out)}"


def _with_clusters(row: StageComparison, n: int) -> list[str]:
    """The cohorts of so many cages or clutches."""
    return [each.cohort for each in row.groups if each.clusters == n and each.mean is not None]


def _things(row: StageComparison, *, many: bool) -> str:
    """What individuals share, container or clutch."""
    return " or ".join(SHARED[thing] if many else str(thing) for thing in row.clustered_by)


def _enough(row: StageComparison) -> str:
    """How many cages or clutches it takes."""
    return f"{FEWEST_CLUSTERS} {_things(row, many=True)} or more in each {_compared_things(row)}"


def _compared_things(row: StageComparison) -> str:
    """What is compared: cohorts, or groups of several of them."""
    return "group" if Shared.COHORT in row.clustered_by else "cohort"


def _others_missing(row: StageComparison) -> str:
    """Whom the means of those that completed it leave out."""
    told = [
        f"in {each.cohort} {left_open_words(each.left_open)}"
        for each in row.groups
        if each.left_open.n and each.n
    ]
    if len(told) > MOST_IN_PAIRS:
        told = [f"in {len(told)} cohorts some were not seen to complete it"]
    return f" The means in the table are of the others: {'; '.join(told)}." if told else ""


def _pairs_words(row: StageComparison) -> str:
    """Which of several cohorts differ from which; nothing of so many that no pairs were tested."""
    shown = [each.longer_first for each in row.pairs if each.verdict is Verdict.DIFFER]
    if not shown:
        return " Of no two of them a difference is shown." if row.pairs else ""
    if len(shown) == len(row.pairs):
        return " All differ from each other."
    if len(shown) > MOST_NAMED:
        return f" {len(shown)} of {len(row.pairs)} pairs differ, see their letters."
    told = [f"{each.cohort} from {each.other} ({p_text(there(each.p))})" for each in shown]
    return f" Shown to differ: {listed(told)}."


def _pair_words(row: StageComparison, pair: PairDifference) -> str:
    """The finding of two cohorts, the longer one first."""
    shown = "" if row.verdict is Verdict.DIFFER else f"{FOUND[row.verdict]}; "
    finding = _by_means(row, pair) if pair.ratio is None else _by_ratio(row, pair, pair.ratio)
    if row.p != row.p_holm:
        finding += " for this stage alone"
    return f"{row.stage}: {shown}{finding}"


def _by_means(row: StageComparison, pair: PairDifference) -> str:
    gap = pair.means
    verb = "took" if row.unit == DAYS else "needed"
    finding = (
        f"{pair.cohort} and {pair.other} {verb} about the same on average"
        if gap.estimate < LEAST_TOLD
        else f"{pair.cohort} {verb} {gap.estimate:.1f} {unit_word(row)} more than {pair.other} "
        "on average"
    )
    if gap.low is None:
        return finding
    reach = f"{abs(gap.low):.1f} {'fewer' if gap.low < 0 else 'more'} to {gap.high:.1f} more"
    if gap.low > 0:
        reach = f"{gap.low:.1f} to {gap.high:.1f}"
    return f"{finding}, {INTERVAL} {reach}"


def _by_ratio(row: StageComparison, pair: PairDifference, ratio: Ratio) -> str:
    verb, much = ("took", "as long") if row.unit == DAYS else ("needed", "as many degree-days")
    finding = (
        f"{pair.cohort} and {pair.other} {verb} about {much}"
        if f"{ratio.estimate:.2f}" == "1.00"
        else f"{pair.cohort} {verb} {ratio.estimate:.2f} times {much} as {pair.other}"
    )
    if ratio.low is None:
        return finding
    return f"{finding}, {INTERVAL} {ratio.low:.2f} to {ratio.high:.2f} times"


def _sizes(groups: Sequence[GroupSummary]) -> str:
    if len(groups) > MOST_IN_PAIRS:
        return f"n = {min(each.n for each in groups)} to {max(each.n for each in groups)}"
    return f"n = {listed([str(each.n) for each in groups])}"


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
    known = _known(row)
    text = f"From egg to adult it took, on average, {_plain_means(known, '.1f', 'days')}"
    if row.verdict is Verdict.NOT_TESTED:
        return f"{text}."
    if row.verdict is Verdict.NOT_SHOWN:
        return f"{text}; {NO_PROOF}."
    tested = [(mean, cohort) for mean, cohort in known if cohort not in row.left_out]
    (least, fastest), *_, (most, slowest) = sorted(tested)
    if not _told_apart(row, fastest, slowest):
        return f"{text}: not the same in all."
    # of the figures as they are shown, lest they contradict each other
    gap = round(most, 1) - round(least, 1)
    return f"{text}: {fastest} was faster than {slowest} by {gap:.1f} days."


def _warmth(row: StageComparison) -> str:
    text = f"Counted as warmth, they needed {_plain_means(_known(row), '.0f', 'degree-days')}"
    if row.verdict is Verdict.NOT_TESTED:
        return f"{text}."
    if row.verdict is Verdict.DIFFER:
        return f"{text}: not the same, so warmth alone does not explain the days."
    return f"{text}; {NO_PROOF}."


def _known(row: StageComparison) -> list[tuple[float, str]]:
    return [(_mean(group), group.cohort) for group in row.groups if group.mean is not None]


def _plain_means(known: Sequence[tuple[float, str]], form: str, unit: str) -> str:
    if len(known) > MOST_IN_PAIRS:
        (least, fastest), *_, (most, slowest) = sorted(known)
        return f"{least:{form}} {unit} in {fastest} to {most:{form}} in {slowest}"
    first, *others = [(f"{mean:{form}}", cohort) for mean, cohort in known]
    return listed([f"{first[0]} {unit} in {first[1]}", *map(" in ".join, others)])


TEXTS: Texts = {
    StageComparison: {"words": words, "reason": reason},
    Comparison: {"notices": notices, "lead": lead},
}
