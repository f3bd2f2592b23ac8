"""Tidy tables as logs again, with every line that cannot be taken told at its place."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from itertools import groupby, pairwise
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from rearlog.exchange.bounded import content
from rearlog.exchange.layouts import COHORTS, CONSTANT, DAY, PROFILES, TEMPERATURES
from rearlog.exchange.tables import Line, read
from rearlog.records.errors import ImportRefused, Problem, ProfileError, UsageError
from rearlog.records.factors import read_factors, read_origins, split
from rearlog.records.identity import named_id
from rearlog.records.incoming import Incoming, Placed, new_checks
from rearlog.records.labels import own_label, refuse_twice
from rearlog.records.log import (
    Cohort,
    CohortLog,
    ConstantTemperature,
    DayExtremes,
    Individual,
    Observation,
    Readings,
    Temperature,
)
from rearlog.records.profile import Profile
from rearlog.records.rules import problems_of_individual
from rearlog.records.times import check_zone

LARGEST_PROFILE = 2**20
"""In bytes."""

ReadProfile = Callable[[object, str], Profile]
"""Reads and checks a profile's document; the second argument names its file."""


class LogLines(Struct, frozen=True):
    """The lines that tell of individuals and of their checks, as `layouts` says."""

    individuals: list[Line]
    observations: list[Line]


def logs_in(
    folder: Path,
    lines: LogLines,
    problems: list[Problem],
    read_profile: ReadProfile,
    now: datetime,
) -> list[CohortLog]:
    """The logs of the cohorts, profiles and temperatures in a folder, and of the lines given.

    They count as created `now`. Raises ImportRefused with the `problems` that were found before
    and all that are found here: first the cells, then entries and temperatures, then checks.
    """
    headers = _cohorts(folder, problems, read_profile, now)
    temperatures = _by_cohort(read(folder / TEMPERATURES.file, TEMPERATURES, problems))
    _refuse(problems)  # a line that is missing would only bring more messages about others
    individuals, observations = _by_cohort(lines.individuals), _by_cohort(lines.observations)
    problems += [
        Problem(f"there is no cohort {name}", found[0].place, f"see {COHORTS.file}")
        for group in (individuals, observations, temperatures)
        for name, found in group.items()
        if name not in headers
    ]
    begun = {
        name: CohortLog(
            header,
            _individuals(header, individuals.get(name, ()), problems),
            all_temperatures=_temperatures(temperatures.get(name, ()), problems),
        )
        for name, header in headers.items()
    }
    if not begun:
        problems.append(Problem("there is no cohort in it", COHORTS.file))
    _refuse(problems)
    logs = [
        _with_checks(log, observations.get(name, ()), problems, now) for name, log in begun.items()
    ]
    _refuse(problems)
    return logs


def _refuse(problems: list[Problem]) -> None:
    if problems:
        raise ImportRefused(problems)


def _by_cohort(lines: Iterable[Line]) -> dict[str, list[Line]]:
    found: dict[str, list[Line]] = {}
    for line in lines:
        found.setdefault(line["cohort"], []).append(line)
    return found


def _cohorts(
    folder: Path, problems: list[Problem], read_profile: ReadProfile, now: datetime
) -> dict[str, Cohort]:
    """The cohorts by what they are called, less those that cannot be taken."""
    profiles: dict[str, Profile | None] = {}
    found = {}
    for line in read(folder / COHORTS.file, COHORTS, problems):
        name = line["profile"]
        if name not in profiles:
            profiles[name] = _profile(folder / PROFILES / f"{name}.json", read_profile, problems)
        cohort = _cohort(line, profiles[name], problems, now)
        if cohort is not None:
            found[line["cohort"]] = cohort
    try:
        refuse_twice([*found.values()])
    except UsageError as error:
        problems += [Problem(each.message, COHORTS.file) for each in error.problems]
    return found


def _cohort(
    line: Line, species: Profile | None, problems: list[Problem], now: datetime
) -> Cohort | None:
    try:
        check_zone(line["zone"])
        apart = {
            "factors": read_factors(split(line["factors"])),
            "origins": read_origins(split(line["origins"])),
        }
    except UsageError as error:
        problems += [Problem(each.message, line.place, each.remedy) for each in error.problems]
        return None
    if species is None:
        return None
    label = line["label"] or own_label(line["cohort"])
    known = {**_values(line, Cohort), **apart, "name": label, "species": species}
    if known["id"] is None:  # of a package that an older version wrote: the same each time
        known["id"] = named_id(line["cohort"], line["zone"], line["started"].isoformat())
    if (known["latitude"] is None) != (known["longitude"] is None):
        problems.append(Problem("latitude and longitude go together", line.place))
        return None
    return Cohort(**known, created=now)


def _profile(path: Path, read_profile: ReadProfile, problems: list[Problem]) -> Profile | None:
    place = f"{PROFILES}/{path.name}"
    try:
        return read_profile(msgspec.json.decode(content(path, LARGEST_PROFILE)), place)
    except ImportRefused as refusal:
        problems += [Problem(each.message, place, each.remedy) for each in refusal.problems]
    except msgspec.DecodeError as error:
        problems.append(Problem(f"it is not JSON: {error}", place))
    except ProfileError as error:
        problems += error.problems
    return None


def _individuals(
    header: Cohort, lines: Iterable[Line], problems: list[Problem]
) -> tuple[Individual, ...]:
    found = []
    for line in lines:
        each = Individual(**_values(line, Individual), code=line["individual"])
        broken = problems_of_individual(header, each)
        problems += [Problem(one.message, line.place, one.remedy) for one in broken]
        if not broken:
            found.append(each)
    return tuple(found)


def _with_checks(
    log: CohortLog, lines: Iterable[Line], problems: list[Problem], now: datetime
) -> CohortLog:
    placed = []
    for line in lines:
        if line["individual"] in log.by_code:
            placed.append(Placed(as_said(_values(line, Observation)), line.place))
        else:
            problems.append(Problem(f"there is no individual {line['individual']}", line.place))
    new = new_checks(log, Incoming(tuple(placed)), now)
    problems += new.problems
    return log.with_checks(new.checks)


def as_said(values: Mapping[str, Any]) -> Observation:
    """The observation that a line tells of: where it says “no change”, its stage was derived."""
    check = Observation(**values)
    return replace(check, stage=None) if check.same else check


def _values(line: Line, record: type[Struct]) -> dict[str, Any]:
    """The values of a line that bear the names of a record's fields."""
    names = record.__struct_fields__
    return {name: value for name, value in line.values.items() if name in names}


def _temperatures(lines: Iterable[Line], problems: list[Problem]) -> tuple[Temperature, ...]:
    found: list[Temperature] = []
    for number, group in groupby(lines, key=lambda line: line["number"]):
        try:
            found.append(_temperature(number, list(group)))
        except _Incomplete as mistake:
            problems.append(mistake.problem)
    return tuple(found)


class _Incomplete(Exception):
    def __init__(self, message: str, line: Line) -> None:
        self.problem = Problem(message, line.place)


def _temperature(number: int, lines: list[Line]) -> Temperature:
    """The record of one number; raises _Incomplete."""
    first = lines[0]
    kind, about = first["kind"], {"source": first["source"], "number": number}
    if kind == DAY:
        day, low, high = _needed(lines, "date", "min_c", "max_c")
        return DayExtremes(day, low, high, **about)
    if kind == CONSTANT:
        day, celsius = _needed(lines, "date", "celsius")
        return ConstantTemperature(celsius, day, first["until"], **about)
    readings = [_needed([line], "at", "celsius") for line in lines]
    for line, (earlier, later) in zip(lines[1:], pairwise(readings), strict=True):
        if line["kind"] != kind or later[0] < earlier[0]:
            raise _Incomplete("a run of readings goes on in time order", line)
    begin = readings[0][0]
    return Readings(
        begin,
        tuple(round((moment - begin).total_seconds()) for moment, _ in readings),
        tuple(celsius for _, celsius in readings),
        **about,
    )


def _needed(lines: list[Line], *names: str) -> list[Any]:
    """These values of the one line that a record has."""
    first, *more = lines
    missing = [name for name in names if first[name] is None]
    if missing:
        raise _Incomplete(f"a {first['kind']} needs {', '.join(missing)}", first)
    if more:
        raise _Incomplete(f"record {first['number']} is there already", more[0])
    return [first[name] for name in names]
