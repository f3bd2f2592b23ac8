"""What the comparison of survival says."""

from __future__ import annotations

from rearlog.analysis.comparing.survival_difference import SurvivalComparison
from rearlog.analysis.statistics.differences import Verdict
from rearlog.analysis.statistics.interval_log_rank import NoLogRank
from rearlog.sentences.differences import FOUND
from rearlog.sentences.phrases import (
    MOST_NAMED,
    in_a_sentence,
    least_to_most,
    listed,
    p_text,
    reached_word,
)
from rearlog.sentences.texts import Texts


def words(result: SurvivalComparison) -> str:
    """Whether survival differs, and how many died of how many."""
    watched = [each for each in result.groups if each.n]
    counts = listed([f"{each.died} of {each.n} died in {each.cohort}" for each in watched])
    counts += _left_out(result)
    what = f"How long those seen as {result.since} lived" if result.of_last_stage else "Survival"
    return f"{'; '.join(filter(None, (f'{what}: {finding(result)}', counts)))}."


def finding(result: SurvivalComparison) -> str:
    """What the test says, or why there is none."""
    if result.p is None:
        return f"no test, {_why_no_test(result)}"
    return f"{FOUND[result.verdict]} ({p_text(result.p)})"


def lead(result: SurvivalComparison, compared: str = "cohorts") -> str:
    """Whether some died more than others, with how many of how many did or when half had died."""
    what = f"How long they lived as {result.since}" if result.of_last_stage else "Survival"
    if result.p is None:
        return f"{what} cannot be compared, {_why_no_test(result)}."
    counts = _half_died(result, compared) if result.of_last_stage else _died(result, compared)
    counts += _left_out(result)
    if result.verdict is Verdict.DIFFER:
        return f"{what} differs: {counts}."
    what = in_a_sentence(what)
    return f"No difference in {what} was shown, which is no proof that there is none: {counts}."


def _died(result: SurvivalComparison, compared: str) -> str:
    watched = [each for each in result.groups if each.n]
    if len(watched) > MOST_NAMED:
        return f"{least_to_most([each.died / each.n for each in watched])} {compared}"
    (first, *others) = [f"{each.died} of {each.n}" for each in watched]
    names = [each.cohort for each in watched]
    rest = [f"{count} in {name}" for count, name in zip(others, names[1:], strict=True)]
    return listed([f"{first} died in {names[0]}", *rest])


def _left_out(result: SurvivalComparison) -> str:
    """That deaths of those that had come to the end do not count, where there were some."""
    if not result.left_out:
        return ""
    stages = {each.reached.stage for each in result.groups}
    return f", deaths as {stages.pop() if len(stages) == 1 else 'the last stage'} left out"


def _half_died(result: SurvivalComparison, compared: str) -> str:
    """When half had died, of each cohort in which so many have; else how many died."""
    days = [
        f"of {each.cohort} by day {round(each.median.high, 1):g}"
        for each in result.groups
        if each.median is not None and each.median.high is not None
    ]
    if len(days) < len(result.groups) or len(days) > MOST_NAMED:
        return _died(result, compared)
    return f"half had died {listed(days)}"


def end_reached(result: SurvivalComparison) -> str:
    """What it is called to have reached the end, of which cohorts of several species have more."""
    ends = {reached_word(each.reached.stage) for each in result.groups}
    return f"reached {ends.pop()}" if len(ends) == 1 else "reached the last stage"


def _why_no_test(result: SurvivalComparison) -> str:
    if result.reason in (NoLogRank.NOBODY, NoLogRank.TOO_FEW):
        fewest = min(each.n for each in result.groups)
        few = listed([each.cohort for each in result.groups if each.n == fewest])
        return f"since {'one alone' if fewest else 'nobody'} was under watch in {few}"
    if result.reason is NoLogRank.NO_EVENTS:
        return "since nobody died"
    return "since the looks tell no death from another"


TEXTS: Texts = {SurvivalComparison: {"words": words}}
