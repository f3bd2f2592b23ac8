from datetime import date

import pytest

from rearlog.exchange.sheet import SheetRow, check_sheet
from rearlog.records.errors import UsageError
from tests.builders import tiny_log

LIVES = {"1": "egg L1 L1", "2": "egg L1 dead", "3": "egg - - - L1", "4": "egg egg lost"}


def test_the_living_with_the_stage_they_were_last_seen_in() -> None:
    sheet = check_sheet(tiny_log(LIVES), date(2026, 3, 12), 3)
    assert sheet.rows == (SheetRow("1", "L1"), SheetRow("3", "egg"))
    assert sheet.days == (date(2026, 3, 12), date(2026, 3, 13), date(2026, 3, 14))
    assert (sheet.cohort, sheet.species) == ("tiny", "test moth")


def test_a_sheet_from_the_first_day_has_everyone() -> None:
    sheet = check_sheet(tiny_log(LIVES), date(2026, 3, 9))
    assert [row.last_stage for row in sheet.rows] == ["egg"] * 4


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
        check_sheet(tiny_log(lives), date(2026, 3, first), days)
