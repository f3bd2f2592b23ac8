from datetime import UTC, date, datetime

import pytest

from rearlog.records.log import ConstantTemperature, DayExtremes, Readings, Temperature
from rearlog.records.temperature_overlap import new_temperatures, values_in

NOON = datetime(2026, 3, 9, 12, tzinfo=UTC)


def march(day: int) -> date:
    return date(2026, 3, day)


def run(*readings: tuple[int, float], number: int | None = None) -> Readings:
    seconds, celsius = zip(*readings, strict=True)
    return Readings(NOON, seconds, celsius, "shelf.csv", number=number)


def test_days_that_are_there_are_left_out() -> None:
    known: list[Temperature] = [
        DayExtremes(march(9), 18, 24, number=1),
        ConstantTemperature(20, march(1)),
    ]
    again, fresh = DayExtremes(march(9), 18, 24, source="x"), DayExtremes(march(10), 18, 24)
    assert new_temperatures(known, [again, fresh]) == ([fresh], [])


def test_days_that_contradict_are_all_listed() -> None:
    known = [DayExtremes(march(day), 18, 24, number=day) for day in (9, 10, 11)]
    new = [
        DayExtremes(march(9), 18, 25),
        DayExtremes(march(10), 17, 24),
        DayExtremes(march(11), 18, 24),
    ]
    added, problems = new_temperatures(known, new)
    assert added == []
    assert [str(each).partition(" (")[0] for each in problems] == [
        "2026-03-09: 18 to 25 °C, but @T9 says 18 to 24",
        "2026-03-10: 17 to 24 °C, but @T10 says 18 to 24",
    ]


@pytest.mark.parametrize(
    ("known", "new", "taken"),
    [
        ((20, 1, 5), (20, 2, 4), None),
        ((20, 1, None), (20, 2, 40), None),
        ((20, 1, None), (20, 2, None), None),
        ((20, 1, 5), (20, 4, 8), True),
        ((20, 1, 5), (20, 1, None), True),
        ((20, 1, 5), (24, 6, 8), True),
        ((20, 6, 8), (24, 1, 5), True),
        ((20, 1, None), (24, 6, None), True),  # the shelf was moved
        ((20, 1, 5), (24, 5, 8), False),
        ((20, 4, None), (24, 1, 5), False),
        ((20, 4, None), (24, 4, None), False),
    ],
)
def test_constant_temperatures(
    known: tuple[float, int, int | None], new: tuple[float, int, int | None], taken: bool | None
) -> None:
    there, arriving = (
        ConstantTemperature(
            celsius,
            march(first),
            None if last is None else date.fromordinal(march(1).toordinal() + last - 1),
        )
        for celsius, first, last in (known, new)
    )
    added, problems = new_temperatures([there], [arriving])
    assert added == ([arriving] if taken else [])
    assert len(problems) == (taken is False)
    assert all("says 20 °C from 2026-03-0" in each.message for each in problems)


def test_readings_at_known_moments_are_left_out() -> None:
    known = [run((0, 20.0), (600, 20.5)), run((1800, 21.0))]
    whole = run((0, 20.0), (600, 20.5), (1200, 20.7), (1800, 21.0), (2400, 21.5))
    [fresh], problems = new_temperatures(known, [whole])
    assert problems == []
    assert isinstance(fresh, Readings)
    assert fresh.at == datetime(2026, 3, 9, 12, 20, tzinfo=UTC)
    assert (fresh.seconds, fresh.celsius) == ((0, 1200), (20.7, 21.5))
    assert fresh.source == "shelf.csv"
    assert values_in([whole]) - values_in([fresh]) == 3
    assert new_temperatures(known, [run((600, 20.5), (1800, 21.0))]) == ([], [])


def test_readings_that_contradict_are_counted_for_each_record() -> None:
    known = [run((0, 20.0), (600, 20.5), number=3), run((1200, 21.0), number=4)]
    _, problems = new_temperatures(known, [run((0, 20.12345), (600, 20.6), (1200, 20.7))])
    assert [problem.message for problem in problems] == [
        "2 readings differ from @T3: at 2026-03-09 12:00 20.12 °C, but there 20 …",
        "1 reading differs from @T4: at 2026-03-09 12:20 20.7 °C, but there 21",
    ]


def test_what_is_told_at_once_is_compared_with_itself_too() -> None:
    kept = ConstantTemperature(20, march(1))
    same: list[Temperature] = [run((0, 20.0)), run((0, 20.0), (600, 21.0)), kept] * 2
    added, problems = new_temperatures([], same)
    assert (values_in(added), problems) == (3, [])
    _, problems = new_temperatures([], [run((0, 20.0)), run((0, 21.0))])
    assert [each.message.partition(":")[0] for each in problems] == [
        "1 reading differs from another line"
    ]
