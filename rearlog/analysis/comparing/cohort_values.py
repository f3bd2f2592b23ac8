"""What was seen of one cohort in one stage, as it enters a comparison."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Floats
from rearlog.analysis.comparing.cohorts import ComparedCohort
from rearlog.analysis.comparing.means_of_all import WatchedCohort, times_of
from rearlog.analysis.stages.left_open import LeftOpen, left_open
from rearlog.analysis.stages.stage_times import StageTimes, completed
from rearlog.analysis.statistics.checked_mean import CheckedMean, checked_mean
from rearlog.analysis.statistics.clusters import Clusters, chosen
from rearlog.analysis.statistics.differences import FEWEST_FOR_TEST


class CohortValues(Struct, frozen=True, eq=False):
    """The values (n,) of those that completed a stage, of what cages they are, and the widths of
    the intervals in which the passages fell that were looked for; who was left open, and what was
    seen of all, None with too few values for a test."""

    cohort: str
    values: Floats
    clusters: Clusters
    widths: Floats
    open: LeftOpen
    watched: WatchedCohort | None

    @property
    def mean(self) -> CheckedMean | None:
        """That of the values, where there are enough for a test."""
        return None if self.watched is None else self.watched.completed

    @property
    def median_error(self) -> float:
        """The SD of the error of the median that no number of individuals lessens."""
        grid = float(np.sqrt(np.mean(self.widths**2) / 12))
        return max(grid, self.mean.check_error if self.mean else 0.0)


def cohort_values(
    cohort: ComparedCohort, spans: StageTimes | None, clusters: Clusters, *, heat: bool
) -> CohortValues:
    """Those of one span, in days or as `heat` in degree-days; none where its species has no such
    stage, or its heat is not known. Their mean with the error of the checks: see `checked_mean`."""
    if spans is None or (heat and cohort.curve is None):
        nothing = np.empty(0)
        return CohortValues(cohort.cohort, nothing, (), nothing, LeftOpen(0, 0, 0), None)
    curve = cohort.curve if heat else None
    values, passages, who = completed(spans, curve)
    own = chosen(clusters, who)
    mean = checked_mean(values, passages, own) if len(values) >= FEWEST_FOR_TEST else None
    watched = None
    if mean is not None:
        times, everybody = times_of(spans, curve)
        watched = WatchedCohort(times, chosen(clusters, everybody), mean)
    widths = np.concatenate([bounds[:, 1] - bounds[:, 0] for bounds in passages])
    return CohortValues(cohort.cohort, values, own, widths, left_open(spans), watched)
