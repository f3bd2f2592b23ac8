import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.exchange.logger_csv import LoggerFile, LoggerOptions, read_logger
from rearlog.records.errors import ImportRefused
from tests.exchange.conftest import FileOf

NOW = datetime(2027, 1, 1, tzinfo=UTC)
BEGIN = datetime(2026, 3, 9, 8, 40, tzinfo=UTC)


def read(path: Path, zone: str = "UTC", **options: str) -> LoggerFile:
    return read_logger(path, zone, NOW, LoggerOptions(**options))  # type: ignore[arg-type]


def complaints(path: Path, zone: str = "UTC", **options: str) -> list[str]:
    with pytest.raises(ImportRefused) as refused:
        read(path, zone, **options)
    return [str(problem) for problem in refused.value.problems]


# three readings from 08:40 on, 21.5, 21.75 and 22 °C, as twelve makes of logger might write them
MAKES = {
    "the plainest": (
        "time,temperature\n2026-03-09T08:40,21.5\n2026-03-09T08:50,21.75\n2026-03-09T09:00,22\n"
    ),
    "a title, humidity, day first": (
        "Logger 7 on the warm shelf\nSerial;0012;;\n\n"
        "Nr.;Datum Zeit;Temperatur °C;Feuchte %\n"
        "1;09.03.2026 08:40:00;21,5;45,0\n2;09.03.2026 08:50:00;21,75;45,5\n"
        "3;09.03.2026 09:00:00;22,0;46\n"
    ),
    "a 12-hour clock, °F": (
        '"#","Date Time, GMT+00:00","Temp, °F"\n1,03/09/26 08:40:00 AM,70.7,\n'
        "2,03/09/26 08:50:00 AM,71.15,\n3,03/09/26 09:00:00 AM,71.6,Logged\n"
    ),
    "tabs, date and time apart": (
        "Date\tTime\tRH\tTemp_C\r\n9/3/2026\t8:40\t45\t21.5\r\n9/3/2026\t8:50\t45\t21.75\r\n"
        "9/3/2026\t9:00\t45\t22\r\n"
    ),
    "a line of units": (
        "Time,Temperature,Dew point °C\n,F,C\n2026-03-09 08:40:00,70.7,12\n"
        "2026-03-09 08:50:00,71.15,12\n2026-03-09 09:00:00,71.6,12\n"
    ),
    "titles that come again, blank lines": (
        "timestamp,celsius\n2026/03/09 08:40,21.5\n\n,\ntimestamp,celsius\n"
        "2026/03/09 08:50,21.75\n2026/03/09 09:00,22\n"
    ),
    "offsets in each line": (
        "time,temp\n2026-03-09T09:40:00+01:00,21.5\n2026-03-09T08:50:00Z,21.75\n"
        "2026-03-09T04:00:00-05:00,22\n"
    ),
    "the newest first": (
        "time,temp\n2026-03-09 09:00,22\n2026-03-09 08:50,21.75\n2026-03-09 08:40,21.5\n"
    ),
    "missing readings, months as words": (
        "time,temp\n9 Mar 2026 08:30,\n9 Mar 2026 08:40,21.5\n9 Mar 2026 08:50,21.75\n"
        "9 Mar 2026 09:00,22\n"
    ),
    "lines above the table that look like it": (
        "C 7;1\nTemperature unit;°C\nDownloaded;2026-03-14 10:00\nRoom;;\n\n"
        "No;Date Time;Temp;Dew point °C\n;;C;C\n1;2026-03-09 08:40;21,5;12\n"
        "2;2026-03-09 08:50;21,75;12\n3;2026-03-09 09:00;22;12\n"
    ),
    "columns that look like others": (
        "Start,Elapsed,Sensor C,Date Time,Temp\n2026-03-01,00:10,3,2026-03-09 08:40,21.5\n"
        "2026-03-01,00:20,3,2026-03-09 08:50,21.75\n2026-03-01,00:30,3,2026-03-09 09:00,22\n"
    ),
    "the time of day first": (
        "Time of day,Temp (C),Day\n"
        "08:40,21.5,2026-03-09\n08:50,21.75,2026-03-09\n09:00,22,2026-03-09\n"
    ),
}
ORDERS = {"a 12-hour clock, °F": "month-first", "tabs, date and time apart": "day-first",
          "a title, humidity, day first": "day-first"}  # fmt: skip


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("make", MAKES)
def test_files_of_many_makes(file_of: FileOf, make: str, encoding: str) -> None:
    options = {"dates": ORDERS[make]} if make in ORDERS else {}
    file = read(file_of(MAKES[make].encode(encoding)), **options)
    assert file.readings.at == BEGIN
    assert file.readings.seconds == (0, 600, 1200)
    assert file.readings.celsius == (21.5, 21.75, 22.0)
    assert file.readings.source == "file.csv"
    assert (file.rows, file.repeated, file.gaps, file.step_seconds) == (3, 0, (), 600)


@pytest.mark.parametrize("make", ORDERS)
def test_the_order_of_day_and_month_is_not_guessed(file_of: FileOf, make: str) -> None:
    [said] = complaints(file_of(MAKES[make]))
    assert "2026-03-09" in said
    assert "--dates day-first or --dates month-first" in said


def test_what_is_noticed_on_the_way(file_of: FileOf) -> None:
    lines = ["08:00,21", "08:10,22", "08:20,", "08:30,23", "08:10,22", "08:40,24", "12:00,25"]
    file = read(file_of("time,temp\n" + "\n".join(f"2026-03-09 {line}" for line in lines)))
    assert (file.rows, file.blank, file.repeated, file.reordered) == (6, 1, 1, 1)
    assert file.readings.celsius == (21, 22, 23, 24, 25)
    [gap] = file.gaps
    assert (gap.after.hour, gap.after.minute, gap.until.hour) == (8, 40, 12)


def test_every_line_that_cannot_be_taken_is_listed(file_of: FileOf) -> None:
    lines = {
        "2026-03-09 08:00,21": None,
        "2026-03-09 25:00,21": "line 3: “2026-03-09 25:00” is not a date and time",
        "2026-02-30 08:00,21": "line 4: “2026-02-30 08:00” is not a date and time",
        "2026-03-09 08:10,warm": "line 5: “warm” is not a number",
        "2026-03-09 08:20,60.5": "line 6: 60.5 °C cannot be",
        "2026-03-09 08:30,-31": "line 7: -31 °C cannot be",
        "2027-03-09 08:40,21": "line 8: 2027-03-09 08:40 is still to come",
        ",21": "line 9: “” is not a date and time",
        "end of data,NaN": "line 10: “end of data” is not a date and time",
    }
    said = complaints(file_of("time,temp (C)\n" + "\n".join(lines)))
    for complaint in filter(None, lines.values()):
        assert any(f"file.csv, {complaint}" in each for each in said), complaint
    assert len(said) == 9


def test_two_temperatures_at_one_moment_are_refused(file_of: FileOf) -> None:
    text = "time,temp\n2026-03-09 08:00,21\n2026-03-09 08:10,22\n2026-03-09 08:00,21.5\n"
    assert complaints(file_of(text)) == [
        "file.csv, line 4: another temperature at the moment of line 2 (take one of the two out)"
    ]


@pytest.mark.parametrize(
    "text",
    ["time,temp\n", "time,colour\n2026-03-09 08:00,21\n", "no table\n", "2026-03-09 08:00,21\n",
     "date,temp\n2026-03-09,21\n"],
)  # fmt: skip
def test_a_file_without_titles_over_readings(file_of: FileOf, text: str) -> None:
    [said] = complaints(file_of(text))
    assert "titles" in said
    assert "--temperature-column" in said


TWO = (
    "UTC time,local time,inside °C,outside °C,value\n"
    "2026-07-01 08:00,2026-07-01 09:00,21,15,70\n2026-07-01 08:10,2026-07-01 09:10,22,15,70\n"
)


def test_columns_that_are_not_clear_are_named_by_the_user(file_of: FileOf) -> None:
    path = file_of(TWO)
    said = complaints(path)
    assert len(said) == 2
    assert "--time-column" in said[0]
    assert "“inside °C”, “outside °C”" in said[1]
    file = read(path, "Europe/London", time_column="local time", temperature_column="Outside °C")
    assert file.readings.celsius == (15, 15)
    assert file.readings.at == datetime(2026, 7, 1, 8, tzinfo=UTC)
    file = read(path, time_column="UTC time", temperature_column="value", unit="F")
    assert file.readings.celsius == (21.1111, 21.1111)


def test_a_title_that_is_not_there(file_of: FileOf) -> None:
    assert complaints(file_of(TWO), temperature_column="inside", time_column="local time") == [
        "file.csv, line 1: no column is called “inside” (the titles are “UTC time”, "
        "“local time”, “inside °C”, “outside °C”, “value”)"
    ]
    both = complaints(file_of(TWO), temperature_column="nix", time_column="when")
    assert [each.partition(" (")[0] for each in both] == [
        "file.csv, line 1: no column is called “when”",
        "file.csv, line 1: no column is called “nix”",
    ]
    [no_titles] = complaints(file_of("2026-07-01 08:00,21\n"), temperature_column="nix")
    assert "the line with the column titles is missing" in no_titles


def test_fahrenheit_taken_for_celsius_is_noticed(file_of: FileOf) -> None:
    cool = "time,temp\n2026-03-09 08:00,58\n2026-03-09 08:10,59\n"
    assert "say --unit C, or --unit F" in complaints(file_of(cool))[0]
    assert read(file_of(cool), unit="F").readings.celsius == (14.4444, 15.0)
    assert read(file_of(cool), unit="C").readings.celsius == (58, 59)
    warm = "time,temp\n2026-03-09 08:00,72\n"
    assert "if it is °F, add --unit F" in complaints(file_of(warm))[0]


def night(clock_times: str) -> str:
    return "time,temp\n" + "".join(f"2026-10-25 {each},20\n" for each in clock_times.split())


def test_the_night_that_the_clocks_go_back(file_of: FileOf) -> None:
    whole = read(file_of(night("00:00 00:30 01:00 01:30 01:00 01:30 02:00")), "Europe/London")
    assert whole.readings.seconds == tuple(range(0, 7 * 1800, 1800))
    assert (whole.twice, whole.gaps, whole.reordered) == (4, (), 0)
    back = read(file_of(night("02:00 01:30 01:00 01:30 01:00 00:30 00:00")), "Europe/London")
    assert back.readings == whole.readings
    # a logger that does not change its clock has the hour once
    steady = read(
        file_of(night("00:00 00:30 01:00 01:30 02:00")), "Europe/London", clock_zone="UTC"
    )
    assert steady.readings.seconds == (0, 1800, 3600, 5400, 7200)
    assert steady.twice == 0


def test_the_night_that_the_clocks_go_forward(file_of: FileOf) -> None:
    path = file_of("time,temp\n2026-03-29 00:30,20\n2026-03-29 01:30,20\n2026-03-29 02:30,20\n")
    [said] = complaints(path, "Europe/London")
    assert said.startswith("file.csv, line 3: there is no 2026-03-29 01:30 in Europe/London")
    assert read(path, "Europe/London", clock_zone="UTC").readings.seconds == (0, 3600, 7200)


def test_a_title_with_an_offset_is_believed_but_the_user_more(file_of: FileOf) -> None:
    path = file_of('"Date, GMT-05:00",temp\n2026-03-09 08:40,20\n')
    assert read(path, "Europe/London").readings.at == BEGIN + timedelta(hours=5)
    assert read(path, "Europe/London", clock_zone="UTC").readings.at == BEGIN


@given(
    st.lists(
        st.tuples(st.integers(0, 2000), st.integers(-300, 600)),
        min_size=1,
        unique_by=lambda it: it[0],
    ),
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["%Y-%m-%d %H:%M", "%d/%m/%Y %I:%M %p", "%m/%d/%y %H:%M:%S"]),
)
def test_readings_come_out_as_they_went_in(
    tmp_path_factory: pytest.TempPathFactory,
    readings: list[tuple[int, int]],
    separator: str,
    form: str,
) -> None:
    lines = [separator.join(["when", "temp (°C)"])]
    for minutes, tenths in readings:
        when = (BEGIN + timedelta(minutes=10 * minutes)).strftime(form)
        number = f"{tenths / 10:.1f}".replace(".", "," if separator == ";" else ".")
        lines.append(separator.join([when, number]))
    path = tmp_path_factory.getbasetemp() / "logger.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    order = "day-first" if "/%Y" in form else "month-first"
    file = read(path, dates=order)
    found = [
        ((file.readings.at - BEGIN).total_seconds() + seconds, celsius)
        for seconds, celsius in zip(file.readings.seconds, file.readings.celsius, strict=True)
    ]
    assert found == [(600.0 * minutes, tenths / 10) for minutes, tenths in sorted(readings)]


def test_a_year_of_readings_is_read_in_a_moment(file_of: FileOf) -> None:
    lines = ["time;temp (°C);humidity"]
    for step in range(52_560):
        when = datetime(2026, 1, 1) + timedelta(minutes=10 * step)
        lines.append(f"{when:%d.%m.%Y %H:%M};{18 + step % 70 / 10:.1f};45")
    path = file_of("\n".join(lines))
    before = time.process_time()
    file = read(path, "Europe/London", clock_zone="UTC")
    assert len(file.readings.seconds) == 52_560
    assert time.process_time() - before < 2  # measured 0.25 s; a slow machine is no failure
