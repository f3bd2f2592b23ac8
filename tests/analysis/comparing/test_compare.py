import numpy as np
import pytest
from lifelines.statistics import logrank_test
from msgspec.structs import replace
from scipy.stats import f_oneway, ttest_ind, tukey_hsd

from rearlog.analysis.comparing.cohorts import ComparedCohort
from rearlog.analysis.comparing.compare import Comparison, compare
from rearlog.analysis.comparing.stage_comparison import DEGREE_DAYS, StageComparison
from rearlog.analysis.stages.events import event_history
from rearlog.analysis.statistics.differences import NoTest, Ratio, Verdict
from rearlog.analysis.survival.watch import watched
from rearlog.records.errors import UsageError
from rearlog.sentences.compare import notices
from rearlog.sentences.stage_comparison import words
from rearlog.sentences.survival_difference import words as survival_words
from tests.analysis.invented_comparisons import FAST, SLOW, cohort
from tests.builders import small_profile, tiny_log


def l1(result: Comparison, unit: str = "days") -> StageComparison:
    return next(each for each in result.stages if (each.stage, each.unit) == ("L1", unit))


def pairwise_gameshowell(*groups: list[int]) -> list[float]:
    """The p of all pairs by Games and Howell, of a reference library."""
    found = tukey_hsd(*groups, equal_var=False).pvalue
    return [found[i, j] for i in range(len(groups)) for j in range(i + 1, len(groups))]


# --- the test ------------------------------------------------------------------------------------


def test_two_cohorts_are_compared_as_by_a_reference_library() -> None:
    found = l1(compare([cohort("slow", SLOW), cohort("fast", FAST)]))
    reference = ttest_ind(SLOW, FAST, equal_var=False)
    assert (found.test, found.statistic) == ("Welch", pytest.approx(reference.statistic, rel=1e-4))
    assert found.p == pytest.approx(reference.pvalue, rel=1e-3)
    (pair,) = found.pairs
    limits = reference.confidence_interval()
    assert (pair.means.low, pair.means.high) == pytest.approx((limits.low, limits.high), rel=1e-4)
    assert (pair.p, pair.verdict, pair.ratio) == (found.p, Verdict.DIFFER, None)


def test_three_cohorts_are_compared_as_by_a_reference_library() -> None:
    found = l1(compare([cohort("a", SLOW), cohort("b", FAST), cohort("c", FAST[::-1])]))
    assert found.test == "Welch ANOVA"
    reference = f_oneway(SLOW, FAST, FAST[::-1], equal_var=False)
    assert found.p == pytest.approx(reference.pvalue, rel=1e-3)
    assert found.difference is None
    assert [each.letters for each in found.groups] == ["b", "a", "a"]
    by_pairs = pairwise_gameshowell(SLOW, FAST, FAST[::-1])
    assert [each.p for each in found.pairs] == pytest.approx(by_pairs, rel=1e-3, abs=1e-9)
    pairs = [(each.cohort, each.other) for each in found.pairs]
    assert pairs == [("a", "b"), ("a", "c"), ("b", "c")]


def test_degree_days_are_compared_by_means() -> None:
    """At 15 and 20 °C, above 10 °C: 5 and 10 degree-days a day."""
    result = compare([cohort("cool", SLOW, celsius=15), cohort("warm", FAST, celsius=20)])
    found = l1(result, DEGREE_DAYS)
    reference = ttest_ind(np.array(SLOW) * 5.0, np.array(FAST) * 10.0, equal_var=False)
    assert found.test == "Welch"
    assert found.p == pytest.approx(reference.pvalue, rel=1e-4)
    assert [group.mean for group in found.groups] == pytest.approx(
        [np.mean(SLOW) * 5, np.mean(FAST) * 10]
    )


def test_stages_are_corrected_for_their_number_and_the_whole_is_not() -> None:
    lives = {f"a{n}": "egg " * (1 + n % 5) + "L1 L1 L2 L2 pupa pupa adult" for n in range(8)}
    slower = {
        f"a{n}": "egg " * (1 + n % 5) + "L1 " * (2 + n % 3) + "L2 pupa adult" for n in range(8)
    }
    a, b = (ComparedCohort(name, "", event_history(tiny_log(log, laid=(-1, 0))), None)
            for name, log in (("a", lives), ("b", slower)))  # fmt: skip
    *stages, whole = compare([a, b]).stages
    by_p = sorted(stages, key=lambda row: row.p or 0.0)
    assert [row.stage for row in stages] == ["egg", "L1", "L2", "pupa"]
    assert by_p[0].p_holm == pytest.approx(len(stages) * (by_p[0].p or 0.0))
    assert (whole.stage, whole.p_holm) == ("whole development", whole.p)


def of_stages(lives: dict[str, str]) -> ComparedCohort:
    return ComparedCohort(lives.pop("name"), "", event_history(tiny_log(lives, laid=(-1, 0))), None)


def test_what_only_the_uncorrected_p_would_show_is_said_apart() -> None:
    """Three stages, and one of them differs a little: p is below 5 %, three times of it is not."""
    longer, shorter = [4, 5, 5, 6, 5, 6, 7, 5], [4, 4, 4, 5, 4, 5, 5, 4]
    p = ttest_ind(longer, shorter, equal_var=False).pvalue
    assert 0.0167 < p < 0.025
    a, b = (
        of_stages(
            {"name": name}
            | {
                str(n): "egg L1! "
                + "L1 " * (n % 5)
                + "L2! "
                + "L2 " * (each - 1)
                + "pupa! "
                + "pupa " * (n % 3)
                + "adult!"
                for n, each in enumerate(took)
            }
        )
        for name, took in (("a", longer), ("b", shorter))
    )
    rows = {row.stage: row for row in compare([a, b]).stages}
    assert rows["L2"].p == pytest.approx(p)
    assert (rows["L2"].verdict, rows["L2"].shown_alone) == (Verdict.NOT_SHOWN, True)
    assert (rows["L1"].verdict, rows["L1"].shown_alone) == (Verdict.NOT_SHOWN, False)
    clear = l1(compare([cohort("slow", SLOW), cohort("fast", FAST)]))
    assert (clear.verdict, clear.shown_alone) == (Verdict.DIFFER, False)


# --- what checks can tell ------------------------------------------------------------------------


def test_a_difference_that_the_checks_cannot_resolve_is_not_called_one() -> None:
    """All entered and left L1 together: 4 and 5 days may both be 4.5."""
    few = compare([cohort("a", [4] * 30, together=True), cohort("b", [5] * 30, together=True)])
    found = l1(few)
    assert found.test == "Welch"
    assert found.p is not None
    assert found.p > 0.05
    assert found.resolution == pytest.approx(1.96 * (4 / 12) ** 0.5, rel=0.03)
    assert found.verdict is Verdict.NOT_SHOWN
    assert "Less than 1.1 days cannot be shown here" in words(found)


def test_of_several_the_two_that_are_least_sure_say_what_checks_could_show() -> None:
    alike = [cohort(name, [days] * 30, together=True) for name, days in (("a", 4), ("b", 5))]
    found = l1(compare([*alike, cohort("c", [6] * 30, together=True)]))
    assert found.resolution == pytest.approx(1.96 * (4 / 12) ** 0.5, rel=0.03)
    assert found.resolution == pytest.approx(l1(compare(alike)).resolution, rel=0.02)


def test_of_two_that_took_as_long_the_first_stays_first() -> None:
    (pair,) = l1(compare([cohort("a", FAST), cohort("b", FAST[::-1])])).pairs
    assert pair.means.estimate == 0
    assert (pair.longer_first, pair.longer) == (pair, None)
    alike = replace(pair, ratio=Ratio(1.0, 0.9, 1.1))
    assert alike.longer_first is alike


def test_medians_that_stand_on_the_grid_of_the_checks_may_each_be_off_by_part_of_a_day() -> None:
    """All took 4 and 6 days, looked at daily: by hand the grid has an SD of √(1/12) a median."""
    found = l1(compare([cohort("a", [4] * 12), cohort("b", [6] * 12)])).difference
    assert found is not None
    hidden = 1.96 * (2 / 12) ** 0.5
    assert (found.estimate, found.low, found.high) == (
        -2,
        pytest.approx(-2 - hidden, abs=0.01),
        pytest.approx(-2 + hidden, abs=0.01),
    )


def test_checks_every_other_day_hide_twice_as_much_of_a_median() -> None:
    def looked(name: str, days: int) -> ComparedCohort:
        lives = {
            str(n): "egg" + " - egg" * (1 + n % 6) + " - L1" * (days // 2) + " - L2"
            for n in range(12)
        }
        return ComparedCohort(name, "", event_history(tiny_log(lives)), None)

    found = l1(compare([looked("a", 4), looked("b", 8)])).difference
    assert found is not None
    assert found.estimate == -4
    assert found.low == pytest.approx(-4 - 1.96 * (2 * 2**2 / 12) ** 0.5, abs=0.02)


def test_one_cohort_in_step_has_no_difference_to_resolve() -> None:
    alone = l1(compare([cohort("a", [4] * 30, together=True), cohort("b", [5, 5])]))
    assert alone.resolution is None
    spread = l1(compare([cohort("a", SLOW), cohort("b", FAST)]))
    assert spread.resolution is None


def test_a_difference_beyond_the_checks_is() -> None:
    found = l1(compare([cohort("a", [4] * 9, together=True), cohort("b", [7] * 9, together=True)]))
    assert found.p_holm is not None
    assert found.p_holm < 0.05
    assert (found.verdict, found.pairs[0].longer) == (Verdict.DIFFER, "b")
    assert "b took 3.0 days more than a on average" in words(found)
    assert found.difference is not None
    assert found.difference.low is not None
    assert found.difference.low == pytest.approx(-3 - found.resolution, abs=0.2)  # not −3


# --- too few, and none ---------------------------------------------------------------------------


def test_too_few_are_not_tested_and_the_reason_is_given() -> None:
    found = l1(compare([cohort("a", [3, 4]), cohort("b", SLOW)]))
    assert found.p is None
    assert found.p_holm is None
    assert found.difference is None
    assert (found.verdict, found.reason) == (Verdict.NOT_TESTED, NoTest.TOO_FEW)
    reason = "fewer than 3 were followed to its end in a"
    assert words(found) == f"L1: no test, since {reason} (n = 2 and 8)."


def test_three_in_each_cohort_are_enough_for_a_test() -> None:
    found = l1(compare([cohort("a", [3, 4, 5]), cohort("b", SLOW)]))
    assert found.p is not None
    assert found.left_out == ()
    fewer = l1(compare([cohort("a", [3, 4]), cohort("b", SLOW)]))
    assert (fewer.test, fewer.statistic, fewer.left_out) == ("none", None, ("a",))


def test_a_small_difference_that_is_sure_names_the_longer() -> None:
    """Means of 4.5 and 4.1 days, of 40 each: the interval reaches from above 0 to below 1."""
    (pair,) = l1(compare([cohort("a", [5, 4] * 20), cohort("b", [4] * 36 + [5] * 4)])).pairs
    assert pair.means.estimate == pytest.approx(0.4)
    assert pair.means.low is not None
    assert pair.means.high is not None
    assert 0 < pair.means.low < pair.means.high < 1
    assert (pair.longer, pair.longer_first.cohort) == ("a", "a")
    (turned,) = l1(compare([cohort("b", [4] * 36 + [5] * 4), cohort("a", [5, 4] * 20)])).pairs
    assert (turned.longer, turned.longer_first.cohort) == ("a", "a")


def test_a_stage_that_only_one_species_has_leaves_the_other_out() -> None:
    lives = {str(n): "egg L1! " + "L1 " * (n - 1) + "pupa!" for n in (2, 3, 4, 5)}
    profile = small_profile()
    short = replace(profile, stages=tuple(each for each in profile.stages if each.code != "L2"))
    other = ComparedCohort("short", "Other", event_history(tiny_log(lives, profile=short)), None)
    result = compare([cohort("a", SLOW), other])
    assert [(each.cohort, each.n) for each in l1(result).groups] == [("a", 8), ("short", 4)]
    longer = tiny_log({str(n): "egg L1! L2! " + "L2 " * n + "pupa!" for n in (2, 3, 4)})
    both = compare([ComparedCohort("long", "", event_history(longer), None), other])
    (l2,) = [each for each in both.stages if each.stage == "L2"]
    assert [(each.cohort, each.n, each.mean) for each in l2.groups] == [
        ("long", 3, 4.0),
        ("short", 0, None),
    ]
    assert l2.left_out == ("short",)


def test_a_cohort_with_too_few_does_not_stop_the_others() -> None:
    a, b, short = cohort("a", SLOW), cohort("b", FAST), cohort("short", [3, 4])
    found = l1(compare([a, short, b]))
    assert found.p == l1(compare([a, b])).p
    assert found.left_out == ("short",)
    assert [group.n for group in found.groups] == [8, 2, 8]
    assert words(found).endswith("Left out: fewer than 3 were followed to its end in short.")


def test_a_stage_that_one_cohort_never_finished_has_a_reason() -> None:
    found = l1(compare([cohort("a", SLOW), cohort("b", [], dead=4)]))
    assert found.p is None
    assert found.groups[1].n == 0
    assert found.groups[1].mean is None


def test_nothing_finished_anywhere_is_an_empty_comparison() -> None:
    result = compare([cohort("a", [], dead=2), cohort("b", [], dead=2)])
    assert [each.stage for each in result.stages] == []


def test_a_cohort_without_temperatures_is_compared_in_days_only() -> None:
    result = compare([cohort("a", SLOW, celsius=20), cohort("b", FAST)])
    assert notices(result) == [
        "b has no temperatures, or its species no lower threshold: it is compared in days only."
    ]
    assert l1(result).p is not None
    assert "at known temperatures in b" in words(l1(result, DEGREE_DAYS))


def test_species_that_differ_are_said() -> None:
    result = compare([cohort("a", SLOW), cohort("b", FAST, species="Other moth")])
    assert "different species (Moth test, Other moth)" in notices(result)[0]


# --- spans ---------------------------------------------------------------------------------------


def test_one_span_is_compared_by_itself() -> None:
    result = compare([cohort("slow", SLOW), cohort("fast", FAST)], "L1", "L2")
    (row,) = result.stages
    assert row.stage == "L1 to L2"
    assert (
        row.p
        == row.p_holm
        == pytest.approx(ttest_ind(SLOW, FAST, equal_var=False).pvalue, rel=1e-3)
    )


@pytest.mark.parametrize("span", [("L9", None), ("L2", "L1")])
def test_spans_that_are_none(span: tuple[str, str | None]) -> None:
    with pytest.raises(UsageError):
        compare([cohort("slow", SLOW), cohort("fast", FAST)], *span)


# --- survival ------------------------------------------------------------------------------------


def test_survival_is_about_the_log_rank_test_of_a_reference_library() -> None:
    a, b = cohort("a", SLOW, dead=6), cohort("b", SLOW)
    found = compare([a, b]).survival
    one, other = watched(a.history), watched(b.history)
    reference = logrank_test(one.days, other.days, one.died, other.died)
    # some deaths lie between the same looks; p is by permutation
    assert found.chi2 == pytest.approx(reference.test_statistic, rel=0.15)
    assert found.p == pytest.approx(reference.p_value, abs=0.02)
    assert "6 of 14 died in a and 0 of 8 died in b" in survival_words(found)


def test_survival_where_nobody_died_or_nobody_was_there() -> None:
    a, b = cohort("a", SLOW), cohort("b", FAST)
    assert "no test, since nobody died" in survival_words(compare([a, b]).survival)
    assert "nobody was under watch" in survival_words(compare([a, b], "pupa", "adult").survival)


def test_calls_that_cannot_be_answered() -> None:
    with pytest.raises(UsageError, match="two cohorts"):
        compare([cohort("a", SLOW)])
    with pytest.raises(UsageError, match="given twice"):
        compare([cohort("a", SLOW), cohort("a", FAST)])


def test_one_cohort_that_hatched_in_one_check_can_be_compared() -> None:
    """Ten that all took 4 days, as far as checks can tell: their mean still has an error."""
    result = compare(
        [cohort("a", [4] * 10, together=True, celsius=20), cohort("b", SLOW, celsius=15)]
    )
    for unit in ("days", DEGREE_DAYS):
        found = l1(result, unit)
        assert found.groups[0].sd == pytest.approx(0)
        assert found.p is not None, unit
