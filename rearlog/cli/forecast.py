"""What is to come: forecasts, the question turned round, and what past forecasts were worth."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rearlog.analysis.statistics.levels import WINDOW
from rearlog.cli.answer_options import full_option
from rearlog.cli.numbers import CELSIUS
from rearlog.cli.options import WHEN, CohortName, answering, cohort_argument, notes
from rearlog.cli.present import show
from rearlog.cli.standard import InputFile
from rearlog.notebook import Notebook
from rearlog.records import times
from rearlog.records.errors import UsageError

if TYPE_CHECKING:
    from rearlog.analysis.forecasting.future_temperature import FutureTemperature


@click.command("forecast")
@cohort_argument
@click.option("--individuals", is_flag=True, help="Every individual, not the cohort's events.")
@click.option(
    "--as-of", type=WHEN, metavar="WHEN", help="Use only what was known then (end of that day)."
)
@click.option(
    "--temp",
    type=CELSIUS,
    metavar="C",
    help="The temperature to come, °C (default: the mean of the last 7 days).",
)
@click.option(
    "--temps",
    type=InputFile(),
    metavar="FILE",
    help="Temperatures to come, day by day: date,min_c,max_c.",
)
@click.option(
    "--by",
    type=WHEN,
    metavar="DATE",
    help="How warm, or laid when, for the adults to be out by then?",
)
@click.option(
    "--interval",
    type=click.IntRange(50, 99),
    metavar="PERCENT",
    help="What windows hold (default: 90).",
)
@click.option(
    "--past",
    type=CohortName(),
    multiple=True,
    metavar="COHORT",
    help="A cohort that was reared here before: learn from how fast and how even it was.",
)
@click.option("--review", is_flag=True, help="Compare past forecasts with what happened.")
@full_option
@answering
def forecast_command(
    cohort: Path,
    individuals: bool,
    as_of: str | None,
    temp: float | None,
    temps: Path | None,
    by: str | None,
    interval: int | None,
    past: tuple[Path, ...],
    review: bool,
    form: str,
) -> None:
    """When the next events and the adults should come: earliest, likely, latest.

    Windows hold nine in ten, unless --interval asks for another part. They rest on the profile, on
    the pace of this cohort and of each individual so far, and on the temperature to come.

    \b
    rearlog forecast room
    rearlog forecast room --individuals --temp 24
    rearlog forecast room --interval 80 --past last-year
    rearlog forecast room --by 2026-04-10 --as-of 2026-03-20
    rearlog forecast room --review
    """
    from rearlog.present.forecast import (  # start-up time
        deadline_tables,
        forecast_tables,
        individual_forecast_table,
        review_tables,
    )
    from rearlog.sentences import deadline as deadline_words
    from rearlog.sentences import forecast as forecast_words
    from rearlog.sentences import review as review_words

    if review and (individuals or by or temp is not None or temps is not None):
        raise UsageError("--review stands alone, or with --as-of")
    if (interval is not None or past) and (review or by):
        raise UsageError("--interval and --past go with neither --review nor --by")
    if by is not None and individuals:
        raise UsageError("--by asks of the cohort, not of --individuals")
    notebook = Notebook(cohort)
    header = notebook.log.cohort
    now = times.now(header.zone)
    moment = times.meant(as_of, header.zone, header.check_time, now)
    coming = _coming(temp, temps, moment.date())
    if review:
        reviewed = notebook.forecast_review(moment)
        show(reviewed, form, review_tables, "reviews", review_words.lead)
    elif by is not None:
        deadline = notebook.deadline(times.day_to_come(by, moment.date()), coming, moment)
        notes(deadline_words.notices(deadline))
        show(deadline, form, deadline_tables, "aims", deadline_words.lead)
    else:
        earlier = [Notebook(each) for each in past]
        part = WINDOW if interval is None else interval / 100
        result = notebook.forecast(coming, moment, window=part, past=earlier)
        notes(forecast_words.notices(result))
        tables = individual_forecast_table if individuals else forecast_tables
        rows = "individuals" if individuals else "events"
        show(result, form, tables, rows, forecast_words.lead)


def _coming(temp: float | None, temps: Path | None, today: date) -> FutureTemperature:
    from rearlog.analysis.forecasting.future_temperature import (
        FutureTemperature,  # start-up time: not for --help
    )
    from rearlog.exchange.daily_csv import read_daily

    if temp is not None and temps is not None:
        raise UsageError("give --temp or --temps, not both")
    days = () if temps is None else read_daily(temps, times.latest(today)).days
    return FutureTemperature(temp, days)
