"""Pairs of means, against reference libraries, and their letters."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import ttest_ind, tukey_hsd

from rearlog.analysis.statistics.checked_mean import CheckedMean, checked_mean
from rearlog.analysis.statistics.differences import mean_test
from rearlog.analysis.statistics.pairs import letters, pairs_of_means


def plain(values) -> CheckedMean:
    mean = checked_mean(np.asarray(values, dtype=float), [])
    assert mean is not None
    return mean


def samples(seed, sizes, spreads):
    rng = np.random.default_rng(seed)
    each = enumerate(zip(sizes, spreads, strict=True))
    return [rng.normal(5 + place, sd, n) for place, (n, sd) in each]


@pytest.mark.parametrize("seed", range(3))
def test_several_are_compared_as_by_a_reference_library(seed):
    """Reference: scipy.stats.tukey_hsd with unequal variances, which is Games and Howell's test."""
    groups = samples(seed, (6, 9, 20, 14), (1, 2, 0.7, 1.5))
    reference = tukey_hsd(*groups, equal_var=False)
    limits = reference.confidence_interval()
    for pair in pairs_of_means([plain(each) for each in groups]):
        at = pair.first, pair.second
        assert pair.p == pytest.approx(reference.pvalue[at], rel=1e-4, abs=1e-7)
        assert (pair.difference.low, pair.difference.high) == pytest.approx(
            (limits.low[at], limits.high[at]), rel=1e-4, abs=1e-4
        )


def test_two_are_compared_by_welch():
    a, b = samples(5, (7, 12), (1, 2))
    reference = ttest_ind(a, b, equal_var=False)
    (pair,) = pairs_of_means([plain(a), plain(b)])
    assert pair.p == pytest.approx(reference.pvalue)
    assert pair.p == pytest.approx(mean_test([plain(a), plain(b)]).p)
    ends = reference.confidence_interval()
    assert (pair.difference.low, pair.difference.high) == pytest.approx((ends.low, ends.high))


def test_too_few_or_all_alike_have_no_p():
    few, _, _ = pairs_of_means([plain([1, 2]), plain([1, 3, 5]), plain([2, 2, 2])])
    assert (few.p, few.difference.low) == (None, None)
    (none,) = pairs_of_means([plain([2, 2, 2]), plain([1, 1, 1])])
    assert (none.p, none.difference.high) == (None, None)


def test_letters_by_hand():
    """The first differs from the last two, the second from the last."""
    assert letters(4, [(0, 2), (0, 3), (1, 3)]) == ("a", "ab", "bc", "c")
    assert letters(3, []) == ("a", "a", "a")
    assert letters(3, [(0, 1), (0, 2), (1, 2)]) == ("a", "b", "c")
    assert letters(3, [(0, 2)]) == ("a", "ab", "b")
    assert letters(30, list(combinations(range(30), 2)))[25:27] == ("z", "a2")


@st.composite
def differences(draw):
    k = draw(st.integers(2, 6))
    pairs = list(combinations(range(k), 2))
    return k, draw(st.sets(st.sampled_from(pairs)))


@given(differences())
def test_two_share_a_letter_if_and_only_if_they_were_not_shown_to_differ(drawn):
    """And no letter is one too many. Reference: all largest sets without a pair that differs."""
    k, different = drawn
    found = letters(k, sorted(different))
    sets = {
        frozenset(some)
        for size in range(1, k + 1)
        for some in combinations(range(k), size)
        if not any(pair in different for pair in combinations(some, 2))
    }
    largest = {each for each in sets if not any(each < other for other in sets)}
    told = {
        frozenset(place for place, mine in enumerate(found) if letter in mine)
        for letter in "".join(found)
    }
    assert told == largest


def some_pair_differs(sizes, spreads, runs, seed):
    """How often some pair of equal means is called different."""
    rng = np.random.default_rng(seed)
    found = 0
    for _ in range(runs):
        groups = [plain(rng.normal(8, sd, n)) for n, sd in zip(sizes, spreads, strict=True)]
        found += min(each.p or 1.0 for each in pairs_of_means(groups)) < 0.05
    return found / runs


@pytest.mark.slow
@pytest.mark.parametrize(
    ("sizes", "spreads"),
    [
        ((6, 6, 6), (1, 1, 1)),
        ((6, 12, 18), (2, 1, 0.5)),
        ((18, 12, 6), (2, 1, 0.5)),
        ((6, 6, 6, 6), (1, 2, 1, 2)),
    ],
)
def test_some_pair_is_called_different_as_rarely_as_the_level_says(sizes, spreads):
    assert 0.03 <= some_pair_differs(sizes, spreads, 1500, seed=2) <= 0.07
