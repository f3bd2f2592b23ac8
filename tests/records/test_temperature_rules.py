"""Tiny temperature logs: right records beside wrong ones."""

from datetime import date, timedelta

import pytest
from msgspec.structs import replace

from rearlog.records.log import (
    ConstantTemperature,
    DayExtremes,
    Mark,
    Readings,
    Temperature,
)
from rearlog.records.temperature_rules import contradictions, problems_of_temperature
from tests.builders import START

DAY = date(2026, 3, 9)


def day(number: int) -> date:
    return DAY + timedelta(days=number)


@pytest.mark.parametrize(
    ("record", "messages"),
    [
        (DayExtremes(DAY, 18.0, 24.0), []),
        (DayExtremes(DAY, -30.0, 60.0), []),
        (DayExtremes(DAY, 20.0, 20.0), []),
        (DayExtremes(DAY, 24.0, 18.0), ["its two ends are swapped"]),
        (DayExtremes(DAY, -30.1, 60.1), ["-30.1 °C cannot be", "60.1 °C cannot be"]),
        (ConstantTemperature(21.0, DAY), []),
        (ConstantTemperature(21.0, DAY, DAY), []),
        (ConstantTemperature(75.0, DAY), ["75 °C cannot be"]),
        (ConstantTemperature(21.0, DAY, day(-1)), ["its two ends are swapped"]),
        (Readings(START, (0, 600), (20.0, 21.0)), []),
        (Readings(START, (0, 600), (20.0, 99.0)), ["99 °C cannot be"]),
    ],
)
def test_a_record_by_itself(record: Temperature, messages: list[str]) -> None:
    assert [each.message for each in problems_of_temperature(record)] == messages


@pytest.mark.parametrize(
    ("one", "other", "contrary"),
    [
        (DayExtremes(DAY, 18.0, 24.0), DayExtremes(DAY, 18.0, 24.0), False),
        (DayExtremes(DAY, 18.0, 24.0), DayExtremes(day(1), 10.0, 12.0), False),
        (DayExtremes(DAY, 18.0, 24.0), DayExtremes(DAY, 18.0, 24.5), True),
        # a constant that is kept until now ends where a later one begins
        (ConstantTemperature(20.0, DAY), ConstantTemperature(25.0, day(3)), False),
        (ConstantTemperature(20.0, DAY), ConstantTemperature(25.0, DAY), True),
        (ConstantTemperature(20.0, DAY, day(3)), ConstantTemperature(25.0, day(4)), False),
        (ConstantTemperature(20.0, DAY, day(3)), ConstantTemperature(25.0, day(3)), True),
        (ConstantTemperature(20.0, DAY, day(3)), ConstantTemperature(20.0, day(3)), False),
        (
            Readings(START, (0, 600), (20.0, 21.0)),
            Readings(START + timedelta(seconds=600), (0, 600), (21.0, 22.0)),
            False,
        ),
        (
            Readings(START, (0, 600), (20.0, 21.0)),
            Readings(START + timedelta(seconds=600), (0, 600), (20.5, 22.0)),
            True,
        ),
        # kinds stand beside each other: the finer one is used
        (DayExtremes(DAY, 18.0, 24.0), ConstantTemperature(30.0, DAY), False),
    ],
)
def test_two_records_beside_each_other(
    one: Temperature, other: Temperature, contrary: bool
) -> None:
    assert bool(contradictions([one, other])) is contrary
    assert bool(contradictions([other, one])) is contrary
    struck = replace(other, marks=(Mark(START, "in the sun"),))
    assert contradictions([one, struck]) == []


def test_each_contradiction_names_both_records() -> None:
    first = DayExtremes(DAY, 18.0, 24.0, number=1)
    second = DayExtremes(DAY, 18.0, 25.0, number=2)
    (found,) = contradictions([first, second])
    assert str(found) == (
        "temperature of 2026-03-09 (@T2): it says 18 to 25 °C, but temperature of "
        "2026-03-09 (@T1) says 18 to 24 °C (strike out the one that is wrong)"
    )
