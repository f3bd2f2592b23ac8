"""What a page shows: results that were computed elsewhere, for one cohort or several."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING

from msgspec import Struct

from rearlog import __version__
from rearlog.notebook import Notebook, compare, thermal, told_apart

if TYPE_CHECKING:
    from rearlog.analysis.agreement.agreement import Agreement
    from rearlog.analysis.comparing.compare import Comparison
    from rearlog.analysis.comparing.thermal import Thermal
    from rearlog.analysis.forecasting.forecast import Forecast
    from rearlog.analysis.growth.growth import Growth
    from rearlog.analysis.pooling.season import Season
    from rearlog.analysis.stages.completeness import Completeness
    from rearlog.analysis.stages.durations import Durations
    from rearlog.analysis.stages.in_doubt import InDoubt
    from rearlog.analysis.stages.progress import Progress
    from rearlog.analysis.stages.stage_counts import StageCounts
    from rearlog.analysis.stages.stage_heat import Heat
    from rearlog.analysis.survival.survival import Survival
    from rearlog.records.log import Cohort


MOST_OPEN = 10
"""Of more cohorts than this each is folded, with small pictures of what matters most: an open page
of 50 would be as high as 300 screens."""


class CohortResults(Struct, frozen=True):
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


class Contents(Struct, frozen=True):
    """A whole page. `comparison` and `thermal` are None for a single cohort; `season`, what all
    say together, unless there are so many that each is folded."""

    cohorts: tuple[CohortResults, ...]
    season: Season | None
    comparison: Comparison | None
    thermal: Thermal | None
    written_on: date
    version: str

    @property
    def many(self) -> bool:
        """Whether there are so many cohorts that each of them is folded."""
        return len(self.cohorts) > MOST_OPEN


def contents(notebooks: Sequence[Notebook], now: datetime | None = None) -> Contents:
    """Everything that a page shows of some cohorts, as it is `now` (at this moment)."""
    notebooks = told_apart(notebooks)
    several = len(notebooks) > 1
    return Contents(
        cohorts=tuple(results(each, now) for each in notebooks),
        season=_season(notebooks, now) if len(notebooks) > MOST_OPEN else None,
        comparison=compare(notebooks) if several else None,
        thermal=thermal(notebooks) if several and one_species(notebooks) else None,
        written_on=date.today() if now is None else now.astimezone().date(),
        version=__version__,
    )


def _season(notebooks: Sequence[Notebook], now: datetime | None) -> Season:
    from rearlog.gathering.season import season_of  # start-up time: few pages have so many

    return season_of(notebooks, now=now)


def one_species(notebooks: Sequence[Notebook]) -> bool:
    """Whether all the cohorts are of one species: only then they have thermal constants."""
    return len({each.log.cohort.species.scientific_name for each in notebooks}) == 1


def results(notebook: Notebook, now: datetime | None = None) -> CohortResults:
    """Everything that a page shows of one cohort, as it is `now` (at this moment)."""
    outlook = notebook.forecast(as_of=now)
    stages = notebook.event_history.stages
    return CohortResults(
        cohort=notebook.log.cohort,
        progress=notebook.progress(),
        stage_counts=notebook.stage_counts(),
        durations=notebook.durations(),
        whole=notebook.durations(stages[0], stages[-1]),
        heat=notebook.heat() if notebook.heat_curve is not None else None,
        survival=notebook.survival(),
        growth=notebook.growth(),
        forecast=outlook if any(event.n for event in outlook.events) else None,
        completeness=notebook.completeness(),
        in_doubt=notebook.in_doubt,
        agreement=notebook.agreement(),
    )
