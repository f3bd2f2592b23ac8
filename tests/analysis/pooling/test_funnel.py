"""The funnel against the binomial distribution, by hand, and of invented groups."""

import numpy as np
import pytest
from scipy import stats

from rearlog.analysis.pooling.funnel import Funnel, funnel, limits

SEED = 20261126


def test_p_is_that_of_the_binomial_test_tail_by_tail() -> None:
    reached, n = [18, 21, 9, 20], [30, 30, 30, 30]
    found = funnel(reached, n)
    assert found is not None
    assert (found.centre, found.reached, found.n) == (pytest.approx(68 / 120), 68, 120)
    if found.dispersion == 1:
        for each in found.points:
            below = stats.binom.cdf(each.reached, each.n, 68 / 120)
            above = stats.binom.sf(each.reached - 1, each.n, 68 / 120)
            assert each.p == pytest.approx(min(1.0, 2 * min(below, above)))
    assert [each.fraction for each in found.points] == pytest.approx([0.6, 0.7, 0.3, 2 / 3])
    assert found.points[2].p_holm == pytest.approx(4 * found.points[2].p)


def test_ends_of_the_scale() -> None:
    all_lived = funnel([10, 12, 9], [10, 12, 9])
    assert all_lived is not None
    assert [each.p for each in all_lived.points] == [1.0] * 3
    for end, found in ((1.0, all_lived), (0.0, funnel([0, 0, 0], [10, 12, 9]))):
        assert found is not None
        assert [each.tolist() for each in limits(found, [5, 20])] == [[end] * 2] * 2
    none_of_one = funnel([0, 9, 10], [2, 12, 12])
    assert none_of_one is not None
    assert none_of_one.dispersion == 1.0
    assert none_of_one.points[0].p == pytest.approx(2 * (7 / 26) ** 2)


def test_two_groups_are_too_few() -> None:
    assert funnel([1, 2], [3, 3]) is None


def test_dispersion_by_hand() -> None:
    """Ten groups of 100 about one half, whose z are ±1 … ±5: the outermost are drawn in to ±4, so
    that z² sums to 2·(1 + 4 + 9 + 16 + 16) = 92; for a normal law a tenth at either end leaves
    0.6787 of the variance. 92/10/0.6787 = 13.56."""
    reached = [50 + 5 * z for z in (-5, -4, -3, -2, -1, 1, 2, 3, 4, 5)]
    found = funnel(reached, [100] * 10)
    assert found is not None
    assert found.dispersion == pytest.approx(13.556, abs=2e-3)
    assert found.points[0].p == pytest.approx(2 * stats.norm.sf(5 / found.dispersion**0.5))


@pytest.mark.parametrize(
    ("k", "off", "shown"), [(10, 56, False), (10, 57, True), (1000, 43, False), (1000, 44, True)]
)
def test_how_much_more_than_chance_is_shown(k: int, off: int, shown: bool) -> None:
    """Groups of 10,000 about one half, of an SD of 50: z² is (off/50)² in all of them, and 0.6787
    what a normal law leaves of it. Ten show it from 1 + 2·√(2/10) = 1.894 on, a thousand, for which
    that were 1.089, from 1.1 on; here it is 1.848 and 1.915, 1.0898 and 1.141."""
    found = funnel([5000 + off, 5000 - off] * (k // 2), [10_000] * k)
    assert found is not None
    expected = (off / 50) ** 2 / 0.67872 if shown else 1.0
    assert found.dispersion == pytest.approx(expected, rel=1e-4)


def test_less_than_chance_counts_as_chance() -> None:
    found = funnel([15] * 8, [30] * 8)
    assert found is not None
    assert found.dispersion == 1.0


def test_of_thousands_the_normal_law_is_no_dispersion() -> None:
    rng = np.random.default_rng(SEED)
    for part in (0.5, 0.75, 0.9):
        n = rng.integers(12, 40, 5_000)
        found = funnel(rng.binomial(n, part).tolist(), n.tolist())
        assert found is not None
        assert found.dispersion == 1.0


def test_of_few_groups_nothing_is_drawn_in() -> None:
    """z of ±3 and 0, four groups of 100 about one half: 18/4."""
    found = funnel([35, 65, 50, 50], [100] * 4)
    assert found is not None
    assert found.dispersion == pytest.approx(4.5)


def test_chance_alone_alarms_seldom_and_more_than_chance_is_seen() -> None:
    rng = np.random.default_rng(SEED)
    alarms = widened = found_out = 0
    for _ in range(300):
        n = rng.integers(12, 60, 40)
        plain = funnel(rng.binomial(n, 0.7).tolist(), n.tolist())
        assert plain is not None
        alarms += any(each.p_holm < 0.05 for each in plain.points)
        widened += plain.dispersion > 1
        parts = rng.beta(14, 6, 40)  # an SD of 0.1 between groups
        parts[0] = 0.05
        spread = funnel(rng.binomial(n, parts).tolist(), n.tolist())
        assert spread is not None
        found_out += spread.dispersion > 1
    assert alarms / 300 < 0.07
    assert widened / 300 < 0.10
    assert found_out / 300 > 0.9


def test_limits_leave_out_what_they_say() -> None:
    """Interpolated limits lie between the counts beside the quantile of the distribution."""
    found = Funnel(0.7, 700, 1000, 1.0, ())
    sizes = [5, 12, 30, 120]
    for groups in (1, 50):
        low, high = limits(found, sizes, groups)
        for size, below, above in zip(sizes, low.tolist(), high.tolist(), strict=True):
            ends = stats.binom.ppf([0.025 / groups, 1 - 0.025 / groups], size, 0.7)
            assert ends[0] - 1 - 1e-9 <= below * size <= ends[0] + 1e-9
            assert ends[1] - 1 - 1e-9 <= above * size <= ends[1] + 1e-9


def test_one_limit_by_hand() -> None:
    """Of two, each with one half: P(0) = 1/4, P(≤ 1) = 3/4. The 97.5th percentile lies on the way
    from 1 to 2 at (0.975 − 0.75)/0.25 = 0.9; the 2.5th on that from −1 to 0 and is 0."""
    low, high = limits(Funnel(0.5, 1, 2, 1.0, ()), [2])
    assert low[0] == 0.0
    assert high[0] == pytest.approx(1.9 / 2)


def test_limits_of_groups_that_scatter_more() -> None:
    low, high = limits(Funnel(0.5, 50, 100, 4.0, ()), [100, 4])
    assert (low[0], high[0]) == pytest.approx((0.5 - 1.959964 * 0.1, 0.5 + 1.959964 * 0.1))
    assert (low[1], high[1]) == (0.0, 1.0)


def test_above_the_centre_it_is_the_upper_tail() -> None:
    """No more than chance between them, of which 26 of 30 is the highest."""
    reached = [20, 22, 19, 21, 26, 20]
    found = funnel(reached, [30] * 6)
    assert found is not None
    assert found.dispersion == 1
    above = stats.binom.sf(25, 30, sum(reached) / 180)
    assert found.points[4].p == pytest.approx(2 * above)
