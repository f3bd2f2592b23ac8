from dataclasses import replace
from datetime import date, datetime

import pytest

from rearlog.exchange.logger_csv import LoggerOptions
from rearlog.exchange.temperature_files import is_daily, read
from rearlog.records.errors import ImportRefused
from rearlog.records.log import CohortLog, DayExtremes, Readings
from tests.exchange.conftest import FileOf

DAILY = "date,min_c,max_c\n13/03/2026,18,24\n14/03/2026,18,25\n"
LOGGER = "time,temp\n2026-03-13 08:00,21\n2026-03-13 08:10,22\n2026-03-13 08:20,23\n"


def test_the_kind_of_a_file_is_told_from_its_titles(file_of: FileOf) -> None:
    assert is_daily(file_of(DAILY))
    assert not is_daily(file_of(LOGGER))
    with pytest.raises(ImportRefused, match="empty"):
        is_daily(file_of(""))


def test_daily_extremes_are_added_once(file_of: FileOf, log: CohortLog, now: datetime) -> None:
    known = DayExtremes(date(2026, 3, 13), 18, 24)
    new = read(file_of(DAILY), replace(log, all_temperatures=(known,)), now)
    assert new.records == (DayExtremes(date(2026, 3, 14), 18, 25, source="file.csv"),)
    assert (new.already, new.file.rows) == (1, 2)


def test_readings_are_added_once(file_of: FileOf, log: CohortLog, now: datetime) -> None:
    first = read(file_of(LOGGER), log, now)
    [run] = first.records
    assert isinstance(run, Readings)
    assert first.already == 0
    again = read(file_of(LOGGER + "2026-03-13 08:30,24\n"), with_run(log, run), now)
    [rest] = again.records
    assert isinstance(rest, Readings)
    assert (rest.celsius, again.already) == ((24.0,), 3)
    assert read(file_of(LOGGER), with_run(log, run), now).records == ()


def with_run(log: CohortLog, run: Readings) -> CohortLog:
    return replace(log, all_temperatures=(run,))


def test_options_reach_both_kinds(file_of: FileOf, log: CohortLog, now: datetime) -> None:
    options = LoggerOptions(dates="month-first", unit="F")
    [day] = read(file_of("date,min_c,max_c\n03/10/2026,1,2\n"), log, now, options).records
    assert isinstance(day, DayExtremes)
    assert day.date == date(2026, 3, 10)
    [run] = read(file_of("time,temp\n03/10/2026 8:00,50\n"), log, now, options).records
    assert isinstance(run, Readings)
    assert (run.at.month, run.celsius) == (3, (10.0,))


@pytest.mark.parametrize("text", [DAILY.replace("2026", "2025"), LOGGER.replace("03-13", "02-13")])
def test_a_file_from_before_the_cohort_is_refused(
    file_of: FileOf, log: CohortLog, now: datetime, text: str
) -> None:
    with pytest.raises(ImportRefused, match="before the cohort began on 2026-03-09"):
        read(file_of(text), log, now)
