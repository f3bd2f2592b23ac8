"""Cohen's kappa against the worked examples of the papers and against two reference libraries."""

from typing import Any

import numpy as np
import pytest
from sklearn.metrics import cohen_kappa_score
from statsmodels.stats.inter_rater import cohens_kappa

from rearlog.analysis.statistics.kappa import kappa, linear, quadratic

COHEN_1968 = np.array([[88, 14, 18], [10, 40, 10], [2, 6, 12]])
"""200 diagnoses by two psychiatrists (Cohen 1968): published, as the parts .44, .07, .09 …"""
DISAGREEMENT_1968 = np.array([[0, 1, 3], [1, 0, 6], [3, 6, 0]])
"""How grave each disagreement is (Cohen 1968): published."""

FLEISS_1969 = np.array([[106, 10, 4], [22, 28, 10], [2, 12, 6]])
WEIGHTS_1969 = np.array([[1.0, 0.0, 0.4444], [0.0, 1.0, 0.6667], [0.4444, 0.6667, 1.0]])
"""200 diagnoses and the weights of agreement (Fleiss, Cohen & Everitt 1969): published."""


def test_the_example_of_cohen_1968() -> None:
    plain = kappa(COHEN_1968, np.eye(3))
    weighted = kappa(COHEN_1968, 1 - DISAGREEMENT_1968 / 6)
    assert plain is not None
    assert weighted is not None
    assert round(plain.kappa, 3) == 0.492  # published
    assert round(weighted.kappa, 3) == 0.348  # published


def test_the_example_of_fleiss_cohen_and_everitt_1969() -> None:
    plain = kappa(FLEISS_1969, np.eye(3))
    weighted = kappa(FLEISS_1969, WEIGHTS_1969)
    assert plain is not None
    assert weighted is not None
    assert round(plain.kappa, 3) == 0.429  # published
    assert plain.se**2 == pytest.approx(0.002885, abs=5e-7)  # from memory of the paper
    assert weighted.se == pytest.approx(_bootstrap(FLEISS_1969, WEIGHTS_1969), rel=0.05)


def _bootstrap(table: np.ndarray, weights: np.ndarray) -> float:
    rng = np.random.default_rng(5)
    drawn = rng.multinomial(table.sum(), table.ravel() / table.sum(), 4000).reshape(-1, 3, 3)
    values = [found.kappa for each in drawn if (found := kappa(each, weights)) is not None]
    return float(np.std(values))


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
