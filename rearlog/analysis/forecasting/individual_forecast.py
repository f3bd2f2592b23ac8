"""The next event of each individual, and its last: earliest, likely, latest."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import numpy as np
from msgspec import Struct

from rearlog.analysis.forecasting.forecast_model import UNFORESEEN, ForecastModel
from rearlog.analysis.statistics.truncated_normal import quantile_beyond


class IndividualForecast(Struct, frozen=True):
    """One event to come of one living individual, which is now in `stage`.

    `earliest` to `latest` holds it with the probability that was asked for, `likely` is its median,
    and `seen_on` the day of the usual check that then shows it; None where it cannot be foretold.
    `overdue_days`: by so many days the end of the window was over that held before it was seen not
    to have come; None where that is still to come.
    """

    individual: str
    stage: str
    event: str
    into: str
    earliest: date | None
    likely: date | None
    latest: date | None
    seen_on: date | None
    overdue_days: float | None


def individual_forecasts(model: ForecastModel) -> Iterator[IndividualForecast]:
    """The next event, and the last, of everyone who still develops."""
    predictive, stages = model.predictive, model.phases.stages
    days = model.days(predictive.quantile(model.moments[:, None, None]))
    uncut = model.days(predictive.mean + quantile_beyond(-np.inf, model.moments[2]) * predictive.sd)
    for row in np.flatnonzero(predictive.next_stage >= 0).tolist():
        following = int(predictive.next_stage[row])
        for rank in dict.fromkeys((following, len(stages) - 1)):
            late = model.course.now - float(uncut[row, rank])
            earliest, likely, latest = model.window(days[:, row, rank]) or UNFORESEEN
            seen_on = None if likely is None else model.seen_on(float(days[1, row, rank]))
            yield IndividualForecast(
                model.history.codes[row],
                stages[model.history.last_rank[row]],
                model.events[stages[rank]],
                stages[rank],
                earliest,
                likely,
                latest,
                seen_on,
                overdue_days=late if rank == following and late > 0 else None,
            )
