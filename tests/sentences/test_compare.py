"""What a comparison says: no more than it can, and the right way round."""

from msgspec.structs import replace

from rearlog.analysis.comparing.compare import Comparison, compare
from rearlog.analysis.comparing.stage_comparison import StageComparison
from rearlog.analysis.statistics.differences import Verdict
from rearlog.sentences.compare import title
from rearlog.sentences.stage_comparison import words
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


def test_a_few_stragglers_are_no_difference_of_the_means() -> None:
    """Most of b took a day less, but a few far more."""
    found = l1(compare([cohort("a", [6] * 12), cohort("b", [5] * 10 + [11, 11])]))
    assert (found.verdict, found.pairs[0].longer) == (Verdict.NOT_SHOWN, None)
    assert "no difference shown; a and b took about the same on average" in words(found)


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


# --- the title ------------------------------------------------------------------------------------

FIVE = [5, 5, 4, 5, 6, 5, 5, 4]


def test_the_title_claims_no_more_than_p_shows() -> None:
    """At 15 and 20 °C above 10 °C a day has 5 and 10 degree-days: 9.75 and 5 days are nearly the
    same, 4.25 days are not."""
    cool, warm = (
        cohort("cool", SLOW, celsius=15),
        cohort("warm", [5, 5, 4, 5, 6, 5, 5, 4], celsius=20),
    )
    assert title(compare([cool, warm], "L1", "L2")) == (
        "cool took 2.0 times as many days as warm; no difference in degree-days was shown"
    )
    hot = cohort("hot", FAST, celsius=25)
    assert title(compare([cool, hot], "L1", "L2")) == (
        "cool took 2.3 times as many days as hot; hot needed 1.3 times as many degree-days as cool"
    )
    alike = [cohort(name, SLOW, celsius=15) for name in ("a", "b")]
    assert title(compare(alike, "L1", "L2")) == (
        "No difference in days or degree-days was shown between a and b"
    )
    few = [cohort("a", SLOW), cohort("b", [8, 9])]
    assert title(compare(few, "L1", "L2")) == "Too little to compare the days of a and b"
    alone = [cohort("a", SLOW), cohort("b", [])]
    assert title(compare(alone, "L1", "L2")) == "No two cohorts have finished development"


def test_of_several_cohorts_the_title_has_the_lowest_and_the_highest() -> None:
    three = [cohort("a", SLOW), cohort("b", FIVE), cohort("c", FAST)]
    result = compare(three, "L1", "L2")
    assert title(result) == "a took 2.3 times as many days as c"
    (row,) = (row for row in result.stages if row.unit == "days")
    assert "Shown to differ: a from b (p < 0.001) and a from c (p < 0.001)." in words(row)
    apart = replace(
        row, pairs=tuple(replace(each, verdict=Verdict.NOT_SHOWN) for each in row.pairs)
    )
    assert title(replace(result, stages=(apart,))) == "The cohorts differ in days"
    assert "Of no two of them a difference is shown." in words(apart)
