"""What a page shows: results that were computed elsewhere, for one cohort or several."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rearlog.analysis.agreement.agreement import Agreement
    from rearlog.analysis.comparing.compare import Comparison
    from rearlog.analysis.comparing.thermal import Thermal
    from rearlog.analysis.forecasting.forecast import Forecast
    from rearlog.analysis.growth.growth import Growth
    from rearlog.analysis.stages.completeness import Completeness
    from rearlog.analysis.stages.durations import Durations
    from rearlog.analysis.stages.in_doubt import InDoubt
    from rearlog.analysis.stages.progress import Progress
    from rearlog.analysis.stages.stage_counts import StageCounts
    from rearlog.analysis.stages.stage_heat import Heat
    from rearlog.analysis.survival.survival import Survival
    from rearlog.records.log import Cohort


@dataclass(frozen=True)
class CohortResults:
    """The results of one cohort. `whole` is the time from the first stage to the last.

    `heat` is None without temperatures or a threshold; `forecast` once nobody is left to develop.
    `in_doubt` is what contradicts another look, `agreement` that of observers in pairs of looks.
    """

    cohort: Cohort
    progress: Progress
    stage_counts: StageCounts
    durations: Durations
    whole: Durations
    heat: Heat | None
    survival: Survival
    growth: Growth
    forecast: Forecast | None
    completeness: Completeness
    in_doubt: tuple[InDoubt, ...]
    agreement: Agreement


@dataclass(frozen=True)
class Contents:
    """A whole page. `comparison` and `thermal` are None for a single cohort."""

    cohorts: tuple[CohortResults, ...]
    comparison: Comparison | None
    thermal: Thermal | None
    written_on: date
    version: str
