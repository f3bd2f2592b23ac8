"""Many cohorts are compared all at once, and two by two only where that is asked for."""

import numpy as np
import pytest
from scipy.stats import bootstrap, f_oneway, tukey_hsd

from rearlog.analysis.arrays import Floats
from rearlog.analysis.comparing.compare import Comparison, compare
from rearlog.analysis.comparing.stage_comparison import StageComparison
from rearlog.analysis.statistics import differences
from rearlog.analysis.statistics.differences import Verdict, resampled_medians
from rearlog.present.between import comparison_tables
from rearlog.sentences.compare import lead, notices, title
from rearlog.sentences.stage_comparison import words
from tests.analysis.invented_comparisons import FAST, SLOW, cohort


def days_of(place: int) -> list[int]:
    """Of eleven cohorts the last two took longer; the others differ by who took how long."""
    times = SLOW if place > 8 else FAST
    return [*times[place % 3 :], *times[: place % 3], *times[: place % 2]]


ELEVEN = [cohort(f"c{place}", days_of(place)) for place in range(11)]


def l1(result: Comparison) -> StageComparison:
    return next(each for each in result.stages if each.stage == "L1")


def test_more_than_ten_are_compared_at_once_with_the_same_test() -> None:
    found = compare(ELEVEN)
    reference = f_oneway(*(days_of(place) for place in range(11)), equal_var=False)
    # ours counts that checks round alike, which is little here
    assert l1(found).statistic == pytest.approx(reference.statistic, rel=3e-3)
    assert l1(found).test == "Welch ANOVA"
    assert (l1(found).pairs, found.in_pairs) == ((), False)
    assert {each.letters for each in l1(found).groups} == {None}
    assert compare(ELEVEN[:10]).in_pairs
    assert len(l1(compare(ELEVEN[:10])).pairs) == 45


def test_their_pairs_are_those_of_a_reference_library_where_asked_for() -> None:
    asked = l1(compare(ELEVEN, in_pairs=True))
    assert asked.p == l1(compare(ELEVEN)).p
    expected = tukey_hsd(*(days_of(place) for place in range(11)), equal_var=False).pvalue
    of_two = {(each.cohort, each.other): each for each in asked.pairs}
    assert len(of_two) == 55
    for one, other in ((0, 1), (0, 9), (3, 10), (9, 10)):
        pair = of_two[f"c{one}", f"c{other}"]
        assert pair.p == pytest.approx(expected[one, other], rel=1e-3, abs=1e-6)
    assert {each.cohort for each in asked.groups if each.letters == "b"} == {"c9", "c10"}
    assert l1(compare(ELEVEN[:3], in_pairs=False)).pairs == ()


def test_each_cohort_is_drawn_once_for_all_of_its_pairs(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn = []
    draw = differences._resampled_medians

    def counted(values: Floats, *rest: object) -> Floats:
        drawn.append(len(values))
        return draw(values, 2, *rest[1:])  # type: ignore[arg-type]

    monkeypatch.setattr(differences, "_resampled_medians", counted)
    few = compare(ELEVEN[:4])
    assert len(drawn) == 4 * len(few.stages)
    compare(ELEVEN)
    assert len(drawn) == 4 * len(few.stages)


def test_shared_draws_give_each_pair_the_interval_of_its_own() -> None:
    """Reference: the bootstrap of a library, of each pair by itself."""
    rng = np.random.default_rng(5)
    groups = [rng.gamma(6, 2 + place / 4, 20 + place) for place in range(3)]
    shared = resampled_medians(groups, resamples=20_000)
    assert shared.difference(0, 1) == resampled_medians(groups[:2], resamples=20_000).difference(
        0, 1
    )
    for one, other in ((0, 2), (1, 2)):
        library = bootstrap(
            (groups[one], groups[other]),
            lambda a, b, axis: np.median(a, axis) - np.median(b, axis),
            n_resamples=20_000,
            method="percentile",
            rng=1,
        )
        found = shared.difference(one, other)
        assert (found.low, found.high) == pytest.approx(
            tuple(library.confidence_interval), abs=0.08 * library.standard_error
        )
    assert found.turned.estimate == shared.difference(2, 1).estimate


def test_a_small_group_takes_no_interval_from_the_others() -> None:
    found = resampled_medians([[1.0, 2.0, 4.0], [5.0] * 5, [1.0, 2.0, 3.0, 4.0, 9.0]])
    assert (found.drawn[0], found.difference(0, 1).low) == (None, None)
    assert found.difference(1, 2).low is not None


def test_what_is_said_of_many_names_the_ends_and_how_to_have_the_pairs() -> None:
    found = compare(ELEVEN, "L1", "L2")
    (row,) = found.stages
    assert lead(found) == (
        "Not all took the same time from L1 to L2: on average 4.1 days in c1 to 9.8 in c10."
    )
    assert "on average 4.1 days in c1 to 9.8 in c10 (p < 0.001; n = 8 to 9)" in words(row)
    assert "pairs" not in words(row)
    assert title(found) == "The cohorts differ in days"
    assert notices(found)[0] == (
        "The 11 cohorts are compared all at once. Which of them differ from which is told with "
        "--pairs: rearlog compare COHORT… --pairs"
    )
    (_, days, survival) = comparison_tables(found)
    assert days.title == "11 cohorts: days of those that completed it"
    assert survival.title == "11 cohorts: survival"
    assert "alike" not in days.columns
    asked = compare(ELEVEN, "L1", "L2", in_pairs=True)
    assert lead(asked).startswith("From L1 to L2 c1 took 5.7 days less than c10")
    assert not any("--pairs" in each for each in notices(asked))
    assert "alike" in comparison_tables(asked)[1].columns


def test_many_of_which_none_differ_are_not_listed_either() -> None:
    alike = [cohort(f"c{place}", [*FAST[place % 8 :], *FAST[: place % 8]]) for place in range(11)]
    found = compare(alike, "L1", "L2")
    assert found.stages[0].verdict is Verdict.NOT_SHOWN
    assert words(found.stages[0]).startswith(
        "L1 to L2: no difference shown; on average 4.2 days in c0 to 4.2 in c10 (p ="
    )
    assert found.stages[0].groups[0].mean == pytest.approx(4.25)
