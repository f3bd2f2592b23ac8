"""What the comparison of survival says."""

from __future__ import annotations

from rearlog.analysis.comparing.survival_difference import SurvivalComparison
from rearlog.sentences.differences import FOUND
from rearlog.sentences.phrases import listed, p_text, reached_word
from rearlog.sentences.texts import Texts


def words(result: SurvivalComparison) -> str:
    """Whether survival differs, and how many died of how many."""
    p = result.p
    finding = _no_test(result) if p is None else f"{FOUND[result.verdict]} ({p_text(p)})"
    watched = [each for each in result.groups if each.n]
    counts = listed([f"{each.died} of {each.n} died in {each.cohort}" for each in watched])
    return f"{'; '.join(filter(None, (f'Survival: {finding}', counts)))}."


def end_reached(result: SurvivalComparison) -> str:
    """What it is called to have reached the end, of which cohorts of several species have more."""
    ends = {reached_word(each.reached.stage) for each in result.groups}
    return f"reached {ends.pop()}" if len(ends) == 1 else "reached the last stage"


def _no_test(result: SurvivalComparison) -> str:
    empty = [each.cohort for each in result.groups if not each.n]
    if empty:
        return f"no test, since nobody was under watch in {listed(empty)}"
    return "no test, since nobody died while two cohorts were under watch"


TEXTS: Texts = {SurvivalComparison: {"words": words}}
