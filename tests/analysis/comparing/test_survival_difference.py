import numpy as np
import pytest
from lifelines.statistics import multivariate_logrank_test

from rearlog.analysis.comparing.survival_difference import SurvivalComparison, survival_difference
from rearlog.analysis.statistics.differences import Verdict
from rearlog.analysis.survival.survival import ReachedEnd
from rearlog.analysis.survival.watch import Watched
from rearlog.sentences.survival_difference import words


def lives(days: list[int], died: int) -> Watched:
    """So many days under watch each; the first so many died."""
    found, dead = np.array(days, dtype=float), np.arange(len(days)) < died
    low = np.where(dead, np.maximum(found - 1, 0), found)
    high = np.where(dead, found, np.inf)
    return Watched(np.ones(len(days), bool), found, dead, np.zeros(len(days), bool), low, high)


END = ReachedEnd("adult", 8, 2, 0, 0, 0.25, 0.25, 0.07, 0.59)


def difference(names: list[str], groups: list[Watched]) -> SurvivalComparison:
    return survival_difference(names, groups, [END] * len(names))


HARD, EASY = lives([2, 3, 3, 4, 4, 5, 6, 20], 7), lives([20] * 9 + [5], 0)


def test_deaths_are_told_beside_those_expected_by_a_reference_library() -> None:
    found = difference(["hard", "easy"], [HARD, EASY])
    days, died = np.concatenate([HARD.days, EASY.days]), np.concatenate([HARD.died, EASY.died])
    reference = multivariate_logrank_test(days, [0] * 8 + [1] * 10, died)
    assert (found.chi2, found.p) == pytest.approx((reference.test_statistic, reference.p_value))
    assert [(each.n, each.died) for each in found.groups] == [(8, 7), (10, 0)]
    assert sum(each.expected or 0.0 for each in found.groups) == pytest.approx(7)


def test_the_words_say_what_was_shown_and_what_was_not() -> None:
    shown = difference(["hard", "easy"], [HARD, EASY])
    assert shown.verdict is Verdict.DIFFER
    assert words(shown) == (
        "Survival: the cohorts differ (p < 0.001); 7 of 8 died in hard and 0 of 10 died in easy."
    )
    alike = difference(["a", "b"], [HARD, HARD])
    assert alike.verdict is Verdict.NOT_SHOWN
    assert words(alike).startswith("Survival: no difference shown (p = 1.00); ")


def test_without_deaths_or_without_anybody_there_is_no_test() -> None:
    nobody = lives([], 0)
    unharmed = difference(["a", "b"], [EASY, EASY])
    assert (unharmed.chi2, unharmed.p) == (None, None)
    assert unharmed.groups[0].expected is None
    assert "nobody died" in words(unharmed)
    assert words(difference(["a", "b"], [EASY, nobody])) == (
        "Survival: no test, since nobody was under watch in b; 0 of 10 died in a."
    )
