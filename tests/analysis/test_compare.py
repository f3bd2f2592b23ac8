import pytest
from lifelines.statistics import logrank_test
from scipy.stats import mannwhitneyu

from rearlog.analysis.compare import Compared, Comparison, StageComparison, compare
from rearlog.analysis.durations import durations
from rearlog.analysis.events import develop
from rearlog.analysis.survival import watched
from rearlog.records.errors import UsageError
from tests.builders import tiny_log


def cohort(name: str, l1_days: list[int], dead: int = 0) -> Compared:
    """Individuals whose L1 took so many days, and some that died on day 2."""
    lives = {f"a{n}": "egg L1 " + "L1 " * (days - 1) + "L2" for n, days in enumerate(l1_days)}
    lives |= {f"d{n}": "egg L1 dead" for n in range(dead)}
    log = tiny_log(lives)
    development, profile = develop(log), log.cohort.species
    return Compared(
        name,
        durations(name, profile, development, None),
        durations(name, profile, development, None, "egg", "adult"),
        *watched(development),
    )


def l1(result: Comparison) -> StageComparison:
    return next(each for each in result.stages if each.stage == "L1")


SLOW, FAST = [8, 9, 9, 10, 10, 11, 12, 9], [3, 4, 4, 5, 5, 4, 3, 6]


def test_the_test_is_that_of_a_reference_library() -> None:
    found = l1(compare([cohort("slow", SLOW), cohort("fast", FAST)]))
    reference = mannwhitneyu(SLOW, FAST)
    assert found.statistic == reference.statistic
    assert found.p == pytest.approx(reference.pvalue)


def test_the_words_point_the_right_way_round() -> None:
    slow, fast = cohort("slow", SLOW), cohort("fast", FAST)
    assert "slow took 5.5 days more than fast on average" in l1(compare([slow, fast])).words
    assert "fast took 5.5 days fewer than slow on average" in l1(compare([fast, slow])).words


def test_no_difference_shown_is_not_called_the_same() -> None:
    words = l1(compare([cohort("a", SLOW), cohort("b", SLOW[::-1])])).words
    assert "no difference shown" in words
    assert "does not say that they are the same" in words


def test_too_few_are_not_tested_and_the_reason_is_given() -> None:
    found = l1(compare([cohort("a", [3, 4]), cohort("b", SLOW)]))
    assert found.p is None
    assert found.p_holm is None
    assert "fewer than 3" in found.words


def test_three_cohorts_take_the_test_for_several() -> None:
    found = l1(compare([cohort("a", SLOW), cohort("b", FAST), cohort("c", FAST[::-1])]))
    assert found.test == "Kruskal–Wallis"
    assert found.difference is None
    assert [(each.cohort, each.other) for each in found.pairs] == [
        ("a", "b"),
        ("a", "c"),
        ("b", "c"),
    ]


def test_survival_is_the_log_rank_test_of_a_reference_library() -> None:
    a, b = cohort("a", SLOW, dead=6), cohort("b", SLOW)
    found = compare([a, b]).survival
    reference = logrank_test(a.watched, b.watched, a.died, b.died)
    assert found.chi2 == pytest.approx(reference.test_statistic)
    assert found.p == pytest.approx(reference.p_value)
    assert "6 of 14 died" in found.words


def test_a_stage_that_one_cohort_never_finished_has_a_reason() -> None:
    found = l1(compare([cohort("a", SLOW), cohort("b", [], dead=4)]))
    assert found.p is None
    assert found.groups[1].n == 0


def test_nothing_finished_anywhere_is_an_empty_comparison() -> None:
    result = compare([cohort("a", [], dead=2), cohort("b", [], dead=2)])
    assert [each.stage for each in result.stages] == []


def test_calls_that_cannot_be_answered() -> None:
    with pytest.raises(UsageError, match="two cohorts"):
        compare([cohort("a", SLOW)])
    with pytest.raises(UsageError, match="given twice"):
        compare([cohort("a", SLOW), cohort("a", FAST)])
