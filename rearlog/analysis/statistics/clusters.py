"""Individuals that share a cage, a clutch or a tray: how alike they are, and what that leaves.

Thirty-two animals in four cages are not thirty-two experiments. What differs between cages by
chance differs between cohorts too, and only cages can tell how much that is.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import comb

import numpy as np
import numpy.typing as npt

from rearlog.analysis.arrays import Floats
from rearlog.analysis.statistics.checked_mean import CheckedMean
from rearlog.analysis.statistics.differences import LocationTest

FEWEST_CLUSTERS = 2
"""Cages in each cohort below which nothing tells a cohort from its cage."""
MOST_DEALINGS = 20_000
"""Up to so many ways to deal cages out to cohorts, all are tried; beyond, that many by chance."""
TINY = 1e-9


@dataclass(frozen=True, eq=False)
class Clustered:
    """The values (n,) of one cohort with the cage (or clutch, tray) of each.

    Raises ValueError where they do not fit together.
    """

    values: Floats
    clusters: tuple[Hashable, ...]

    def __post_init__(self) -> None:
        if self.values.ndim != 1 or len(self.values) != len(self.clusters) or not self.clusters:
            raise ValueError("values and clusters must be lists of one length, and not empty")

    def means(self) -> tuple[Floats, npt.NDArray[np.int64]]:
        """The mean of each cluster and how many are in it, in the order of their first value."""
        places = {name: place for place, name in enumerate(dict.fromkeys(self.clusters))}
        which = np.array([places[name] for name in self.clusters])
        sizes = np.bincount(which)
        return np.bincount(which, self.values) / sizes, sizes


@dataclass(frozen=True, slots=True)
class IntraclassCorrelation:
    """How much of the variance lies between clusters.

    `correlation` is that of two individuals of one cluster, `between` and `within` the variances
    (squares of the unit), `design_effect` how many times the variance of a mean is what it would be
    if all were independent; `p` that of the F test whether clusters differ at all. Below 0 the
    correlation is given as it is found: clusters are more alike than chance makes them.
    """

    clusters: int
    individuals: int
    correlation: float
    between: float
    within: float
    design_effect: float
    p: float


def intraclass_correlation(groups: Sequence[Clustered]) -> IntraclassCorrelation | None:
    """The intraclass correlation within the clusters of one or more cohorts, whose means may differ.

    From a one-way analysis of variance between the clusters of a cohort, pooled over cohorts:
    ρ = (MSB − MSW) / (MSB + (n0 − 1)·MSW), n0 the size that clusters of unequal sizes stand for.
    Clusters of two cohorts are two clusters, whatever their names. None where no cohort has two
    clusters, or no cluster two individuals, or all values are alike.
    Source: Donner 1986, Int. Stat. Rev. 54:67–82 (analysis of variance estimator; cited from
    memory); design effect: Kish 1965, Survey Sampling.
    """
    from scipy.special import fdtrc  # start-up time

    between = within = weight = 0.0
    individuals = clusters = freedom = 0
    squares = 0
    for group in groups:
        means, sizes = group.means()
        n = int(sizes.sum())
        clusters += len(sizes)
        individuals += n
        freedom += len(sizes) - 1
        between += float(sizes @ (means - group.values.mean()) ** 2)
        within += float(((group.values - group.values.mean()) ** 2).sum())
        weight += n - float((sizes**2).sum()) / n
        squares += int((sizes**2).sum())
    within -= between
    inside = individuals - clusters
    if freedom < 1 or inside < 1 or between + within < TINY:
        return None
    n0, msb, msw = weight / freedom, between / freedom, max(within, 0.0) / inside
    rho = (msb - msw) / (msb + (n0 - 1) * msw)
    return IntraclassCorrelation(
        clusters=clusters,
        individuals=individuals,
        correlation=rho,
        between=(msb - msw) / n0,
        within=msw,
        design_effect=1 + (squares / individuals - 1) * rho,
        p=float(fdtrc(freedom, inside, msb / msw)) if msw > TINY else 0.0,
    )
