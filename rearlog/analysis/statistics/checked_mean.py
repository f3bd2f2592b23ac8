"""The mean of what checks only bracket, and how far off it may be.

A check dates a passage to the middle of the interval in which it fell. Where the individuals of a
cohort pass at different times, some are dated early and some late, and in the mean that cancels.
Where they pass in step, all between the same two checks, they share one error, and no number of
individuals lessens it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Floats
from rearlog.analysis.statistics.clusters import Clusters, in_either, variance_of_mean
from rearlog.analysis.statistics.clusters import freedom as cluster_freedom
from rearlog.analysis.statistics.distinct import distinct
from rearlog.analysis.statistics.student_t import limit_95

IN_STEP = 0.5
"""Individuals passed in step where they share more than this part of the variance of their mean."""
PLACES = 24
"""So many places of the mean between the checks are tried out."""
FARTHEST = 5.0
"""No individual passes more SDs than this from the mean."""

# scipy has its own, but takes longer to load than the answer
_error_function = np.vectorize(math.erf, otypes=[float])


class CheckedMean(Struct, frozen=True):
    """The mean of n values (days, or degree-days) that checks bracketed.

    `se` is its standard error, the error of the checks included; `check_error` that part of it
    which all individuals share. `freedom` are the degrees of freedom of `se`, and `rounding_se` is
    the least that the part which they do not share can be: what the checks make of it.
    """

    n: int
    mean: float
    sd: float
    se: float
    check_error: float
    freedom: float
    rounding_se: float = 0.0

    @property
    def interval(self) -> tuple[float, float]:
        """The 95 % limits of the mean (Student's t)."""
        margin = limit_95(self.freedom) * self.se
        return self.mean - margin, self.mean + margin

    @property
    def shared(self) -> float:
        """The part of the variance of the mean that all individuals share, 0 to 1."""
        return (self.check_error / self.se) ** 2 if self.se else 0.0

    @property
    def in_step(self) -> bool:
        """Whether individuals passed so close together that this is most of it."""
        return self.shared > IN_STEP


def checked_mean(
    values: Floats, passages: Sequence[Floats], clusters: Clusters = ()
) -> CheckedMean | None:
    """The mean of n values and its standard error; None for fewer than two values.

    `values` (n,): durations in days or degree-days. `passages`: the bounds (n, 2), in the same
    unit, of the passages at either end that had to be looked for; none where both are known.
    `clusters`: who shares a cage or a clutch, where some do; then s²/n and its degrees of freedom
    are those of the clusters (see `clusters`).

    SE² = max(s², Σ h²/12)/n + Σ v, summed over both ends. The first part is that of a mean, s²
    being no less than checks every h make of durations that are all alike: a few individuals may
    show the same number of days by chance. v is the mean square of the error that dating normal
    passages to the middles of these very intervals makes in their mean, wherever that may lie
    within half an interval of where it was found. Their variance is taken to be that of the dates
    less h²/6, twice what dating adds, lest a spread that is itself rounded pass for a wide one: so
    individuals in step are given a larger error than they have on average, others their own.
    Between checks every h, v is h²/12 where all pass at once, and nothing where their SD is h/2;
    after a weekend it may be more.

    What of that is caution: of 100 individuals in step that are looked at every day, entering and
    leaving a stage with SDs of 0.2 and 0.28 days, means scatter with an SD of 0.13 days, which asks
    for an interval 0.5 days wide, and this one has 1.3. At half these SDs it asks for 1.1 of 1.4:
    where nearly all pass between the same two checks, the width is real. From how many fell on
    either side of a check, a normal law would tell the mean to an interval of 0.4 (0.8) days. But
    that takes the law for granted: where one in ten straggles by a day, such intervals hold eight
    in ten means, or fewer, and these 95 %. A test has these figures.

    Source: the rounding error of a mean, as in Schneeweiss, Komlos & Ahmad 2010, AStA Adv. Stat.
    Anal. 94:247–271 (cited from memory), here for any grid; degrees of freedom: Satterthwaite
    1946, Biometrics Bull. 2:110–114, the shared part being taken as known.
    """
    n = len(values)
    if n < 2:
        return None
    rounding = sum(float(np.mean(_widths(bounds) ** 2)) / 12 for bounds in passages)
    spread, freedom = float(values.var(ddof=1)) / n, n - 1.0
    if clusters:
        spread = in_either(clusters, lambda labels: variance_of_mean(values, labels))
        freedom = cluster_freedom(clusters)
    own = max(spread, rounding / n)
    shared = sum(_shared(bounds) for bounds in passages)
    return CheckedMean(
        n=n,
        mean=float(values.mean()),
        sd=float(values.std(ddof=1)),
        se=float((own + shared) ** 0.5),
        check_error=float(shared**0.5),
        freedom=freedom * ((own + shared) / own) ** 2 if own else freedom,
        rounding_se=float((rounding / n) ** 0.5),
    )


def _widths(bounds: Floats) -> Floats:
    """The time between two checks, shape (n,); 0 for a passage that was seen."""
    return np.asarray(bounds[:, 1] - bounds[:, 0])


def _shared(bounds: Floats) -> float:
    """The variance of the error that dating passages to the middles of (n, 2) makes in their mean,
    the part of them that was seen having none."""
    widths = _widths(bounds)
    found = bounds[widths > 0]
    if not len(found):
        return 0.0
    dates = bounds.mean(axis=1)
    square, widest = float(np.mean(widths**2)), float(widths.max())
    sd = max(float(dates.var(ddof=1)) - square / 6, (1e-3 * widest) ** 2) ** 0.5
    checks = distinct(np.round(found, 6).ravel())
    beyond = square**0.5 * np.arange(1, int(FARTHEST * sd / square**0.5) + 3)
    checks = np.concatenate((checks[0] - beyond[::-1], checks, checks[-1] + beyond))
    places = dates.mean() + widest * ((np.arange(PLACES) + 0.5) / PLACES - 0.5)
    parts = np.diff(_error_function((checks - places[:, None]) / (sd * 2**0.5)), axis=1) / 2
    errors = parts @ (checks[1:] + checks[:-1]) / 2 - places
    return float(np.mean(errors**2)) * (len(found) / len(bounds)) ** 2
