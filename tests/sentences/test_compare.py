"""What a comparison says: no more than it can, and the right way round."""

from dataclasses import replace

from rearlog.analysis.comparing.compare import Comparison, StageComparison, compare
from rearlog.analysis.statistics.differences import Verdict
from rearlog.sentences.compare import words
from tests.analysis.invented_comparisons import FAST, SLOW, cohort


def l1(result: Comparison) -> StageComparison:
    return next(each for each in result.stages if each.stage == "L1")


def test_the_words_point_the_right_way_round() -> None:
    slow, fast = cohort("slow", SLOW), cohort("fast", FAST)
    one, other = (l1(compare(pair)) for pair in ([slow, fast], [fast, slow]))
    assert words(one) == words(other)
    assert words(one).startswith("L1: slow took 5.5 days more than fast on average, 95 % interval ")
    assert one.difference is not None
    assert other.difference is not None
    assert one.difference.estimate == -other.difference.estimate == 5.5


def test_no_difference_shown_has_the_interval_that_may_hide_one() -> None:
    said = words(l1(compare([cohort("a", SLOW), cohort("b", [10, *SLOW[1:]])])))
    assert "no difference shown; b took 0.2 days more than a on average, 95 % interval" in said
    assert " fewer to " in said


def test_the_same_means_are_said_to_be_so() -> None:
    said = words(l1(compare([cohort("a", SLOW), cohort("b", SLOW[::-1])])))
    assert "no difference shown; a and b took about the same on average" in said


def test_ranks_that_differ_without_the_means_are_not_called_longer() -> None:
    """Most of b took a day less, but a few far more."""
    found = l1(compare([cohort("a", [6] * 12), cohort("b", [5] * 10 + [11, 11])]))
    assert found.p is not None
    assert found.p < 0.05
    assert (found.verdict, found.pairs[0].longer) == (Verdict.DIFFER, None)
    assert "differ in how their values lie, though not clearly in their means" in words(found)


def test_many_cohorts_are_named_with_their_means() -> None:
    said = words(l1(compare([cohort("a", SLOW), cohort("b", FAST), cohort("c", FAST[:5])])))
    assert "L1: the cohorts differ; on average 9.8 in a, 4.2 in b and 4.2 in c days" in said
    assert "n = 8, 8 and 5" in said


def test_an_interval_that_is_not_corrected_says_so_beside_a_p_that_is() -> None:
    """A difference of one stage among many: its own interval leaves out 0, Holm's p says no."""
    found = l1(compare([cohort("a", SLOW), cohort("b", FAST)]))
    assert "for this stage alone" not in words(found)  # L1 is the only stage that could be tested
    row = replace(found, p=0.02, p_holm=0.07, verdict=Verdict.NOT_SHOWN, shown_alone=True)
    said = words(row)
    assert "no difference shown; a took 5.5 days more than b on average, 95 % interval" in said
    assert " for this stage alone (p = 0.070; " in said
    assert "By itself it would count as a difference (p = 0.020)" in said
