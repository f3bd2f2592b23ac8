"""What is said of temperatures that were written down: how they were understood."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from rearlog.exchange.daily_csv import DailyFile
from rearlog.exchange.logger_csv import LoggerFile
from rearlog.exchange.temperature_files import TemperatureFile
from rearlog.records.log import ConstantTemperature, DayExtremes, Temperature
from rearlog.records.temperature_overlap import values_in
from rearlog.records.temperature_rules import before_all, doubt_of_temperature
from rearlog.records.wording import counted, stamp

MOST_GAPS = 5
"""So many gaps between readings are told each."""


def words_of(
    told: Sequence[Temperature],
    records: Sequence[Temperature],
    began: date,
    brought: TemperatureFile | None = None,
) -> list[str]:
    """A line on what was `told` (typed, or `brought` by a file), and one for each doubt.

    `records` are those that were new to the log, in whose cohort days count from `began` on.
    """
    already = values_in(told) - values_in(records)
    if brought is None:
        line = _of_one(told[0]) + (", as recorded already" if already else "")
    else:
        line = _of_file(brought, records, already)
    doubts = [doubt_of_temperature(each) for each in records]
    if brought is None:  # a file may begin earlier
        doubts += [before_all(each, began) for each in records]
    return [line, *(f"Note: {doubt}" for doubt in doubts if doubt)]


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
    for gap in file.gaps[:MOST_GAPS]:
        notes.append(f"none from {stamp(gap.after)} to {stamp(gap.until)}")
    if len(file.gaps) > MOST_GAPS:
        notes.append(f"and {counted(len(file.gaps) - MOST_GAPS, 'more gap')}")
    return notes
