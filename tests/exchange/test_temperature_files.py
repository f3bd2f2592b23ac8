from datetime import date, datetime

import pytest

from rearlog.exchange.logger_csv import LoggerOptions
from rearlog.exchange.temperature_files import is_daily, read
from rearlog.exchange.temperature_words import MOST_GAPS, words_of
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


def test_daily_extremes_and_readings_are_told_as_records(
    file_of: FileOf, log: CohortLog, now: datetime
) -> None:
    days = read(file_of(DAILY), log, now)
    assert days.records == tuple(
        DayExtremes(date(2026, 3, day), 18, celsius, source="file.csv")
        for day, celsius in ((13, 24), (14, 25))
    )
    assert (days.path.name, days.file.rows) == ("file.csv", 2)
    [run] = read(file_of(LOGGER), log, now).records
    assert isinstance(run, Readings)
    assert len(run.celsius) == 3


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


def test_the_first_gaps_are_told_each_and_the_others_counted(
    file_of: FileOf, log: CohortLog, now: datetime
) -> None:
    def told(gaps: int) -> list[str]:
        hours = [hour for gap in range(gaps + 1) for hour in range(24 * gap, 24 * gap + 8)]
        lines = (f"2026-03-{10 + hour // 24} {hour % 24:02d}:00,21\n" for hour in hours)
        found = read(file_of("time,temp\n" + "".join(lines)), log, now)
        return words_of(found.records, found.records, log.began, found)[0].split("; ")

    line = "; ".join(told(MOST_GAPS))
    assert line.count("none from") == MOST_GAPS
    assert "more gap" not in line
    assert "none from 2026-03-10 07:00 to 2026-03-11 00:00" in line
    assert told(MOST_GAPS + 1)[-1].endswith("and 1 more gap")
    assert told(MOST_GAPS + 2)[-1].endswith("and 2 more gaps")
