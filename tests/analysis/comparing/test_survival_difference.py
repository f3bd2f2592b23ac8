import numpy as np
import pytest
from lifelines.statistics import multivariate_logrank_test
from scipy.stats import gamma

from rearlog.analysis.comparing.cohorts import ComparedCohort
from rearlog.analysis.comparing.compare import compare
from rearlog.analysis.comparing.survival_difference import (
    SurvivalComparison,
    survival_between,
    survival_difference,
)
from rearlog.analysis.stages.events import event_history
from rearlog.analysis.statistics.differences import Verdict
from rearlog.analysis.statistics.interval_log_rank import NoLogRank
from rearlog.analysis.survival.survival import ReachedEnd
from rearlog.analysis.survival.watch import Watched, watched
from rearlog.records.errors import UsageError
from rearlog.sentences.survival_difference import words
from tests.builders import small_profile, tiny_log
from tests.invented_histories import looked_at
from tests.usual_log_rank import SHOWN, usual_log_rank


def lives(days: list[int], died: int) -> Watched:
    """So many days under watch each; the first so many died."""
    found, dead = np.array(days, dtype=float), np.arange(len(days)) < died
    low = np.where(dead, np.maximum(found - 1, 0), found)
    high = np.where(dead, found, np.inf)
    return Watched(np.ones(len(days), bool), found, dead, np.zeros(len(days), bool), low, high)


END = ReachedEnd("adult", 8, 2, 0, 0, 0.25, 0.25, 0.07, 0.59)


def difference(names: list[str], groups: list[Watched]) -> SurvivalComparison:
    return survival_difference(names, groups, [END] * len(names), None)


HARD, EASY = lives([2, 3, 3, 4, 4, 5, 6, 20], 7), lives([20] * 9 + [5], 0)


def test_deaths_are_told_beside_those_expected_by_a_reference_library() -> None:
    found = difference(["hard", "easy"], [HARD, EASY])
    days, died = np.concatenate([HARD.days, EASY.days]), np.concatenate([HARD.died, EASY.died])
    reference = multivariate_logrank_test(days, [0] * 8 + [1] * 10, died)
    # its variance is that of the deaths at each time, here it is that of dealing the scores out
    assert found.chi2 == pytest.approx(reference.test_statistic, rel=0.15)
    assert reference.p_value < 0.001
    assert found.p == pytest.approx(0.0008, abs=0.0008)
    assert [(each.n, each.died) for each in found.groups] == [(8, 7), (10, 0)]
    assert sum(each.expected or 0.0 for each in found.groups) == pytest.approx(7)


def test_the_words_say_what_was_shown_and_what_was_not() -> None:
    shown = difference(["hard", "easy"], [HARD, EASY])
    assert shown.verdict is Verdict.DIFFER
    assert words(shown) == (
        "Survival: the cohorts differ (p = 0.001); 7 of 8 died in hard and 0 of 10 died in easy."
    )
    alike = difference(["a", "b"], [HARD, HARD])
    assert alike.verdict is Verdict.NOT_SHOWN
    assert words(alike).startswith("Survival: no difference shown (p = 1.00); ")


def test_without_deaths_or_without_anybody_there_is_no_test() -> None:
    nobody = lives([], 0)
    unharmed = difference(["a", "b"], [EASY, EASY])
    assert (unharmed.chi2, unharmed.p) == (None, None)
    assert unharmed.groups[0].expected is None
    assert unharmed.reason is NoLogRank.NO_EVENTS
    assert words(unharmed).startswith("Survival: no test, since nobody died; ")
    at_once = lives([3] * 6, 6)
    assert "the looks tell no death from another" in words(difference(["a", "b"], [at_once] * 2))
    assert "one alone was under watch in b" in words(difference(["a", "b"], [HARD, lives([3], 1)]))
    assert words(difference(["a", "b"], [EASY, nobody])) == (
        "Survival: no test, since nobody was under watch in b; 0 of 10 died in a."
    )


def invented(
    rng: np.random.Generator, n: int, every: int, law: str, adult: bool = False
) -> ComparedCohort:
    """Deaths of gamma or Weibull times, mostly after the hatch, looked at every so many days. In
    the stage that begins so early they are L1, or with `adult` in their last stage already."""
    death = rng.gamma(2, 2, n) if law == "gamma" else 4 * rng.weibull(1.5, n)
    death = np.where(rng.random(n) < 0.9, death, np.inf)
    hatched = rng.gamma(16, 0.1, n)
    times = (hatched / 2, hatched) if adult else (hatched, np.full(n, 40.0))
    passages = np.column_stack((np.zeros(n), *times))
    return ComparedCohort(law, "test", looked_at(passages, death, every=every, last=24), None)


def false_alarms(
    sizes: tuple[int, int], every: tuple[int, int], law: str, first: str | None, runs: int
) -> tuple[float, float]:
    """How often two cohorts that die alike differ: here, and by the usual log-rank test."""
    rng = np.random.default_rng(sizes[0] * every[1])
    here = usual = 0
    for _ in range(runs):
        cohorts = [
            invented(rng, n, days, law, first == "adult")
            for n, days in zip(sizes, every, strict=True)
        ]
        here += survival_between(cohorts, first, None).verdict is Verdict.DIFFER
        seen = [watched(each.history, first) for each in cohorts]
        usual += usual_log_rank([each.days for each in seen], [each.died for each in seen]) > SHOWN
    return here / runs, usual / runs


def test_the_usual_test_is_that_of_a_reference_library() -> None:
    reference = multivariate_logrank_test(
        np.concatenate([HARD.days, EASY.days]),
        [0] * 8 + [1] * 10,
        np.concatenate([HARD.died, EASY.died]),
    )
    found = usual_log_rank([HARD.days, EASY.days], [HARD.died, EASY.died])
    assert found == pytest.approx(reference.test_statistic)


def test_to_look_every_third_day_is_no_difference_in_survival() -> None:
    here, usual = false_alarms((40, 40), (1, 3), "gamma", None, runs=100)
    assert here < 0.1
    assert usual > 0.12


@pytest.mark.slow
@pytest.mark.parametrize(
    ("sizes", "every", "law", "first"),
    [
        ((40, 40), (1, 3), "gamma", None),
        ((40, 40), (1, 3), "weibull", None),
        ((24, 48), (1, 3), "weibull", None),
        ((40, 40), (1, 1), "gamma", None),
        ((60, 60), (1, 3), "gamma", "L1"),
        ((60, 60), (1, 3), "weibull", "adult"),
    ],
)
def test_five_false_alarms_in_a_hundred_however_often_somebody_looks(
    sizes: tuple[int, int], every: tuple[int, int], law: str, first: str | None
) -> None:
    here, usual = false_alarms(sizes, every, law, first, runs=400)
    print(f"{sizes} every {every} days, {law}, from {first}: {here:.4f} (usual test {usual:.4f})")
    assert 0.02 < here < 0.08


def of_adults(rng: np.random.Generator, name: str, mean: float, every: int) -> ComparedCohort:
    """Forty moths that eclose about day 10 and live as adults for so many days on average."""
    into = rng.normal(10, 1, 40)
    passages = np.column_stack((np.zeros(40), into / 2, into))
    death = into + rng.gamma(8, mean / 8, 40)
    return ComparedCohort(name, "test", looked_at(passages, death, every=every, last=90), None)


def test_cohorts_are_compared_in_how_long_their_adults_lived() -> None:
    rng = np.random.default_rng(5)
    found = compare([of_adults(rng, "long", 16, 3), of_adults(rng, "short", 8, 1)], "adult")
    assert found.stages == ()
    assert found.survival.verdict is Verdict.DIFFER
    for group, true in zip(found.survival.groups, (16, 8), strict=True):
        assert (group.n, group.died) == (40, 40)
        assert group.median is not None
        half = gamma.median(8, scale=true / 8)
        low, high = group.median.population_low, group.median.population_high
        assert low is not None
        assert high is not None
        assert low < half < high < low + 10
    assert words(found.survival).startswith(
        "How long those seen as adult lived: the cohorts differ (p < 0.001); 40 of 40 died in long"
    )
    assert compare([of_adults(rng, name, 8, 1) for name in "ab"], "adult").survival.p > 0.05


def test_how_long_adults_lived_is_no_difference_in_who_grew_up() -> None:
    rng = np.random.default_rng(5)
    cohorts = [of_adults(rng, "long", 16, 3), of_adults(rng, "short", 8, 1)]
    found = compare(cohorts).survival
    assert (found.reason, found.left_out) == (NoLogRank.NO_EVENTS, 80)
    assert [(each.n, each.died) for each in found.groups] == [(40, 0), (40, 0)]
    assert words(found) == (
        "Survival: no test, since nobody died; 0 of 40 died in long and 0 of 40 died in short, "
        "deaths as adult left out."
    )
    assert compare(cohorts, until="L1").survival.left_out == 0


def test_deaths_on_the_way_count_whether_adults_were_watched_or_not() -> None:
    """Reference: lifelines' log-rank test where the grown are censored at their last look."""
    lives = {str(n): "egg L1 dead" for n in range(3)} | {
        str(n): "egg L1 L2 adult adult dead" for n in range(3, 10)
    }
    later = {str(n): "egg L1 L2 L2 dead" for n in range(6)} | {
        str(n): "egg L1 L2 adult adult dead" for n in range(6, 10)
    }
    told = [event_history(tiny_log(each, profile=small_profile())) for each in (lives, later)]
    found = compare(
        [ComparedCohort(name, "test", each, None) for name, each in zip("ab", told, strict=True)]
    ).survival
    assert found.left_out == 11
    reference = multivariate_logrank_test(
        [2] * 3 + [4] * 7 + [4] * 6 + [4] * 4,
        [0] * 10 + [1] * 10,
        [1] * 3 + [0] * 7 + [1] * 6 + [0] * 4,
    )
    assert [each.died for each in found.groups] == [3, 6]
    assert found.p is not None
    assert found.p == pytest.approx(reference.p_value, abs=0.12)  # by permutation, of intervals


def test_adults_that_are_not_there_are_not_compared() -> None:
    rng = np.random.default_rng(6)
    found = compare([of_adults(rng, "moths", 8, 1), invented(rng, 20, 1, "gamma")], "adult")
    assert found.survival.reason is NoLogRank.NOBODY
    assert found.survival.groups[1].median is None
    with pytest.raises(UsageError, match="adult does not come before L1"):
        compare([of_adults(rng, name, 8, 1) for name in "ab"], "adult", "L1")
