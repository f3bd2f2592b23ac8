"""Temperatures in the browser: by hand, from a text or a file, and on a calendar."""

import io
import re
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from rearlog.records.log import ConstantTemperature, DayExtremes
from rearlog.web.door import Role
from tests.builders import START, tiny_log
from tests.web.shelves import BASE, SAME_SITE
from tests.web.twins import Twins

NOW = START + timedelta(days=9, hours=2)
"""Wednesday, 18 March 2026, 11:00."""

LOGGER = "Time,Temp\n" + "".join(
    f"{day:02d}/03/2026 {hour:02d}:00,{18 + hour / 4}\n" for day in (9, 10) for hour in range(24)
)


@pytest.fixture
def tiny(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Twins:
    log = tiny_log({"1": "egg egg L1 L1 L1 L1 L1 L1 L1 L2", "2": "egg egg egg L1"})
    return Twins(tmp_path, log, NOW, monkeypatch)


def cells(page: str) -> dict[int, tuple[str, str]]:
    """The state of each day of the calendar, and what is read aloud of it."""
    day = r'<td class="(\w+)"[^>]*><a href="[^"]*on=2026-03-(\d\d)#day"><span class="said">([^<]*)<'
    found = re.findall(day, page)
    return {int(day): (state, words) for state, day, words in found}


def test_a_day_writes_what_the_command_writes(tiny: Twins) -> None:
    looker = tiny.room.joined(Role.LOOKER)
    told = {"on": "2026-03-16", "lowest": "8,5", "highest": "23", "unit": "C"}
    page = tiny.followed(looker, tiny.post(looker, "temperatures", do="day", **told))
    tiny.command("temps", "--min", "8.5", "--max", "23", "--on", "2026-03-16")
    assert tiny.alike()
    assert "<p>2026-03-16: 8.5 to 23 °C</p>" in page
    assert cells(page)[16] == ("recorded", "Mon 16 Mar: 8.5 to 23.0 °C")
    again = tiny.followed(looker, tiny.post(looker, "temperatures", do="day", **told))
    assert "as recorded already" in again
    assert tiny.alike()


def test_a_day_before_the_cohort_is_written_with_a_note(tiny: Twins) -> None:
    looker = tiny.room.joined(Role.LOOKER)
    told = {"on": "2025-03-16", "lowest": "20", "highest": "25"}
    page = tiny.followed(looker, tiny.post(looker, "temperatures", do="day", **told))
    assert "temperature of 2025-03-16 (@T1): the cohort began later, on 2026-03-0" in page
    assert len(tiny.log().temperatures) == 1


@pytest.mark.parametrize("folder", ["", "C:\\\\home\\\\", "/home/"])
def test_a_file_is_called_what_was_chosen(tiny: Twins, folder: str) -> None:
    sent = (io.BytesIO(b"PK\x03\x04 a workbook"), f"{folder}book.xlsx")
    page = tiny.post(tiny.keeper(), "temperatures", do="file", file=sent).text
    assert "book.xlsx" in page
    assert "temperatures.csv" not in page
    assert "home" not in page


def test_fahrenheit_is_understood(tiny: Twins) -> None:
    client = tiny.keeper()
    tiny.post(client, "temperatures", do="day", on="", lowest="64.4", highest="77", unit="F")
    tiny.command("temps", "--min", "64.4", "--max", "77", "--unit", "F")
    assert tiny.alike()
    assert tiny.log().temperatures[0].min_c == 18.0  # type: ignore[union-attr]


def test_a_constant_one_and_a_heating_failure_beside_it(tiny: Twins) -> None:
    client = tiny.keeper()
    answer = tiny.post(client, "temperatures", do="constant", constant="24", first="", last="")
    assert "24 °C from 2026-03-09 until further notice" in tiny.followed(client, answer)
    tiny.command("temps", "--constant", "24")
    assert tiny.alike()
    told = {"on": "2026-03-12", "lowest": "9", "highest": "21"}
    page = tiny.followed(client, tiny.post(client, "temperatures", do="day", **told))
    tiny.command("temps", "--min", "9", "--max", "21", "--on", "2026-03-12")
    assert tiny.alike()
    assert cells(page)[11] == ("recorded", "Wed 11 Mar: 24.0 to 24.0 °C")
    assert cells(page)[12] == ("recorded", "Thu 12 Mar: 9.0 to 21.0 °C")


@pytest.mark.parametrize("way", ["file", "text"])
def test_a_loggers_file_or_its_text_writes_what_the_command_writes(
    tiny: Twins, way: str, tmp_path: Path
) -> None:
    client = tiny.keeper()
    told: dict[str, Any] = {"dates": "day-first", "unit": "", "zone": "UTC"}
    told[way] = (io.BytesIO(LOGGER.encode()), "../../evil.csv") if way == "file" else LOGGER
    page = tiny.followed(client, tiny.post(client, "temperatures", do="file", **told))
    path = tmp_path / "temperatures.csv"
    path.write_text(LOGGER)
    said = tiny.command("temps", str(path), "--dates", "day-first", "--clock-zone", "UTC")
    assert tiny.alike()
    assert "48 readings recorded from the file" in page
    assert "48 readings recorded" in said
    assert "read as °C, 18 to 23.75 °C" in page
    assert cells(page)[9][0] == "recorded"
    assert not list(tmp_path.rglob("evil*"))


def test_daily_extremes_in_a_text(tiny: Twins, tmp_path: Path) -> None:
    client = tiny.keeper()
    text = "date,min,max\n2026-03-10,65,77\n2026-03-11,66,78\n"
    refused = tiny.post(client, "temperatures", do="file", text=text, unit="")
    assert refused.status_code == 400
    assert "no unit is named" in refused.text
    assert "choose °C or °F" in refused.text
    assert "<details open><summary>If the file does not say" in refused.text
    assert "2026-03-11,66,78" in refused.text
    assert "--unit" not in refused.text
    page = tiny.followed(client, tiny.post(client, "temperatures", do="file", text=text, unit="F"))
    path = tmp_path / "temperatures.csv"
    path.write_text(text)
    tiny.command("temps", str(path), "--unit", "F")
    assert tiny.alike()
    assert "2 days recorded from the file" in page


def test_the_reader_asks_for_the_order_of_dates_and_what_was_sent_is_kept(tiny: Twins) -> None:
    before = tiny.path.read_bytes()
    sent = (io.BytesIO(LOGGER.encode()), "logger.csv")
    answer = tiny.post(tiny.keeper(), "temperatures", do="file", file=sent, zone="Mars/Base")
    assert answer.status_code == 400
    assert "Mars/Base" in answer.text
    sent = (io.BytesIO(LOGGER.encode()), "logger.csv")
    answer = tiny.post(tiny.keeper(), "temperatures", do="file", file=sent)
    assert answer.status_code == 400
    assert "choose day first or month first" in answer.text
    assert "<details open><summary>If the file does not say" in answer.text
    assert "10/03/2026 23:00,23.75" in answer.text
    assert "/tmp" not in answer.text
    assert "--dates" not in answer.text
    assert tiny.path.read_bytes() == before


@pytest.mark.parametrize(
    ("told", "why"),
    [
        ({"do": "day", "lowest": "30", "highest": "20"}, "is above the highest"),
        ({"do": "day", "lowest": "warm", "highest": "20"}, "“warm” is not a number"),
        ({"do": "day", "lowest": "20"}, "go together"),
        ({"do": "day", "lowest": "20", "highest": "75"}, "if it is °F, write 75F"),
        ({"do": "day", "lowest": "1", "highest": "2", "on": "2026-03-30"}, "is in the future"),
        ({"do": "constant"}, "which temperature"),
        ({"do": "constant", "constant": "2", "first": "2026-03-12", "last": "2026-03-10"}, "befor"),
        ({"do": "file"}, "choose a file, or paste its text"),
        ({"do": "file", "text": "hello <b>there</b>"}, "hello &lt;b&gt;there&lt;/b&gt;"),
        ({"do": "file", "text": "Time,Temp\n2026-03-10 09:00,hot\n2026-03-10 10:00,20\n"}, "hot"),
    ],
)
def test_what_cannot_be_is_told_kept_and_not_written(
    tiny: Twins, told: dict[str, str], why: str
) -> None:
    before = tiny.path.read_bytes()
    answer = tiny.post(tiny.room.joined(Role.LOOKER), "temperatures", **told)
    assert answer.status_code == 400
    assert why in answer.text
    assert " --" not in answer.text
    for name in ("lowest", "highest", "constant"):
        if name in told:
            assert f'value="{told[name]}"' in answer.text
    assert tiny.path.read_bytes() == before


def test_a_contradiction_is_refused(tiny: Twins) -> None:
    client = tiny.keeper()
    tiny.post(client, "temperatures", do="day", on="2026-03-16", lowest="8", highest="23")
    before = tiny.path.read_bytes()
    answer = tiny.post(client, "temperatures", do="day", on="2026-03-16", lowest="9", highest="23")
    assert answer.status_code == 400
    assert "strike the record out first if it was wrong" in answer.text
    assert tiny.path.read_bytes() == before


def test_the_calendar_tells_recorded_filled_and_missing_apart(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = tiny_log({"1": "egg egg L1 - - - - - - L2"})
    told = tuple(DayExtremes(date(2026, 3, day), 18.0 + day, 30.0 + day) for day in (9, 11))
    twins = Twins(tmp_path, replace(log, all_temperatures=told), NOW, monkeypatch)
    page = twins.get(twins.keeper(), "temperatures").text
    found = cells(page)
    assert found[9] == ("recorded", "Mon 9 Mar: 27.0 to 39.0 °C")
    assert found[10] == ("filled", "Tue 10 Mar: 28.0 to 40.0 °C, filled from the days beside it")
    assert found[11][0] == "recorded"
    assert {found[day] for day in range(12, 18)} == {
        ("missing", f"{day}: missing")
        for day in (
            "Thu 12 Mar",
            "Fri 13 Mar",
            "Sat 14 Mar",
            "Sun 15 Mar",
            "Mon 16 Mar",
            "Tue 17 Mar",
        )
    }
    assert found[18] == ("later", "Today, Wed 18 Mar: not told of yet")
    assert "<strong>7 days without a temperature.</strong>" in page  # the 10th, 12th to 17th
    assert page.count('<th scope="col">') == 7 + 5
    assert "<i>filled</i>" in page
    assert page.count("<i>none</i>") == 6


def test_choosing_a_day_puts_it_into_the_form(tiny: Twins) -> None:
    client = tiny.keeper()
    page = client.get("/cohort/tiny/temperatures?on=2026-03-12", base_url=BASE).text
    assert 'name="on" type="date" max="2026-03-18" value="2026-03-12"' in page
    usual = client.get("/cohort/tiny/temperatures", base_url=BASE).text
    assert 'max="2026-03-18" value="2026-03-17"' in usual  # yesterday is over, and not told of


def test_striking_and_taking_back_are_the_keepers(tiny: Twins) -> None:
    client, looker = tiny.keeper(), tiny.room.joined(Role.LOOKER)
    tiny.post(client, "temperatures", do="constant", constant="24")
    tiny.command("temps", "--constant", "24")
    before = tiny.path.read_bytes()
    told = {"record": "1", "because": "in the sun"}
    refused = looker.post(
        "/cohort/tiny/temperatures/strike", data=told, headers=SAME_SITE, base_url=BASE
    )
    assert refused.status_code == 403
    assert "strike" not in tiny.get(looker, "temperatures").text
    assert tiny.post(client, "temperatures/strike", do="strike", record="1").status_code == 400
    assert tiny.path.read_bytes() == before
    answer = tiny.post(client, "temperatures/strike", do="strike", **told)
    assert "Struck out: @T1: 24 constant" in tiny.followed(client, answer)
    tiny.command("strike", "@T1", "--because", "in the sun")
    assert tiny.alike()
    assert tiny.post(client, "temperatures/strike", do="strike", **told).status_code == 400
    tiny.post(client, "temperatures/strike", do="back", record="1", because="shade")
    tiny.command("strike", "--take-back", "@T1", "--because", "shade")
    assert tiny.alike()
    assert isinstance(tiny.log().temperatures[0], ConstantTemperature)
