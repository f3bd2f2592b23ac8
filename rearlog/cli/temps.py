"""Writing temperatures down: one day's, a constant one, or a file's."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from rearlog.cli.options import WHEN, cohort_argument, notice, on_option
from rearlog.cli.standard import InputFile
from rearlog.cli.writing import writing
from rearlog.exchange.celsius import Unit
from rearlog.exchange.logger_csv import LoggerOptions
from rearlog.exchange.temperature_files import read
from rearlog.exchange.temperature_words import words_of
from rearlog.exchange.typed_temperatures import celsius_of, constant_temperature, day_extremes
from rearlog.exchange.written_dates import DateOrder
from rearlog.records import times
from rearlog.records.errors import UsageError
from rearlog.records.log import Temperature
from rearlog.settings import usual
from rearlog.store.cohort_file import CohortFile


@click.command("temps")
@cohort_argument
@click.argument("file", required=False, type=InputFile())
@click.option("--min", "lowest", metavar="C", help="The day's lowest temperature.")
@click.option("--max", "highest", metavar="C", help="The day's highest temperature.")
@on_option
@click.option("--constant", metavar="C", help="A temperature kept constant.")
@click.option(
    "--from", "first", type=WHEN, metavar="DATE", help="… from this day (default: the start)."
)
@click.option(
    "--to", "last", type=WHEN, metavar="DATE", help="… to this day (default: until further notice)."
)
@click.option(
    "--unit",
    type=click.Choice(["C", "F"], case_sensitive=False),
    help="°C or °F, where a file does not say.",
)
@click.option(
    "--dates", type=click.Choice(["day-first", "month-first"]), help="How a file writes them."
)
@click.option("--time-column", metavar="TITLE", help="The file's column with the time.")
@click.option("--temperature-column", metavar="TITLE", help="The file's column with the readings.")
@click.option("--clock-zone", metavar="ZONE", help="The zone of the logger's clock.")
@click.option("--missing", metavar="TEXT", help="What a logger writes for no reading: 999.9.")
@writing
def temps_command(
    cohort: Path,
    file: Path | None,
    lowest: str | None,
    highest: str | None,
    on: str | None,
    constant: str | None,
    first: str | None,
    last: str | None,
    unit: Unit | None,
    dates: DateOrder | None,
    time_column: str | None,
    temperature_column: str | None,
    clock_zone: str | None,
    missing: str | None,
) -> None:
    """Record temperatures: a day's lowest and highest, a constant one, or a file's.

    A file may have daily extremes (date,min_c,max_c or min_f,max_f) or a logger's readings. What
    the log has already is passed over; what contradicts it is refused and listed.

    \b
    rearlog temps room --min 18.5 --max 23 --on yesterday
    rearlog temps room --constant 24 --from 2026-03-09
    rearlog temps room logger.csv --dates day-first
    """
    given = (file is not None, lowest is not None or highest is not None, constant is not None)
    if sum(given) != 1:
        raise UsageError("give one of: a file, --min with --max, or --constant")
    _refuse_stray(file, constant, on, first, last)
    typed = unit or usual.unit()
    store = CohortFile(cohort)
    log = store.outline(())
    now = times.now(log.cohort.zone)
    brought = None
    if file is not None:
        if clock_zone is not None:
            times.check_zone(clock_zone)
        options = LoggerOptions(time_column, temperature_column, unit, dates, clock_zone, missing)
        brought = read(file, log, now, options)
        told: Sequence[Temperature] = brought.records
    elif constant is not None:
        told = [constant_temperature(log.cohort, now, celsius_of(constant, typed), first, last)]
    else:
        if lowest is None or highest is None:
            raise UsageError("--min and --max go together")
        told = [day_extremes(now, celsius_of(lowest, typed), celsius_of(highest, typed), on)]
    records = store.add_temperatures(told, now)
    for line in words_of(told, records, log.began, brought):
        notice(line)


def _refuse_stray(
    file: Path | None, constant: str | None, on: str | None, first: str | None, last: str | None
) -> None:
    if on is not None and (file is not None or constant is not None):
        raise UsageError("--on belongs to --min and --max", "a constant one has --from and --to")
    if (first is not None or last is not None) and constant is None:
        raise UsageError("--from and --to belong to --constant", "one day's has --on")
