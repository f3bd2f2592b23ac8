"""What a comparison of cohorts says, in sentences that claim no more than it can."""

from __future__ import annotations

from collections.abc import Sequence

from rearlog.analysis.comparing.compare import (
    DAYS,
    Comparison,
    GroupSummary,
    PairDifference,
    StageComparison,
)
from rearlog.analysis.statistics.differences import FEWEST_FOR_TEST, NoTest, Verdict
from rearlog.analysis.statistics.levels import LEAST_TOLD
from rearlog.sentences.differences import FOUND, NO_TEST
from rearlog.sentences.gap_filling import gaps
from rearlog.sentences.phrases import INTERVAL, listed, p_text, sentence_case
from rearlog.sentences.texts import Texts


def words(row: StageComparison) -> str:
    """What the comparison of one stage says."""
    if row.p_holm is None:
        return f"{row.stage}: no test, since {reason(row)} ({_sizes(row.groups)})."
    tested = [each for each in row.groups if each.cohort not in row.left_out]
    if len(row.pairs) == 1:
        text = _pair_words(row, row.pairs[0].longer_first)
    else:
        means = listed([f"{each.mean:.1f} in {each.cohort}" for each in tested])
        text = f"{row.stage}: {FOUND[row.verdict]}; on average {means} {unit_word(row)}"
    text += f" ({p_text(row.p_holm)}; {_sizes(tested)})."
    if row.p is not None and row.shown_alone:
        text += (
            f" By itself it would count as a difference ({p_text(row.p)}), but among so many "
            "stages chance alone makes one."
        )
    if row.left_out:
        text += f" Left out: {_too_few(row)}."
    if row.resolution is not None and row.verdict is Verdict.NOT_SHOWN:
        text += (
            f" Less than {row.resolution:.1f} {unit_word(row)} cannot be shown here, since most "
            "passed between the same two checks."
        )
    return text


def reason(row: StageComparison) -> str | None:
    """Why no test could be made; None where one was."""
    if row.reason is None:
        return None
    return _too_few(row) if row.reason is NoTest.TOO_FEW else NO_TEST[row.reason]


def notices(result: Comparison) -> list[str]:
    """What a reader should know of the whole comparison."""
    several = (
        f"The cohorts are of different species ({', '.join(result.species)}): "
        "stages of the same name are compared, whatever they are."
    )
    return (
        [several] * (len(result.species) > 1)
        + [
            f"{cohort} has no temperatures, or its species no lower threshold: "
            "it is compared in days only."
            for cohort in result.days_only
        ]
        + [f"{gaps(each)}." for each in result.gaps]
    )


def title(result: Comparison) -> str:
    """How many times as long the slowest took as the fastest, in days and in heat."""
    days = next((row.by_mean for row in result.overall if row.unit == DAYS), ())
    if len(days) < 2:
        return "No two cohorts have finished development"
    fast, slow = days[0], days[-1]
    text = f"{slow.cohort} took {_times(fast, slow):.1f} times as many days as {fast.cohort}"
    for row in result.overall:
        heat = {group.cohort: group for group in row.by_mean}
        if row.unit != DAYS and {fast.cohort, slow.cohort} <= heat.keys():
            times = _times(heat[fast.cohort], heat[slow.cohort])
            text += f" and {times:.2f} times as many degree-days"
    return text


def alt_text(result: Comparison) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(result.cohorts)
    return f"Chart of the development of {names}, in days and in degree-days. {title(result)}."


def notes(shown: Sequence[StageComparison]) -> list[str]:
    """What the marks of the chart are, and what the comparisons in it say."""
    marks = "Marks: mean of those that completed it. Bars: SD."
    return [marks, *(sentence_case(words(each)) for each in shown)]


def _times(fast: GroupSummary, slow: GroupSummary) -> float:
    """How many times the one mean is the other."""
    return (slow.mean or 0.0) / (fast.mean or 1.0)


def unit_word(row: StageComparison) -> str:
    """The unit of a comparison as it is said."""
    return "days" if row.unit == DAYS else "degree-days"


def _too_few(row: StageComparison) -> str:
    known = "" if row.unit == DAYS else " at known temperatures"
    return f"fewer than {FEWEST_FOR_TEST} were followed to its end{known} in {listed(row.left_out)}"


def _pair_words(row: StageComparison, pair: PairDifference) -> str:
    """The finding of two cohorts, the longer one first."""
    gap, shown = pair.means, row.verdict is Verdict.DIFFER
    if shown and pair.longer is None:
        return (
            f"{row.stage}: {pair.cohort} and {pair.other} differ in how their values lie, though "
            "not clearly in their means"
        )
    verb = "took" if row.unit == DAYS else "needed"
    finding = (
        f"{pair.cohort} and {pair.other} {verb} about the same on average"
        if gap.estimate < LEAST_TOLD
        else f"{pair.cohort} {verb} {gap.estimate:.1f} {unit_word(row)} more than {pair.other} "
        "on average"
    )
    if gap.low is not None and gap.high is not None:
        reach = f"{abs(gap.low):.1f} {'fewer' if gap.low < 0 else 'more'} to {gap.high:.1f} more"
        if gap.low > 0:
            reach = f"{gap.low:.1f} to {gap.high:.1f}"
        finding += f", {INTERVAL} {reach}"
        if row.p != row.p_holm:
            finding += " for this stage alone"
    return f"{row.stage}: {'' if shown else f'{FOUND[row.verdict]}; '}{finding}"


def _sizes(groups: Sequence[GroupSummary]) -> str:
    return f"n = {listed([str(each.n) for each in groups])}"


TEXTS: Texts = {
    StageComparison: {"words": words, "reason": reason},
    Comparison: {"notices": notices},
}
