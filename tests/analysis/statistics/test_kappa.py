"""Cohen's kappa against two reference libraries, and by hand."""

from typing import Any

import numpy as np
import pytest
from sklearn.metrics import cohen_kappa_score
from statsmodels.stats.inter_rater import cohens_kappa

from rearlog.analysis.statistics.kappa import kappa, linear, quadratic


@pytest.mark.parametrize("seed", range(8))
def test_beside_two_libraries(seed: int) -> None:
    """References: sklearn.metrics.cohen_kappa_score; statsmodels cohens_kappa for the errors."""
    rng = np.random.default_rng(seed)
    size = int(rng.integers(2, 7))
    truth = rng.integers(0, size, 150)
    judges = [
        np.clip(truth + rng.choice([-1, 0, 0, 0, 0, 1], truth.size), 0, size - 1) for _ in range(2)
    ]
    table = np.zeros((size, size))
    np.add.at(table, tuple(judges), 1)
    for name, weights, theirs in (
        (None, np.eye(size), None),
        ("linear", linear(size), "linear"),
        ("quadratic", quadratic(size), "quadratic"),
    ):
        found = kappa(table, weights)
        assert found is not None
        labels = list(range(size))
        assert found.kappa == pytest.approx(
            cohen_kappa_score(*judges, labels=labels, weights=theirs)
        )
        reference = cohens_kappa(table, weights=None if name is None else (1 - weights))
        assert found.kappa == pytest.approx(reference.kappa)
        assert found.se == pytest.approx(reference.std_kappa)


def test_where_chance_alone_would_agree_there_is_no_kappa() -> None:
    assert kappa([[7, 0], [0, 0]], np.eye(2)) is None
    assert kappa(np.zeros((3, 3)), np.eye(3)) is None
    perfect = kappa([[4, 0], [0, 3]], np.eye(2))
    assert perfect is not None
    assert (perfect.kappa, perfect.se, perfect.low, perfect.high) == (1, 0, 1, 1)


@pytest.mark.parametrize("table", [[1, 2, 3], [[1, 2, 3]], [[1, 2], [3, 4], [5, 6]]])
def test_a_table_that_is_not_square_is_refused(table: list[Any]) -> None:
    with pytest.raises(ValueError, match="square"):
        kappa(table, np.ones_like(table))
    with pytest.raises(ValueError, match="square"):
        kappa(table, np.eye(2))


def test_of_two_classes_any_two_lie_as_far_apart_as_can_be() -> None:
    assert linear(2).tolist() == quadratic(2).tolist() == np.eye(2).tolist()
    assert linear(1).tolist() == [[1]]


def test_weights_of_ordered_classes_by_hand() -> None:
    assert linear(3).tolist() == [[1, 0.5, 0], [0.5, 1, 0.5], [0, 0.5, 1]]
    assert quadratic(3).tolist() == [[1, 0.75, 0], [0.75, 1, 0.75], [0, 0.75, 1]]


def test_no_limit_lies_beyond_full_agreement_or_full_disagreement() -> None:
    """Nine of ten agree: κ is 0.8 with an error of 0.19; nine of ten disagree: −0.8."""
    for table, sign in (([[5, 1], [0, 4]], 1), ([[0, 4], [5, 1]], -1)):
        found = kappa(table, np.eye(2))
        assert found is not None
        assert found.kappa == pytest.approx(sign * 0.8, abs=0.02)
        assert found.se > 0.15
        near, far = (found.low, found.high) if sign > 0 else (found.high, found.low)
        assert far == sign
        assert near == pytest.approx(found.kappa - sign * 1.959964 * found.se)
