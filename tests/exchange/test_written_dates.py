from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.exchange.written_dates import DateOrder, is_date, read_dates
from rearlog.records.errors import ImportRefused

MARCH_9 = date(2026, 3, 9)


@pytest.mark.parametrize(
    "text",
    ["2026-03-09", "2026/3/9", "2026.03.09", "Mon 2026-03-09", "2026-03-09 Mon", "9 Mar 2026",
     "09-March-26", "Monday, 9 Mar 2026", " 2026-03-09 "],
)  # fmt: skip
def test_dates_that_can_only_be_read_in_one_way(text: str) -> None:
    assert read_dates([text], None, "file") == {text: MARCH_9}


@pytest.mark.parametrize(
    ("texts", "order", "day"),
    [
        (["09/03/2026", "25/03/2026"], None, MARCH_9),
        (["03/09/2026", "03/25/2026"], None, MARCH_9),
        (["09.03.26"], "day-first", MARCH_9),
        (["3/9/26"], "month-first", MARCH_9),
        (["Mon 09/03/2026", "13/03/2026"], None, MARCH_9),
        (["05/05/2026"], None, date(2026, 5, 5)),
    ],
)
def test_the_column_tells_the_order_or_the_user(
    texts: list[str], order: DateOrder | None, day: date
) -> None:
    assert read_dates(texts, order, "file")[texts[0]] == day


def test_an_order_that_nothing_tells_is_asked_for() -> None:
    with pytest.raises(ImportRefused, match=r"2026-03-09 or 2026-09-03.*--dates day-first"):
        read_dates(["09/03/2026", "10/03/2026"], None, "week.csv")


def test_dates_that_contradict_each_other_are_refused() -> None:
    with pytest.raises(ImportRefused, match="25/03/2026 can only have the day first, 03/26/2026"):
        read_dates(["25/03/2026", "03/26/2026"], None, "file")


@pytest.mark.parametrize(
    "text", ["", "soon", "31/02/2026", "2026-02-30", "9 Foo 2026", "1/1/1", "45/45/2026", "21.5",
             "2026-03/09", "20260309", "0001-01-01", "9999-12-31"]
)  # fmt: skip
def test_what_is_no_date_is_left_out(text: str) -> None:
    assert read_dates([text, "2026-03-09"], None, "file") == {"2026-03-09": MARCH_9}
    assert not is_date(text)


def test_a_date_that_does_not_fit_the_order_is_left_out() -> None:
    assert read_dates(["25/03/2026"], "month-first", "file") == {}


@given(
    st.dates(date(2001, 1, 1), date(2098, 1, 1)),
    st.integers(1, 60),
    st.sampled_from(["%d/%m/%Y", "%m/%d/%Y", "%d.%m.%y", "%Y-%m-%d", "%d-%b-%Y"]),
)
def test_days_in_a_row_are_read_as_written_or_refused(first: date, count: int, form: str) -> None:
    days = [first + timedelta(days=step) for step in range(count)]
    texts = [day.strftime(form) for day in days]
    try:
        assert read_dates(texts, None, "file") == dict(zip(texts, days, strict=True))
    except ImportRefused:
        assert all(day.day <= 12 for day in days)
