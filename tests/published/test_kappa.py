"""Cohen's kappa against the worked examples of the papers."""

import numpy as np
import pytest

from rearlog.analysis.statistics.kappa import kappa

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
