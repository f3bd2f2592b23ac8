"""The mean time in a stage of all that entered it, those counted that were not seen to leave it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.arrays import Booleans, Floats, Integers
from rearlog.analysis.heat.heat_curve import HeatCurve
from rearlog.analysis.stages.stage_times import StageTimes
from rearlog.analysis.statistics.accelerated_life import (
    FEWEST_EVENTS,
    AcceleratedLife,
    GroupTimes,
    Times,
    accelerated_life,
)
from rearlog.analysis.statistics.checked_mean import CheckedMean
from rearlog.analysis.statistics.clusters import Clusters, freedom, in_either


class WatchedCohort(Struct, frozen=True, eq=False):
    """What was seen of the times of one cohort, by whom they are shared, and the mean of those that
    were completed, whose error the checks share."""

    times: Times
    clusters: Clusters
    completed: CheckedMean


class MeanOfAll(Struct, frozen=True):
    """The mean of a cohort in the unit of its times, and its natural logarithm with its error."""

    mean: float
    logarithm: CheckedMean

    @property
    def interval(self) -> tuple[float, float]:
        """The 95 % limits of the mean: those of its logarithm (Student's t), taken back."""
        low, high = self.logarithm.interval
        return float(np.exp(low)), float(np.exp(high))


def times_of(spans: StageTimes, curve: HeatCurve | None = None) -> tuple[Times, Booleans]:
    """What was seen of the times of those whose start is known, and who they are, shape (n,).

    In days, or with a heat curve in degree-days, of those whose temperatures are known. Each time
    counts from the middle of the start's interval.
    """
    which = spans.start_known
    start, end = spans.start, spans.end
    if curve is not None:
        last = np.where(np.isfinite(end[:, 1]), end[:, 1], end[:, 0])
        which &= ~np.isnan(curve.between(start[:, 0], last))
        start = curve.at(start)
        end = np.where(np.isfinite(end), curve.at(np.where(np.isfinite(end), end, 0.0)), np.inf)
    middle = start.mean(axis=1)
    low, high = end[:, 0] - middle, end[:, 1] - middle
    which &= high > 0
    return Times(low[which], high[which], (start[:, 1] - start[:, 0])[which]), which


def means_of_all(cohorts: Sequence[WatchedCohort]) -> tuple[MeanOfAll, ...] | None:
    """The mean times of cohorts, each from a fit of its own of the family that suits them best.

    Their logarithms may be tested as means are: a likelihood ratio would call cohorts different
    that only spread differently. The error that the checks share counts, and where individuals
    share cages, theirs, by leaving out one cage after the other.
    None where some cohort has too few that completed it. Source: see `accelerated_life`; the
    jackknife: Efron & Tibshirani 1993, An Introduction to the Bootstrap, ch. 11.
    """
    if min(each.times.events for each in cohorts) < FEWEST_EVENTS:
        return None
    fit = accelerated_life([each.times for each in cohorts])
    return tuple(_mean(each, group, fit) for each, group in zip(cohorts, fit.groups, strict=True))


def _mean(cohort: WatchedCohort, group: GroupTimes, fit: AcceleratedLife) -> MeanOfAll:
    checked = cohort.completed
    # times that are all alike as far as checks tell: no surer than the mean of the completed
    least = checked.rounding_se / group.mean
    error, shared = max(group.mean_se, least), checked.check_error
    if not cohort.clusters:
        return MeanOfAll(group.mean, replace(group, mean_se=error).logarithm(shared))
    jackknife = in_either(
        cohort.clusters, lambda labels: _jackknife(cohort.times, labels, fit.family)
    )
    found = replace(group, mean_se=max(jackknife**0.5, least)).logarithm(shared)
    by_cages = found.freedom * freedom(cohort.clusters) / (group.events - 1)
    return MeanOfAll(group.mean, replace(found, freedom=by_cages))


def _jackknife(times: Times, labels: Integers, family: str) -> float:
    """The variance of ln of the mean when one cluster after the other is left out."""
    logs = []
    for label in np.unique(labels):
        part = times.of(labels != label)
        if part.events >= FEWEST_EVENTS:
            logs.append(np.log(accelerated_life([part], family).groups[0].mean))
    off: Floats = np.array(logs) - np.mean(logs) if logs else np.empty(0)
    return (len(logs) - 1) / len(logs) * float((off**2).sum()) if len(logs) > 1 else float("inf")
