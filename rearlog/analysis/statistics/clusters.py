"""Individuals that share a cage or come of one clutch: how alike they are, how sure their mean is.

Who lives together has its place, its food and its warmth in common. So many individuals tell as
much of a treatment as there are cages, not as there are individuals in them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from rearlog.analysis.arrays import Floats, Integers

Clusters = tuple[Integers, ...]
"""Who belongs together, of n individuals: labels (n,) by each of the things that they share, such
as one by cage and one by clutch; at most two. None: everybody is by themselves."""

FEWEST_CLUSTERS = 3
"""Cages or clutches in each group below which no test is made: two and two can be dealt out in six
ways, so that a third of all deals sets the groups as far apart as any does."""


def number_of(clusters: Clusters) -> int | None:
    """How many clusters there are by that of the things that makes the fewest; None for none."""
    return min((len(np.unique(labels)) for labels in clusters), default=None)


def chosen(clusters: Clusters, which: Integers | np.ndarray) -> Clusters:
    """The clusters of some of the individuals."""
    return tuple(labels[which] for labels in clusters)


def in_either(clusters: Clusters, variance: Callable[[Integers], float]) -> float:
    """A variance, given that of the clusters by one thing, where they may be by two.

    By two it is the sum of both less that of the clusters in which both agree, but not less than
    either. Where cages lie within clutches, that is the variance by clutches.
    Source: Cameron, Gelbach & Miller 2011, J. Bus. Econ. Stat. 29:238–249.
    """
    single = [variance(labels) for labels in clusters]
    if len(single) == 1:
        return single[0]
    one, other = clusters
    both = np.unique(np.column_stack((one, other)), axis=0, return_inverse=True)[1].ravel()
    return max(*single, sum(single) - variance(both))


def variance_of_mean(values: Floats, labels: Integers) -> float:
    """The variance of the mean of values (n,) in clusters.

    Σ w²(m − x̄)² / (1 − Σ w²), where m are the means of the clusters and w their shares of the
    individuals: of clusters of one size that is the variance of the mean of their means, and of
    clusters of one the usual s²/n. Source: the ratio estimator of cluster samples, Cochran 1977,
    Sampling Techniques, 3rd ed., section 9A (cited from memory); its factor (derived) is that
    which makes it unbiased where all individuals vary alike.
    """
    shares, means = _shares_and_means(values, labels)
    if len(shares) < 2:
        return float("inf")
    off = means - float(values.mean())
    return float((shares**2 * off**2).sum() / (1 - (shares**2).sum()))


def freedom(clusters: Clusters) -> float:
    """The degrees of freedom of such a variance, at least 1: one less than there are clusters, or
    than clusters of one size would say as much (1 / Σ w²)."""
    counts = [np.unique(labels, return_counts=True)[1] for labels in clusters]
    effective = min(float(count.sum() ** 2 / (count**2).sum()) for count in counts)
    return max(effective - 1, 1.0)


def intraclass(groups: Sequence[tuple[Floats, Integers]]) -> float | None:
    """How alike individuals of one cluster are, within groups: 1 where they are the same, 0 where
    they are no more alike than others (it can be a little less).

    `groups`: values (n,) and labels (n,) each. None without two in a cluster and two clusters in a
    group, or where nothing varies. By the analysis of variance, (B − W) / (B + (n₀ − 1)·W).
    Source: ICC(1) of Shrout & Fleiss 1979, Psychol. Bull. 86:420–428; n₀ for clusters of different
    sizes as in Donner 1986, Int. Stat. Rev. 54:67–82 (cited from memory).
    """
    between = within = usual = 0.0
    everybody = clusters = 0
    for values, labels in groups:
        shares, means = _shares_and_means(values, labels)
        counts = shares * len(values)
        between += float((counts * (means - values.mean()) ** 2).sum())
        within += float(((values - values.mean()) ** 2).sum())
        usual += len(values) - float((counts**2).sum()) / len(values)
        everybody += len(values)
        clusters += len(counts)
    within -= between
    above, below = clusters - len(groups), everybody - clusters
    if above < 1 or below < 1:
        return None
    size, b, w = usual / above, between / above, max(within, 0.0) / below
    whole = b + (size - 1) * w
    return (b - w) / whole if whole > 0 else None


def _shares_and_means(values: Floats, labels: Integers) -> tuple[Floats, Floats]:
    """The shares of the clusters in the individuals, and their means."""
    place = np.unique(labels, return_inverse=True)[1].ravel()
    counts = np.bincount(place)
    return counts / len(values), np.bincount(place, values) / counts
