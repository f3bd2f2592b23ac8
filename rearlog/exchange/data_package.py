"""Cohorts as a data package: tidy CSV tables with a description that programs can read.

Follows the Data Package standard, version 2 (datapackage.org): a descriptor `datapackage.json` with
the licence, and for each table a Table Schema with types, units, constraints and keys.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import msgspec

from rearlog.exchange.layouts import DURATIONS, INDIVIDUALS, OBSERVATIONS
from rearlog.exchange.log_tables import TIDY, profile_files, row_of, tidy_rows
from rearlog.exchange.packed import Content, digest_of
from rearlog.exchange.publication import Publication
from rearlog.exchange.table_logs import LogLines, ReadProfile, logs_in
from rearlog.exchange.tables import Layout, Row, TableColumn, packed_tables, read
from rearlog.records.derived_stages import StagesOf, derived_stages
from rearlog.records.errors import Problem
from rearlog.records.log import CohortLog
from rearlog.settings.file import Publisher

DESCRIPTOR = "datapackage.json"
_SCHEMAS = "https://datapackage.org/profiles/2.0"

Descriptor = dict[str, Any]
DurationsOf = Callable[[CohortLog], Iterable[object]]
"""Works out the durations of a log."""


def data_package(
    publication: Publication,
    durations_of: DurationsOf = lambda _: (),
    stages_of: StagesOf = derived_stages,
) -> dict[str, Content]:
    """The files of a data package, by their paths; one log after the other is gone through.

    `durations_of` gives of each what `rearlog durations` tells of individuals: objects with the
    attributes individual, stage, outcome, days, low, high, degree_days; `stages_of` the stages of
    looks that said “no change”.
    """
    profiles, names = profile_files(publication.cohorts)
    layouts = [each.without(publication.left_out) for each in (*TIDY, DURATIONS)]
    tables = packed_tables(
        layouts,
        (
            {
                **tidy_rows(log, profile, stages_of(log)),
                DURATIONS.name: _duration_rows(log, durations_of),
            }
            for log, profile in zip(publication.logs, names, strict=True)
        ),
    )
    resources = [
        *(_table(each, tables[each.file], publication.warning) for each in layouts),
        *(_profile(path, content) for path, content in profiles.items()),
    ]
    descriptor = msgspec.json.format(
        msgspec.json.encode(_package(publication, resources)), indent=2
    )
    return {DESCRIPTOR: descriptor + b"\n", **tables, **profiles}


def _duration_rows(log: CohortLog, durations_of: DurationsOf) -> Iterator[Row]:
    for each in durations_of(log):
        yield row_of(each, DURATIONS, cohort=log.cohort.name)


def _package(publication: Publication, resources: list[Descriptor]) -> Descriptor:
    licence = publication.licence
    named = {"name": licence.id, "title": licence.name, "path": licence.url} if licence else None
    return {
        "$schema": f"{_SCHEMAS}/datapackage.json",
        "name": _slug(publication.title),
        "title": publication.title,
        "description": "\n\n".join(publication.paragraphs),
        "id": f"urn:uuid:{publication.id}",
        **({"licenses": [named]} if named else {}),
        **_contributors(publication.publisher),
        "resources": resources,
    }


def _contributors(known: Publisher | None) -> Descriptor:
    """Who answers for the data, where anybody is named."""
    if known is None or not (known.name or known.organisation):
        return {}
    who = {
        "title": known.name or known.organisation,
        "email": known.email,
        "organization": known.organisation,
        "path": known.orcid and f"https://orcid.org/{known.orcid}",
    }
    said = {name: value for name, value in who.items() if value}
    return {"contributors": [{**said, "roles": ["creator"]}]}


def _slug(text: str) -> str:
    """The text as a name of lower-case letters, digits and hyphens."""
    return re.sub("[^a-z0-9]+", "-", text.lower()).strip("-")[:80].strip("-") or "cohorts"


def _table(layout: Layout, content: Content, warning: str) -> Descriptor:
    return {
        "name": layout.name,
        "title": layout.title,
        "description": " ".join(filter(None, (warning, layout.description))),
        "type": "table",
        "path": layout.file,
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "dialect": {"delimiter": ",", "lineTerminator": "\r\n", "doubleQuote": True},
        **_measured(content),
        "schema": _schema(layout),
    }


def _profile(path: str, content: bytes) -> Descriptor:
    name = Path(path).stem
    return {
        "name": _slug(f"profile-{name}"),
        "title": f"Species profile {name}",
        "description": "What was known of the species: stages, thresholds, sources of each value.",
        "path": path,
        "format": "json",
        "mediatype": "application/json",
        "encoding": "utf-8",
        **_measured(content),
    }


def _measured(content: Content) -> Descriptor:
    return {"bytes": len(content), "hash": f"sha256:{digest_of([content])}"}


def _schema(layout: Layout) -> Descriptor:
    keys = [
        {
            "fields": list(each.columns),
            "reference": {"resource": each.table, "fields": list(each.columns)},
        }
        for each in layout.references
    ]
    return {
        "$schema": f"{_SCHEMAS}/tableschema.json",
        "fields": [_field(column) for column in layout.columns],
        "missingValues": [""],
        "primaryKey": list(layout.key),
        **({"foreignKeys": keys} if keys else {}),
    }


def _field(column: TableColumn) -> Descriptor:
    constraints: Descriptor = {
        "required": column.required or None,
        "enum": list(column.among) or None,
        "pattern": column.pattern,
        "minimum": column.least,
        "maximum": column.most,
    }
    field: Descriptor = {
        "name": column.name,
        "type": column.kind,
        "description": column.description,
        "unit": column.unit,
        "constraints": {name: value for name, value in constraints.items() if value is not None},
    }
    if column.kind == "boolean":
        field |= {"trueValues": ["yes"], "falseValues": ["no"]}
    return {name: value for name, value in field.items() if value not in (None, {})}


def read_data_package(folder: Path, read_profile: ReadProfile, now: datetime) -> list[CohortLog]:
    """The logs in the tidy tables of a data package, or of an archive, that this program made.

    Raises ImportRefused with everything that cannot be taken.
    """
    problems: list[Problem] = []
    lines = LogLines(
        read(folder / INDIVIDUALS.file, INDIVIDUALS, problems),
        read(folder / OBSERVATIONS.file, OBSERVATIONS, problems),
    )
    return logs_in(folder, lines, problems, read_profile, now)
