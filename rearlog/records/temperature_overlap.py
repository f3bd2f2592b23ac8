"""New temperatures beside those in the log: the same again is left out, a contradiction refused."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from msgspec.structs import replace

from rearlog.records.errors import Problem
from rearlog.records.log import ConstantTemperature, DayExtremes, Readings, Temperature
from rearlog.records.wording import record_name, stamp

_REMEDY = "strike the record out first if it was wrong"


def new_temperatures(
    existing: Iterable[Temperature], told: Iterable[Temperature]
) -> tuple[list[Temperature], list[Problem]]:
    """What of some temperatures a log has not yet; where they contradict it, or each other.

    A run of readings of which the log has a part is cut to the rest.
    """
    known, told = list(existing), list(told)
    days = [each for each in told if isinstance(each, DayExtremes)]
    added, problems = _new_days(known, days)
    for each in told:
        if isinstance(each, ConstantTemperature):
            new, contrary = _new_constant([*known, *added], each)
        elif isinstance(each, Readings):
            new, contrary = _new_readings([*known, *added], each)
        else:
            continue
        added += new
        problems += contrary
    return added, problems


def values_in(records: Iterable[Temperature]) -> int:
    """How many days, readings and constant temperatures there are in some records."""
    return sum(len(each.seconds) if isinstance(each, Readings) else 1 for each in records)


def _new_days(
    existing: Iterable[Temperature], new: Iterable[DayExtremes]
) -> tuple[list[Temperature], list[Problem]]:
    """The days that the log does not have yet; those with another minimum or maximum there."""
    known = {each.date: each for each in existing if isinstance(each, DayExtremes)}
    added: list[Temperature] = []
    problems: list[Problem] = []
    for each in new:
        record = known.setdefault(each.date, each)
        if record is each:
            added.append(each)
        elif (record.min_c, record.max_c) != (each.min_c, each.max_c):
            problems.append(
                Problem(
                    f"{each.min_c:.4g} to {each.max_c:.4g} °C, but {_record(record)} "
                    f"says {record.min_c:.4g} to {record.max_c:.4g}",
                    str(each.date),
                    _REMEDY,
                )
            )
    return added, problems


def _new_constant(
    existing: Iterable[Temperature], new: ConstantTemperature
) -> tuple[list[Temperature], list[Problem]]:
    """The constant temperature, unless the log says the same of all its days already.

    One that is kept “until now” ends where another begins later. A problem is each other constant
    temperature that the log has on one of the days.
    """
    problems = []
    for each in existing:
        if not isinstance(each, ConstantTemperature):
            continue
        ends_before = each.last is not None and each.last < new.first
        begins_after = new.last is not None and new.last < each.first
        if ends_before or begins_after:
            continue
        if each.celsius == new.celsius:
            within = each.last is None or (new.last is not None and new.last <= each.last)
            if each.first <= new.first and within:
                return [], []
        elif each.last is not None or each.first >= new.first:
            until = each.last or "now"
            message = f"{_record(each)} says {each.celsius:.4g} °C from {each.first} until {until}"
            problems.append(Problem(message, f"{new.celsius:.4g} °C from {new.first}", _REMEDY))
    return [] if problems else [new], problems


def _new_readings(
    existing: Iterable[Temperature], new: Readings
) -> tuple[list[Temperature], list[Problem]]:
    """The readings at moments of which the log has none yet, as one run, if there are any.

    A problem is each record of the log that has another temperature at some of the moments.
    """
    known: dict[int, tuple[float, Readings]] = {}
    for run in existing:
        if isinstance(run, Readings):
            begin = int(run.at.timestamp())
            for second, celsius in zip(run.seconds, run.celsius, strict=True):
                known[begin + second] = celsius, run
    begin = int(new.at.timestamp())
    kept: list[tuple[int, float]] = []
    other: dict[str, tuple[int, str]] = {}
    for second, celsius in zip(new.seconds, new.celsius, strict=True):
        there = known.get(begin + second)
        if there is None:
            kept.append((second, celsius))
        elif there[0] != celsius:
            record = _record(there[1])
            if record not in other:
                moment = stamp(new.at + timedelta(seconds=second))
                other[record] = 0, f"at {moment} {celsius:.4g} °C, but there {there[0]:.4g}"
            other[record] = other[record][0] + 1, other[record][1]
    problems = [_otherwise(record, *told) for record, told in other.items()]
    if len(kept) < len(new.seconds):
        return [_run(new, kept)] if kept else [], problems
    return [new], problems


def _otherwise(record: str, number: int, first: str) -> Problem:
    """One problem for all the moments at which a record says something else."""
    count = "1 reading differs" if number == 1 else f"{number} readings differ"
    return Problem(f"{count} from {record}: {first}{' …' if number > 1 else ''}", remedy=_REMEDY)


def _run(whole: Readings, kept: list[tuple[int, float]]) -> Readings:
    first = kept[0][0]
    seconds = tuple(second - first for second, _ in kept)
    celsius = tuple(celsius for _, celsius in kept)
    return replace(whole, at=whole.at + timedelta(seconds=first), seconds=seconds, celsius=celsius)


def _record(record: Temperature) -> str:
    return record_name(record.number, "T") if record.number else "another line"
