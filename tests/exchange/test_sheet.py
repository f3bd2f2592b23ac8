from datetime import date, timedelta

import pytest
from msgspec.structs import replace

from rearlog.exchange.sheet import SheetRow, check_sheet, first_day
from rearlog.records.errors import UsageError
from rearlog.species.of_stages import profile_of_stages
from tests.builders import moment, seen, tiny_log

LIVES = {"1": "egg L1 L1", "2": "egg L1 dead", "3": "egg - - - L1", "4": "egg egg lost"}


def test_the_living_with_the_stage_they_were_last_seen_in() -> None:
    sheet = check_sheet(tiny_log(LIVES), date(2026, 3, 12), moment(2.4), 3)
    assert sheet.rows == (
        SheetRow("1", "L1", ("", "", "")),
        SheetRow("3", "egg", ("", "L1", "")),
    )
    assert sheet.days == (date(2026, 3, 12), date(2026, 3, 13), date(2026, 3, 14))
    assert (sheet.cohort, sheet.species) == ("tiny", "test moth")


def test_what_was_seen_today_stands_in_its_column_and_is_the_last_stage() -> None:
    lives = {"1": "egg L1 L2", "2": "egg L1", "3": "egg egg dead", "4": "egg egg egg"}
    sheet = check_sheet(tiny_log(lives), date(2026, 3, 11), moment(2.1), 2)
    assert sheet.rows == (
        SheetRow("1", "L2", ("L2", "")),
        SheetRow("2", "L1", ("", "")),
        SheetRow("4", "egg", ("egg", "")),
    )
    before = check_sheet(tiny_log(lives), date(2026, 3, 11), moment(1.9), 2)
    assert [row.last_stage for row in before.rows] == ["L1", "L1", "egg", "egg"]


def test_the_first_day_is_that_of_which_looks_are_still_to_come() -> None:
    log = tiny_log({"1": "egg L1 L2", "2": "egg L1 L1", "3": "egg dead"})
    assert first_day(log, moment(2.1)) == date(2026, 3, 12)
    assert first_day(log, moment(3.1)) == date(2026, 3, 12)
    some = tiny_log({"1": "egg L1 L2", "2": "egg L1"})
    assert first_day(some, moment(2.1)) == date(2026, 3, 11)
    assert first_day(tiny_log({"1": "egg dead"}), moment(1.1)) == date(2026, 3, 10)


def test_a_sheet_for_days_that_are_over_has_those_that_lived_then() -> None:
    sheet = check_sheet(tiny_log(LIVES), date(2026, 3, 9), moment(30), 3)
    assert [row.last_stage for row in sheet.rows] == ["egg"] * 4
    assert sheet.rows[1].seen == ("", "L1", "dead")


def test_the_example_is_of_the_species_and_of_as_many_days() -> None:
    example = check_sheet(tiny_log(LIVES), date(2026, 3, 12), moment(3), 7).example
    assert example == SheetRow("example", "L2", ("L3", ".", "", ".", "dead"))
    assert check_sheet(tiny_log(LIVES), date(2026, 3, 12), moment(3), 1).example.seen == ("L3",)


def test_a_species_of_two_stages_has_an_example_too() -> None:
    log = tiny_log({"1": "egg"}, profile=profile_of_stages("egg,adult"))
    assert check_sheet(log, date(2026, 3, 9), moment(0), 2).example.seen == ("adult", ".")
    assert check_sheet(log, date(2026, 3, 9), moment(0), 2).example.last_stage == "egg"


def test_only_looks_of_the_days_of_the_sheet_stand_in_it() -> None:
    midnight = 1 - 9 / 24  # of the 10th
    looks = [
        seen("1", midnight - 0.1, "egg"), seen("1", midnight, "L1"),
        replace(seen("1", 1.2, "L1"), stage=None, witnessed=True), seen("1", midnight + 2, "L2"),
    ]  # fmt: skip
    log = tiny_log({"1": "egg", "2": "egg"}).with_checks(looks)
    [row, _] = check_sheet(log, date(2026, 3, 10), moment(1.5), 2).rows
    assert row.seen == (".", "")
    assert row.last_stage == "L1"
    assert len(check_sheet(log, date(2026, 3, 10), moment(1.5), 14).days) == 14
    assert len(check_sheet(log, date(2026, 3, 10), moment(1.5)).days) == 7


def test_who_comes_in_on_a_day_of_the_sheet_has_a_row() -> None:
    log = tiny_log({"1": "egg", "2": "egg", "3": "egg"})
    midnight = moment(1 - 9 / 24)
    entered = [moment(0), midnight + timedelta(hours=47), midnight + timedelta(hours=48)]
    individuals = [
        replace(each, entered_at=at) for each, at in zip(log.individuals, entered, strict=True)
    ]
    log = replace(log, individuals=tuple(individuals))
    rows = check_sheet(log, date(2026, 3, 10), moment(0.1), 2).rows
    assert [row.individual for row in rows] == ["1", "2"]
    over = check_sheet(log, date(2026, 3, 10), midnight + timedelta(hours=48), 2).rows
    assert [row.individual for row in over] == ["1", "2"]


@pytest.mark.parametrize(
    ("lives", "first", "days", "message"),
    [
        ({"1": "egg dead"}, 12, 7, "nobody in tiny lives on 2026-03-12"),
        ({"1": "egg"}, 1, 7, "nobody in tiny lives on 2026-03-01"),
        (LIVES, 9, 0, "1 to 14 days"),
        (LIVES, 9, 15, "1 to 14 days"),
    ],
)
def test_sheets_that_cannot_be(lives: dict[str, str], first: int, days: int, message: str) -> None:
    with pytest.raises(UsageError, match=message):
        check_sheet(tiny_log(lives), date(2026, 3, first), moment(30), days)
