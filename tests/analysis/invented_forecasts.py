"""Forecasts of invented moths, for the tests."""

from datetime import timedelta

from msgspec.structs import replace

from rearlog.analysis.forecasting.forecast import forecast
from rearlog.analysis.forecasting.forecast_model import forecast_model
from rearlog.analysis.forecasting.future_temperature import FutureTemperature
from rearlog.records.log import Observation
from rearlog.records.times import at_clock
from tests.analysis.invented_moth import LAID, MEAN_DD, eggs, moth, number, stage

START = eggs(1).cohort.started


SURE = moth(*(stage(code, degree_days=number(MEAN_DD[code], sd=0.01)) for code in MEAN_DD))


def on(day, hour="09:00"):
    return at_clock(LAID + timedelta(1 + day), hour, "Europe/London")


def told_of(log, as_of, coming=None):
    return forecast(forecast_model(log, as_of, coming or FutureTemperature()))


def row(told, individual, event):
    return next(
        each for each in told.individuals if (each.individual, each.event) == (individual, event)
    )


def observed(log, *checks):
    """The log with checks: (code, day, stage or fate)."""
    fates = ("dead", "lost", "removed")
    return replace(
        log,
        all_observations=tuple(
            Observation(
                code, on(day), None if state in fates else state, state if state in fates else None
            )
            for code, day, state in checks
        ),
    )
