"""Writing temperatures down: one day's, a constant one, or a file's."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path

import click

from rearlog.cli.options import cohort_argument, notice, on_option, quiet_option
from rearlog.exchange.celsius import Unit
from rearlog.exchange.daily_csv import DailyFile
from rearlog.exchange.logger_csv import LoggerFile, LoggerOptions
from rearlog.exchange.temperature_files import TemperatureFile, read
from rearlog.exchange.typed_temperatures import celsius_of, constant_temperature, day_extremes
from rearlog.exchange.written_dates import DateOrder
from rearlog.records import times
from rearlog.records.errors import UsageError
from rearlog.records.log import ConstantTemperature, DayExtremes, Temperature
from rearlog.records.temperature_overlap import values_in
from rearlog.records.temperature_rules import doubt_of_temperature
from rearlog.records.wording import counted, stamp
from rearlog.store.cohort_file import CohortFile


@click.command("temps")
@cohort_argument
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--min", "lowest", metavar="C", help="The day's lowest temperature.")
@click.option("--max", "highest", metavar="C", help="The day's highest temperature.")
@on_option
@click.option("--constant", metavar="C", help="A temperature kept constant.")
@click.option("--from", "first", metavar="DATE", help="… from this day (default: the start).")
@click.option("--to", "last", metavar="DATE", help="… to this day (default: until further notice).")
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
@quiet_option
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
        told = [constant_temperature(log.cohort, now, celsius_of(constant, unit), first, last)]
    else:
        if lowest is None or highest is None:
            raise UsageError("--min and --max go together")
        told = [day_extremes(now, celsius_of(lowest, unit), celsius_of(highest, unit), on)]
    records = store.add_temperatures(told, now)
    already = values_in(told) - values_in(records)
    if brought is None:
        notice(_of_one(told[0]) + (", as recorded already" if already else ""))
    else:
        notice(_of_file(brought, records, already))
    for doubt in filter(None, map(doubt_of_temperature, records)):
        notice(f"Note: {doubt}")


def _refuse_stray(
    file: Path | None, constant: str | None, on: str | None, first: str | None, last: str | None
) -> None:
    if on is not None and (file is not None or constant is not None):
        raise UsageError("--on belongs to --min and --max", "a constant one has --from and --to")
    if (first is not None or last is not None) and constant is None:
        raise UsageError("--from and --to belong to --constant", "one day's has --on")


def _of_one(told: Temperature) -> str:
    """A temperature that was typed, as it was understood."""
    if isinstance(told, DayExtremes):
        return f"{told.date}: {told.min_c:.4g} to {told.max_c:.4g} °C"
    assert isinstance(told, ConstantTemperature)
    until = f"to {told.last}" if told.last else "until further notice"
    return f"{told.celsius:.4g} °C from {told.first} {until}"


def _of_file(brought: TemperatureFile, records: Sequence[Temperature], already: int) -> str:
    """What a file brought, and what was noticed in it."""
    file, path, new = brought.file, brought.path, values_in(records)
    if isinstance(file, DailyFile):
        notes = [f"{counted(new, 'day')} recorded from {path}"]
    else:
        notes = [f"{counted(new, 'reading')} recorded from {path}", *_noticed(file)]
    if file.repeated:
        notes.append(f"{file.repeated} lines told the same again")
    if already:
        notes.append(f"{already} were in the log already")
    return "; ".join(notes)


def _noticed(file: LoggerFile) -> list[str]:
    readings = file.readings
    end = readings.at + timedelta(seconds=readings.seconds[-1])
    low, high = min(readings.celsius), max(readings.celsius)
    notes = [
        f"read as °{file.unit}, {low:.4g} to {high:.4g} °C",
        f"{stamp(readings.at)} to {stamp(end)} by a clock of {file.clock_zone}",
    ]
    if file.blank:
        notes.append(f"{counted(file.blank, 'line')} without a temperature")
    if file.reordered:
        notes.append(f"{file.reordered} were out of order")
    if file.twice:
        notes.append(f"{file.twice} fell into the hour that comes twice")
    for gap in file.gaps[:5]:
        notes.append(f"none from {stamp(gap.after)} to {stamp(gap.until)}")
    if len(file.gaps) > 5:
        notes.append(f"and {len(file.gaps) - 5} more gaps")
    return notes
