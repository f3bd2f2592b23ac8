"""Logs as the rows of tidy tables. Struck records do not count, so they are left out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import timedelta

import msgspec

from rearlog.exchange.layouts import (
    COHORTS,
    CONSTANT,
    DAY,
    INDIVIDUALS,
    OBSERVATIONS,
    PROFILES,
    READING,
    TEMPERATURES,
)
from rearlog.exchange.tables import Layout, Row
from rearlog.records.factors import factors_text, origins_text
from rearlog.records.labels import own_label
from rearlog.records.log import (
    Cohort,
    CohortLog,
    ConstantTemperature,
    DayExtremes,
    Observation,
    Temperature,
)
from rearlog.records.starting import as_name

TIDY = (COHORTS, INDIVIDUALS, OBSERVATIONS, TEMPERATURES)
"""The tables that hold all of a log that is published."""


def row_of(record: object, layout: Layout, **known: object) -> Row:
    """A record as a row: its attributes by the columns' names, and what is `known` besides."""
    names = (column.name for column in layout.columns)
    return {name: known[name] if name in known else getattr(record, name) for name in names}


def tidy_rows(
    log: CohortLog, profile: str, stages: Mapping[Observation, str]
) -> dict[str, Iterable[Row]]:
    """The rows of a log in each of the TIDY tables, by their names.

    `profile` is the name of its profile file, `stages` are those of looks that said “no change”.
    """
    return {
        COHORTS.name: [cohort_row(log.cohort, profile)],
        INDIVIDUALS.name: individual_rows(log),
        OBSERVATIONS.name: observation_rows(log, stages),
        TEMPERATURES.name: temperature_rows(log),
    }


def cohort_row(cohort: Cohort, profile: str) -> Row:
    """The row of COHORTS; `profile` is the name of its profile file."""
    return row_of(
        cohort,
        COHORTS,
        cohort=cohort.name,
        label=own_label(cohort.name),
        profile=profile,
        scientific_name=cohort.species.scientific_name,
        factors=factors_text(cohort.factors) or None,
        origins=origins_text(cohort.origins) or None,
    )


def individual_rows(log: CohortLog) -> Iterator[Row]:
    """The rows of INDIVIDUALS, in the order in which they were entered."""
    for each in log.individuals:
        yield row_of(each, INDIVIDUALS, cohort=log.cohort.name, individual=each.code)


def observation_rows(log: CohortLog, stages: Mapping[Observation, str]) -> Iterator[Row]:
    """The rows of OBSERVATIONS, in the order of writing; `stages` are those of “no change”."""
    for each in log.observations:
        stage = stages.get(each, each.stage)
        yield row_of(each, OBSERVATIONS, cohort=log.cohort.name, stage=stage)


def temperature_rows(log: CohortLog) -> Iterator[Row]:
    """The rows of TEMPERATURES, in the order of writing; a run of readings takes many."""
    blank = dict.fromkeys(column.name for column in TEMPERATURES.columns)
    for record in log.temperatures:
        known = {"cohort": log.cohort.name, "number": record.number, "source": record.source}
        for reading, values in enumerate(_told(record), start=1):
            yield {**blank, **known, "reading": reading, **values}


def _told(record: Temperature) -> Iterator[Row]:
    if isinstance(record, DayExtremes):
        yield {"kind": DAY, "date": record.date, "min_c": record.min_c, "max_c": record.max_c}
    elif isinstance(record, ConstantTemperature):
        span = {"date": record.first, "until": record.last}
        yield {"kind": CONSTANT, **span, "celsius": record.celsius}
    else:
        for second, celsius in zip(record.seconds, record.celsius, strict=True):
            moment = record.at + timedelta(seconds=second)
            yield {"kind": READING, "at": moment, "celsius": celsius}


def profile_files(cohorts: Iterable[Cohort]) -> tuple[dict[str, bytes], list[str]]:
    """The species profiles as JSON by their paths, and for each cohort the name of its file.

    Cohorts keep their own copies of a profile: those that differ get files of their own.
    """
    files: dict[str, bytes] = {}
    names = []
    for cohort in cohorts:
        profile = cohort.species
        content = msgspec.json.format(msgspec.json.encode(profile.to_dict()), indent=2) + b"\n"
        stem = as_name(profile.id) or "profile"
        name, copies = stem, 1
        while files.setdefault(f"{PROFILES}/{name}.json", content) != content:
            copies += 1
            name = f"{stem}-{copies}"
        names.append(name)
    return files, names
