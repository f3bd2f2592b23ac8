"""The estimate for interval-censored times, against what makes it the best and other software."""

import math

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lifelines import KaplanMeierFitter
from lifelines.fitters.npmle import npmle
from scipy.optimize import nnls

from rearlog.analysis.arrays import Floats
from rearlog.analysis.statistics import turnbull as method
from rearlog.analysis.statistics.turnbull import Turnbull, turnbull

INF = math.inf


def looked_for(n: int, seed: int, exact: float = 0.0) -> tuple[Floats, Floats]:
    """Weibull times (shape 2, scale 10) looked for at irregular visits until some fall out."""
    generator = np.random.default_rng(seed)
    time = (10 * generator.weibull(2, n)).round(6)
    visits = np.cumsum(generator.uniform(0.3, 4, (n, 60)), axis=1).round(6)
    last = generator.integers(1, 20, n)
    before = np.minimum((visits < time[:, None]).sum(axis=1), last)
    rows = np.arange(n)
    left, right = visits[rows, before - 1], visits[rows, before]
    left[before == 0] = 0
    right[before == last] = INF
    seen = (generator.random(n) < exact) & (right < INF)
    return np.where(seen, time, left), np.where(seen, time, right)


def allows(left: Floats, right: Floats, points: Floats) -> npt.NDArray[np.bool_]:
    """Whether each observation (row) allows each point (column), by the definition alone."""
    left, right = left[:, None], right[:, None]
    return np.where(left == right, points == left, (left < points) & (points <= right))


def survival(result: Turnbull, times: npt.ArrayLike) -> Floats:
    """The mass that lies beyond each time, none of which is within an interval with mass."""
    return np.array([result.mass[result.right > each].sum() for each in np.asarray(times)])


def slopes(result: Turnbull, left: Floats, right: Floats) -> Floats:
    """The slope of the mean log-likelihood by mass that is put anywhere on the line.

    The likelihood is concave: no distribution is better than one where no slope exceeds 1.
    """
    ends = np.unique(np.concatenate([left, right]))
    ends = ends[np.isfinite(ends)]
    points = np.concatenate([ends - 1e-7, ends, ends + 1e-7])
    carriers = np.where(np.isinf(result.right), ends[-1] + 1e-7, result.right)
    probability = allows(left, right, carriers) @ result.mass
    assert result.log_likelihood == pytest.approx(np.log(probability).sum(), rel=1e-9, abs=1e-9)
    return np.asarray(1 / left.size / probability @ allows(left, right, points))


observations = st.tuples(st.integers(0, 12), st.one_of(st.integers(0, 6), st.just(INF)))
samples = st.lists(observations, min_size=1, max_size=90).map(
    lambda rows: tuple(np.array([(a, a + width) for a, width in rows], float).T)
)
Sample = tuple[Floats, Floats]


@given(samples)
@settings(max_examples=150)
def test_no_other_distribution_is_likelier(sample: Sample) -> None:
    result = turnbull(*sample)
    assert slopes(result, *sample).max() <= 1 + 1e-8


@given(samples)
@settings(max_examples=50)
def test_the_masses_are_a_distribution_on_disjoint_intervals(sample: Sample) -> None:
    result = turnbull(*sample)
    assert result.mass.sum() == pytest.approx(1, abs=1e-12)
    assert (result.mass >= 0).all()
    assert (result.left <= result.right).all()
    assert (result.right[:-1] <= result.left[1:]).all()


@given(samples, st.integers(0, 1000))
@settings(max_examples=50)
def test_the_order_of_what_was_seen_changes_nothing(sample: Sample, seed: int) -> None:
    left, right = sample
    rows = np.random.default_rng(seed).permutation(left.size)
    one, other = turnbull(left, right), turnbull(left[rows], right[rows])
    assert one.right.tolist() == other.right.tolist()
    assert one.mass == pytest.approx(other.mass, abs=1e-5)
    assert one.log_likelihood == pytest.approx(other.log_likelihood, abs=1e-6)


@pytest.mark.parametrize("exact", [0.0, 0.3])
def test_two_thousand_distinct_intervals_reach_the_maximum_soon(
    exact: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(method, "SWEEPS", 9)
    left, right = looked_for(2_000, seed=7, exact=exact)
    result = turnbull(left, right)
    assert slopes(result, left, right).max() <= 1 + 1e-8


@pytest.mark.parametrize("seed", range(5))
def test_intervals_seen_very_unequally_often_reach_the_maximum(seed: int) -> None:
    # Full Newton steps from the first guess lead astray here and must be halved.
    generator = np.random.default_rng(seed)
    left = generator.integers(0, 20, 50).astype(float)
    right = left + generator.integers(0, 6, 50).astype(float)
    rows = np.repeat(np.arange(50), (10 ** generator.uniform(0, 4, 50)).astype(int))
    result = turnbull(left[rows], right[rows])
    assert slopes(result, left[rows], right[rows]).max() <= 1 + 1e-8


def test_ten_thousand_distinct_intervals_find_the_distribution_that_they_came_from() -> None:
    left, right = looked_for(10_000, seed=11)
    result = turnbull(left, right)
    times = np.array([3.0, 6.0, 9.0, 12.0, 15.0])
    assert survival(result, times) == pytest.approx(np.exp(-((times / 10) ** 2)), abs=0.03)


@pytest.mark.parametrize("seed", range(3))
def test_at_least_as_likely_as_what_lifelines_finds(seed: int) -> None:
    left, right = looked_for(150, seed)
    weights, intervals = npmle(left, right)
    ends = np.array(intervals)
    covered = (left[:, None] <= ends[:, 0]) & (ends[:, 1] <= right[:, None])
    theirs = float(np.log(covered @ weights).sum())
    assert theirs <= turnbull(left, right).log_likelihood <= theirs + 0.02


def test_exact_times_give_the_empirical_distribution() -> None:
    result = turnbull([3, 1, 3, 2], [3, 1, 3, 2])
    assert result.left.tolist() == result.right.tolist() == [1, 2, 3]
    assert result.mass == pytest.approx([0.25, 0.25, 0.5])


def test_exact_and_right_censored_times_give_the_curve_of_lifelines() -> None:
    generator = np.random.default_rng(5)
    days, died = generator.integers(1, 30, 80).astype(float), generator.random(80) < 0.6
    result = turnbull(days, np.where(died, days, INF))
    reference = KaplanMeierFitter().fit(days, died)
    until_last_death = np.arange(0, days[died].max() + 1)
    assert survival(result, until_last_death) == pytest.approx(
        reference.predict(until_last_death).to_numpy(), abs=1e-6
    )


def test_an_interval_holds_an_exact_time_at_its_right_end_and_none_at_its_left() -> None:
    assert turnbull([2, 1], [2, 2]).mass.tolist() == [1]
    apart = turnbull([2, 2], [2, 3])
    assert list(zip(apart.left, apart.right, strict=True)) == [(2, 2), (2, 3)]
    assert apart.mass == pytest.approx([0.5, 0.5])


def test_rounding_errors_do_not_make_touching_intervals_overlap() -> None:
    assert 0.1 + 0.2 > 0.3
    result = turnbull([0, 0.3], [0.1 + 0.2, 1])
    assert result.left.tolist() == [0, 0.3]
    assert result.mass == pytest.approx([0.5, 0.5])


def test_an_innermost_interval_may_carry_nothing() -> None:
    # (2, 3] is innermost, and the observations around it leave it nothing: 4/7 stay beyond it.
    result = turnbull([0, 0, 0, 2, 4, 4, 4], [1, 1, 3, 5, 6, 6, 6])
    assert result.left.tolist() == [0, 2, 4]
    assert result.mass.tolist()[1] == 0
    assert result.mass == pytest.approx([3 / 7, 0, 4 / 7], rel=1e-6)


def test_quantiles_are_intervals_and_unknown_where_censoring_hides_them() -> None:
    result = turnbull([1, 3, 5, 7], [2, 4, 6, INF])
    assert result.quantile(0.25) == (1, 2)
    assert result.quantile(0.26) == (3, 4)
    assert result.quantile(0.5) == (3, 4)
    assert result.quantile(0.75) == (5, 6)
    assert result.quantile(0.76) is None
    assert turnbull([4], [INF]).quantile(0.5) is None


def test_rounding_does_not_carry_a_quantile_to_the_next_interval() -> None:
    for n in (12, 18):
        result = turnbull(range(1, n + 1), range(1, n + 1))
        assert [result.quantile(day / n) for day in range(1, n)] == [
            (day, day) for day in range(1, n)
        ]


@pytest.mark.parametrize("p", [0, 1, -0.5, math.nan])
def test_a_quantile_lies_between_0_and_1(p: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        turnbull([1], [2]).quantile(p)


@pytest.mark.parametrize(
    ("left", "right", "words"),
    [
        ([], [], "not empty"),
        ([1], [2, 3], "one length"),
        ([[1]], [[2]], "one length"),
        ([2], [1], "not before"),
        ([math.nan], [1], "not before"),
        ([1], [math.nan], "not before"),
        ([INF], [INF], "finite left end"),
    ],
)
def test_what_is_no_sample(left: list[float], right: list[float], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        turnbull(left, right)


def test_an_estimate_that_is_not_the_maximum_is_never_returned(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(method, "SWEEPS", 1)
    with pytest.raises(ArithmeticError, match="no maximum"):
        turnbull(*looked_for(500, seed=3))


@pytest.mark.parametrize("seed", [*range(10), 83, 84, 194, 232, 325, 372])
def test_the_constrained_minimum_is_that_of_scipy(seed: int) -> None:
    # With the last six, entries that all change sides at once do so for ever.
    generator = np.random.default_rng(seed)
    size = int(generator.integers(3, 8))
    root = generator.normal(0, 1, (size, size)) * np.exp(generator.normal(0, 1, size))
    target = generator.normal(0, 1, size)
    x = method._nonnegative_minimum(root.T @ root, root.T @ target)
    assert x == pytest.approx(nnls(root, target)[0], rel=1e-6, abs=1e-9)
