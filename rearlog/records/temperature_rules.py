"""The rules that temperature records keep: each by itself, and beside the others."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from rearlog.records.errors import Problem
from rearlog.records.log import ConstantTemperature, DayExtremes, Readings, Temperature
from rearlog.records.rules import COLDEST_C, HOTTEST_C
from rearlog.records.wording import record_name, stamp

_COLDEST_ROOM_C, _HOTTEST_ROOM_C = 0.0, 40.0


def problems_of_temperature(record: Temperature) -> list[Problem]:
    """Every rule that a temperature record breaks by itself."""
    found = []
    celsius, in_order = _content(record)
    for value in sorted({min(celsius), max(celsius)}):
        if not COLDEST_C <= value <= HOTTEST_C:
            remedy = f"{COLDEST_C:g} to {HOTTEST_C:g} °C is possible"
            found.append(Problem(f"{value:g} °C cannot be", temperature_named(record), remedy))
    if not in_order:
        found.append(Problem("its two ends are swapped", temperature_named(record)))
    return found


def doubt_of_temperature(record: Temperature) -> Problem | None:
    """What is possible, but hardly where insects are reared: to be warned of."""
    celsius, _ = _content(record)
    for value in (min(celsius), max(celsius)):
        if not _COLDEST_ROOM_C <= value <= _HOTTEST_ROOM_C:
            remedy = "if it is wrong, or in °F, strike the record out"
            return Problem(f"{value:.4g} °C is unusual", temperature_named(record), remedy)
    return None


def before_all(record: Temperature, began: date) -> Problem | None:
    """That what was typed is of days before the first that counts: to be warned of."""
    if isinstance(record, Readings):  # of a file, which is looked at where it is read
        return None
    last = record.date if isinstance(record, DayExtremes) else record.last
    if last is None or last >= began:
        return None
    message = f"the cohort began later, on {began}, so nothing counts it"
    return Problem(message, temperature_named(record), "if the day is wrong, strike the record out")


def _content(record: Temperature) -> tuple[Sequence[float], bool]:
    """The temperatures of a record, and whether what comes first is no larger than the rest."""
    if isinstance(record, DayExtremes):
        return (record.min_c, record.max_c), record.min_c <= record.max_c
    if isinstance(record, ConstantTemperature):
        return (record.celsius,), record.last is None or record.first <= record.last
    return record.celsius, True


def contradictions(records: Iterable[Temperature]) -> list[Problem]:
    """Where records that stand say different temperatures of the same time."""
    standing = [each for each in records if each.struck is None]
    return [
        *_of_days([each for each in standing if isinstance(each, DayExtremes)]),
        *_of_constants([each for each in standing if isinstance(each, ConstantTemperature)]),
        *_of_readings([each for each in standing if isinstance(each, Readings)]),
    ]


def _of_days(records: Iterable[DayExtremes]) -> Iterator[Problem]:
    known: dict[date, DayExtremes] = {}
    for each in records:
        other = known.setdefault(each.date, each)
        if (other.min_c, other.max_c) != (each.min_c, each.max_c):
            said = f"{each.min_c:.4g} to {each.max_c:.4g} °C"
            yield _contradiction(each, said, other, f"{other.min_c:.4g} to {other.max_c:.4g} °C")


def _of_constants(records: Iterable[ConstantTemperature]) -> Iterator[Problem]:
    """One that is kept “until now” ends where a later one begins.

    Each record is held against one that contradicts it: the one that lasts longest, or else the
    longest of another temperature than that.
    """
    longest: list[ConstantTemperature] = []
    for later in sorted(records, key=lambda each: each.first):
        for earlier in longest:
            if earlier.celsius != later.celsius and _end(earlier) >= later.first:
                said, told = f"{later.celsius:.4g} °C", f"{earlier.celsius:.4g} °C"
                yield _contradiction(later, said, earlier, told)
                break
        ordered = sorted([*longest, later], key=_end, reverse=True)
        others = [each for each in ordered if each.celsius != ordered[0].celsius]
        longest = [ordered[0], *others[:1]]


def _end(record: ConstantTemperature) -> date:
    """The last day on which a constant temperature can contradict one that begins later."""
    return record.first if record.last is None else record.last


def _of_readings(records: Iterable[Readings]) -> Iterator[Problem]:
    known: dict[float, tuple[float, Readings]] = {}
    for each in records:
        begin = each.at.timestamp()
        for second, celsius in zip(each.seconds, each.celsius, strict=True):
            told, other = known.setdefault(begin + second, (celsius, each))
            if told != celsius:
                yield _contradiction(each, f"{celsius:.4g} °C", other, f"{told:.4g} °C")
                break  # one moment is enough to find the two runs


def _contradiction(record: Temperature, said: str, other: Temperature, told: str) -> Problem:
    return Problem(
        f"it says {said}, but {temperature_named(other)} says {told}",
        temperature_named(record),
        "strike out the one that is wrong",
    )


def temperature_named(record: Temperature) -> str:
    """A temperature record for a message: what it is of, and its number as history shows it."""
    if isinstance(record, DayExtremes):
        told = f"temperature of {record.date}"
    elif isinstance(record, ConstantTemperature):
        told = f"constant temperature from {record.first}"
    else:
        told = f"readings from {stamp(record.at)}"
    return f"{told} ({record_name(record.number, 'T')})" if record.number else told
