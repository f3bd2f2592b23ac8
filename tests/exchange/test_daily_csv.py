from datetime import date

import pytest

from rearlog.exchange.daily_csv import read_daily
from rearlog.records.errors import ImportRefused
from rearlog.records.log import DayExtremes
from tests.exchange.conftest import FileOf

TODAY = date(2026, 3, 30)


def day(number: int, low: float, high: float) -> DayExtremes:
    return DayExtremes(date(2026, 3, number), low, high, source="file.csv")


def test_days_in_order_without_what_is_there_twice(file_of: FileOf) -> None:
    lines = ["2026-03-10,18.5,24", "", "2026-03-09,17,23", "2026-03-11,,", "2026-03-10,18.5,24.0"]
    file = read_daily(file_of("date,min_c,max_c\n" + "\n".join(lines)), TODAY)
    assert file.days == (day(9, 17, 23), day(10, 18.5, 24))
    assert (file.rows, file.repeated) == (3, 1)


def test_fahrenheit_by_the_titles(file_of: FileOf) -> None:
    # 50 °F = 10 °C, 77 °F = 25 °C (definition of the scale)
    file = read_daily(file_of("Date,humidity,MIN_F,Max_F\n2026-03-09,45,50,77\n"), TODAY)
    assert file.days == (day(9, 10, 25),)


def test_days_and_numbers_of_another_country(file_of: FileOf) -> None:
    file = read_daily(file_of("date;min_c;max_c\r\n13.03.2026;-1,5;7,25\r\n"), TODAY)
    assert file.days == (day(13, -1.5, 7.25),)
    with pytest.raises(ImportRefused, match="--dates"):
        read_daily(file_of("date,min_c,max_c\n09/03/2026,1,2\n"), TODAY)
    told = read_daily(file_of("date,min_c,max_c\n09/03/2026,1,2\n"), TODAY, dates="day-first")
    assert told.days == (day(9, 1, 2),)


def test_all_that_cannot_be_taken_is_listed(file_of: FileOf) -> None:
    lines = {
        "2026-03-09,18,24": None,
        "9 March,18,24": "line 3, column date: “9 March” is not a date",
        "2026-03-31,18,24": "line 4, column date: 2026-03-31 is still to come",
        "2026-03-10,18,": "line 5, column max: “” is not a number",
        "2026-03-11,warm,99": "line 6, column min: “warm” is not a number",
        "2026-03-11,18": "line 7, column max: “” is not a number",
        "2026-03-12,24,18": "line 8: the minimum 24 is above the maximum 18",
        "2026-03-09,18,25": "line 9: 2026-03-09 stands on line 2 with other temperatures",
    }
    with pytest.raises(ImportRefused) as refused:
        read_daily(file_of("date,min_c,max_c\n" + "\n".join(lines)), TODAY)
    said = [str(problem) for problem in refused.value.problems]
    for complaint in filter(None, lines.values()):
        assert any(complaint in each for each in said), complaint
    assert any("line 6, column max: 99 °C cannot be" in each for each in said)
    assert len(said) == 8


@pytest.mark.parametrize("text", ["date,min_c,max_c\n", "date,low,high\n2026-03-09,1,2\n"])
def test_a_file_without_temperatures(file_of: FileOf, text: str) -> None:
    with pytest.raises(ImportRefused, match=r"titles is missing|no temperature in it"):
        read_daily(file_of(text), TODAY)


def test_titles_without_a_unit_need_one(file_of: FileOf) -> None:
    text = "date,min,max\n2026-03-09,50,77\n"
    assert read_daily(file_of(text), TODAY, unit="F").days == (day(9, 10, 25),)
    with pytest.raises(ImportRefused, match=r"no unit is named.*--unit F"):
        read_daily(file_of(text), TODAY)
