"""Clusters, against a published table and a reference library."""

import numpy as np
import pytest
import statsmodels.api as sm

from rearlog.analysis.statistics.checked_mean import checked_mean
from rearlog.analysis.statistics.clusters import (
    freedom,
    in_either,
    intraclass,
    number_of,
    variance_of_mean,
)


def test_intraclass_of_the_published_ratings():
    """Shrout & Fleiss 1979: six targets rated by four judges, ICC(1,1) = 0.17 (published)."""
    ratings = [(9, 2, 5, 8), (6, 1, 3, 2), (8, 4, 6, 8), (7, 1, 2, 6), (10, 5, 6, 9), (6, 2, 4, 7)]
    values, labels = np.ravel(ratings).astype(float), np.repeat(np.arange(6), 4)
    assert intraclass([(values, labels)]) == pytest.approx(0.17, abs=0.005)


def test_intraclass_within_groups_is_that_of_a_mixed_model():
    """Reference: statsmodels' restricted maximum likelihood, which agrees in balanced data."""
    rng = np.random.default_rng(4)
    labels = np.repeat(np.arange(12), 5)
    cohort = labels // 6
    values = 8.0 + 3 * cohort + rng.normal(0, 1, 12)[labels] + rng.normal(0, 1, 60)
    model = sm.MixedLM(values, sm.add_constant(cohort), labels).fit(reml=True)
    between = float(np.asarray(model.cov_re)[0, 0])
    found = intraclass([(values[cohort == one], labels[cohort == one]) for one in (0, 1)])
    assert found == pytest.approx(between / (between + model.scale), abs=1e-3)


def test_without_two_in_a_cluster_nothing_is_known_of_their_likeness():
    alone = np.array([1.0, 2.0, 4.0]), np.arange(3)
    together = np.array([1.0, 2.0, 4.0]), np.zeros(3, dtype=np.int64)
    assert intraclass([alone]) is None
    assert intraclass([together]) is None
    assert intraclass([(np.ones(4), np.array([0, 0, 1, 1]))]) is None


def test_clusters_of_one_size_are_as_many_values_as_there_are_clusters():
    rng = np.random.default_rng(1)
    labels = np.repeat(np.arange(5), 4)
    values = rng.normal(0, 1, 5)[labels] + rng.normal(0, 0.3, 20)
    means = values.reshape(5, 4).mean(axis=1)
    assert variance_of_mean(values, labels) == pytest.approx(means.var(ddof=1) / 5)
    assert freedom((labels,)) == pytest.approx(4)
    assert freedom((np.array([0, 0, 0, 0, 1]),)) == 1  # 25/17 of one size would leave 8/17


def test_clusters_of_any_size_have_the_variance_of_a_reference_library():
    """Reference: the cluster-robust variance of statsmodels without its factor, which here is that
    of the shares."""
    rng = np.random.default_rng(2)
    labels = rng.integers(0, 6, 40)
    values = rng.normal(0, 1, 6)[labels] + rng.normal(0, 1, 40)
    plain = sm.OLS(values, np.ones(40)).fit(
        cov_type="cluster", cov_kwds={"groups": labels, "use_correction": False}
    )
    shares = np.bincount(labels) / 40
    assert variance_of_mean(values, labels) == pytest.approx(
        float(plain.cov_params()[0, 0]) / (1 - (shares**2).sum())
    )


def test_clusters_of_one_change_nothing():
    rng = np.random.default_rng(3)
    values = rng.normal(8, 1, 12)
    daily = np.column_stack((np.floor(values), np.floor(values) + 1))
    for clusters in ((np.arange(12),), (np.arange(12), np.arange(12)[::-1])):
        alone, by_cups = checked_mean(values, [daily]), checked_mean(values, [daily], clusters)
        assert by_cups.interval == pytest.approx(alone.interval)


def test_cages_within_clutches_have_the_variance_of_the_clutches():
    rng = np.random.default_rng(5)
    clutch = np.repeat(np.arange(4), 6)
    cage = np.repeat(np.arange(8), 3)
    values = rng.normal(0, 1, 4)[clutch] + rng.normal(0, 0.2, 24)

    def variance(labels):
        return variance_of_mean(values, labels)

    assert in_either((cage, clutch), variance) == pytest.approx(variance(clutch))
    assert in_either((clutch, cage), variance) == pytest.approx(variance(clutch))
    assert number_of((cage, clutch)) == 4
    assert freedom((cage, clutch)) == pytest.approx(3)
    assert number_of(()) is None


def test_cages_across_clutches_count_both():
    """By hand: the effects of rows and columns of a table add up, each as the variance of a mean of
    four, less that of the single cells."""
    rows, columns = np.divmod(np.arange(16), 4)
    effect = np.array([-3.0, -1.0, 1.0, 3.0])
    values = effect[rows] + effect[columns]
    found = in_either((rows, columns), lambda labels: variance_of_mean(values, labels))
    assert found == pytest.approx(2 * (20 / 3) / 4 - values.var(ddof=1) / 16)


def test_one_cluster_says_nothing_of_how_far_clusters_differ():
    assert variance_of_mean(np.array([1.0, 2.0]), np.zeros(2, dtype=np.int64)) == np.inf


def test_two_clusters_have_a_variance_and_one_has_none() -> None:
    """By hand: means of 2 and 6 about 4, each of half: 2 · (1/4) · 4 / (1 − 1/2)."""
    values = np.array([1.0, 3.0, 5.0, 7.0])
    assert variance_of_mean(values, np.array([0, 0, 1, 1])) == pytest.approx(4)
    assert variance_of_mean(values, np.zeros(4, dtype=np.int64)) == np.inf
    # mean squares of 16 between them and of 2 within, two in each
    assert intraclass([(values, np.array([0, 0, 1, 1]))]) == pytest.approx((16 - 2) / (16 + 2))
