"""What the comparison of survival says."""

from __future__ import annotations

from rearlog.analysis.comparing.survival_difference import SurvivalComparison
from rearlog.analysis.statistics.interval_log_rank import NoLogRank
from rearlog.sentences.differences import FOUND
from rearlog.sentences.phrases import listed, p_text, reached_word
from rearlog.sentences.texts import Texts


def words(result: SurvivalComparison) -> str:
    """Whether survival differs, and how many died of how many."""
    p = result.p
    finding = _no_test(result) if p is None else f"{FOUND[result.verdict]} ({p_text(p)})"
    watched = [each for each in result.groups if each.n]
    counts = listed([f"{each.died} of {each.n} died in {each.cohort}" for each in watched])
    what = f"How long those seen as {result.since} lived" if result.of_last_stage else "Survival"
    return f"{'; '.join(filter(None, (f'{what}: {finding}', counts)))}."


def end_reached(result: SurvivalComparison) -> str:
    """What it is called to have reached the end, of which cohorts of several species have more."""
    ends = {reached_word(each.reached.stage) for each in result.groups}
    return f"reached {ends.pop()}" if len(ends) == 1 else "reached the last stage"


def _no_test(result: SurvivalComparison) -> str:
    if result.reason in (NoLogRank.NOBODY, NoLogRank.TOO_FEW):
        fewest = min(each.n for each in result.groups)
        few = listed([each.cohort for each in result.groups if each.n == fewest])
        return f"no test, since {'one alone' if fewest else 'nobody'} was under watch in {few}"
    if result.reason is NoLogRank.NO_EVENTS:
        return "no test, since nobody died"
    return "no test, since the looks tell no death from another"


TEXTS: Texts = {SurvivalComparison: {"words": words}}
