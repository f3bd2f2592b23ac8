"""Cohorts as a Darwin Core archive: checks as occurrences of organisms, with their measurements.

Follows Darwin Core (TDWG, dwc.tdwg.org) and its text guide: `meta.xml` says which column holds
which term. An individual's entry into its cohort is an occurrence too. What Darwin Core has no term
for stands in dynamicProperties, by the columns of the tidy tables; cohorts, temperatures and
species profiles lie beside the archive's own files as they do in a data package.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import msgspec

from rearlog.exchange.eml import eml, located, xml_bytes
from rearlog.exchange.layouts import COHORTS, INDIVIDUALS, OBSERVATIONS, PROFILES, TEMPERATURES
from rearlog.exchange.log_tables import cohort_rows, profile_files, temperature_rows
from rearlog.exchange.publication import Publication, standing
from rearlog.exchange.table_logs import LogLines, ReadProfile, logs_in
from rearlog.exchange.tables import Layout, Line, Row, TableColumn, cell_of, read, value_of, write
from rearlog.records.derived_stages import StagesOf, derived_stages
from rearlog.records.errors import Problem
from rearlog.records.fates import Fate
from rearlog.records.fields import FIELDS, NUMBERS, Kind
from rearlog.records.log import CohortLog, Individual, Observation

META, EML = "meta.xml", "eml.xml"
_DWC, _DC = "http://rs.tdwg.org/dwc/terms/", "http://purl.org/dc/terms/"
_TEXT_GUIDE = "http://rs.tdwg.org/dwc/text/"
_BESIDE = (
    f"Beside the tables that {META} describes: {COHORTS.file} (one row a cohort), "
    f"{TEMPERATURES.file} (daily extremes, constant temperatures and readings, °C), and in the "
    f"folder {PROFILES} what was known of the species. dynamicProperties holds the stage code "
    "(L1, L2 … are the larval instars) or that “no change” was said (same), the fate and its "
    "cause, whether the event itself was witnessed, and with whom it was kept from then on (mate)."
)

_ENTRY = "entry"
_LEFT_OUT = {each.name: each.term for each in FIELDS} | {"place": "locality"}
_ENTRY_PROPERTIES = ("stage", "laid_after", "laid_by", "container", "clutch")
_CHECK_PROPERTIES = tuple(each.name for each in FIELDS if not each.term)

_INSTARS = {"L": "larva", "N": "nymph"}
_SEXES = {"f": "female", "m": "male"}
_VITALITY: dict[str | None, str] = {
    None: "alive",
    Fate.REMOVED: "alive",
    Fate.DEAD: "dead",
    Fate.LOST: "uncertain",
}
_NUMBERS = {each.term: each for each in NUMBERS}
_UNITS = tuple(dict.fromkeys(each.unit for each in NUMBERS))

OCCURRENCES = Layout(
    "occurrence",
    "Occurrences",
    "One row an entry of an individual into its cohort, or a check of it.",
    (
        TableColumn("occurrenceID", "string", "cohort:individual:record", required=True),
        TableColumn("organismID", "string", "cohort:individual", required=True),
        TableColumn("basisOfRecord", "string", "What kind of record."),
        TableColumn("eventDate", "datetime", "When it was seen.", required=True),
        TableColumn("lifeStage", "string", "Life stage in plain words."),
        TableColumn("vitality", "string", "Alive, dead or uncertain."),
        TableColumn("sex", "string", "female or male.", among=tuple(_SEXES.values())),
        TableColumn("occurrenceStatus", "string", "absent where it was looked for and lost."),
        TableColumn("degreeOfEstablishment", "string", "Captive: these are no wild animals."),
        TableColumn("individualCount", "integer", "One; none where it was lost."),
        TableColumn("scientificName", "string", "The species."),
        TableColumn("vernacularName", "string", "Its plain name."),
        TableColumn("locality", "string", "Where they were kept."),
        TableColumn("recordedBy", "string", "Initials of the observer."),
        TableColumn("occurrenceRemarks", "string", "Anything else that was noted."),
        TableColumn("datasetName", "string", "Title of the data set."),
        TableColumn("license", "string", "Where the licence's text is."),
        TableColumn("informationWithheld", "string", "What was left out."),
        TableColumn(
            "dynamicProperties", "string", "JSON: what has no term of its own.", required=True
        ),
    ),
    ("occurrenceID",),
)

MEASUREMENTS = Layout(
    "measurement",
    "Measurements",
    "One row a measurement of an occurrence.",
    (
        TableColumn("occurrenceID", "string", "The occurrence.", required=True),
        TableColumn("measurementType", "string", "What.", required=True, among=tuple(_NUMBERS)),
        TableColumn("measurementValue", "number", "How much.", required=True, least=0),
        TableColumn("measurementUnit", "string", "Its unit.", required=True, among=_UNITS),
    ),
    ("occurrenceID", "measurementType"),
)


def darwin_core(publication: Publication, stages_of: StagesOf = derived_stages) -> dict[str, bytes]:
    """The files of a Darwin Core archive, by their paths.

    `stages_of` tells the stages of looks that said “no change”.
    """
    logs, left_out = publication.logs, publication.left_out
    profiles, names = profile_files(logs)
    occurrences = OCCURRENCES.without(
        {_LEFT_OUT[name] for name in left_out if name in _LEFT_OUT}
        | (set() if publication.licence else {"license"})
        | (set() if publication.withheld else {"informationWithheld"})
    )
    data = {
        OCCURRENCES.file: write(occurrences, _occurrences(publication, stages_of)),
        MEASUREMENTS.file: write(MEASUREMENTS, _measurements(publication)),
        COHORTS.file: write(COHORTS.without(left_out), cohort_rows(logs, names)),
        TEMPERATURES.file: write(TEMPERATURES.without(left_out), temperature_rows(logs)),
        **profiles,
    }
    digest = hashlib.sha256(b"".join(data.values())).hexdigest()
    description = eml(publication, f"rearlog.{digest[:32]}", _BESIDE)
    return {META: _meta(occurrences), EML: description, **data}


def _occurrences(publication: Publication, stages_of: StagesOf) -> Iterator[Row]:
    blank = dict.fromkeys(column.name for column in OCCURRENCES.columns)
    common = {
        "basisOfRecord": "HumanObservation",
        "degreeOfEstablishment": "captive",
        "datasetName": publication.title,
        "license": publication.licence.url if publication.licence else None,
        "informationWithheld": " ".join(publication.withheld),
    }
    for log in publication.logs:
        species = log.cohort.species
        shared = {
            **blank,
            **common,
            "scientificName": species.scientific_name,
            "vernacularName": species.name,
            "locality": log.cohort.place,
        }
        for individual in log.individuals:
            yield {**shared, **_entry(log, individual)}
        derived = stages_of(log)
        for check in standing([log]):
            stage = derived.get(check, check.stage)
            yield {**shared, **_check(log, check), "lifeStage": _life_stage(stage)}


def _entry(log: CohortLog, individual: Individual) -> Row:
    organism = f"{log.cohort.name}:{individual.code}"
    return {
        "occurrenceID": f"{organism}:{_ENTRY}",
        "organismID": organism,
        "eventDate": individual.entered_at,
        "lifeStage": _life_stage(individual.stage),
        "vitality": "alive",
        "occurrenceStatus": "present",
        "individualCount": 1,
        "occurrenceRemarks": individual.note,
        "dynamicProperties": _properties(individual, INDIVIDUALS, _ENTRY_PROPERTIES),
    }


def _check(log: CohortLog, check: Observation) -> Row:
    lost = check.fate == Fate.LOST
    return {
        "occurrenceID": _id(log, check),
        "organismID": f"{log.cohort.name}:{check.individual}",
        "eventDate": check.at,
        "vitality": _VITALITY[check.fate],
        "sex": _SEXES[check.sex] if check.sex else None,
        "occurrenceStatus": "absent" if lost else "present",
        "individualCount": 0 if lost else 1,
        "recordedBy": check.by,
        "occurrenceRemarks": check.note,
        "dynamicProperties": _properties(check, OBSERVATIONS, _CHECK_PROPERTIES),
    }


def _id(log: CohortLog, check: Observation) -> str:
    return f"{log.cohort.name}:{check.individual}:{check.number}"


def _life_stage(code: str | None) -> str | None:
    """A stage in plain words: the instars are larvae or nymphs."""
    return _INSTARS.get(code[0], code) if code else None


def _properties(record: object, layout: Layout, names: tuple[str, ...]) -> str:
    """The attributes of a record that have no term, as the cells of a tidy table in JSON."""
    cells = {name: cell_of(layout.column(name), getattr(record, name)) for name in names}
    return msgspec.json.encode({name: cell for name, cell in cells.items() if cell}).decode()


def _measurements(publication: Publication) -> Iterator[Row]:
    for log in publication.logs:
        for check in standing([log]):
            for each in NUMBERS:
                if (value := getattr(check, each.name)) is not None:
                    yield {
                        "occurrenceID": _id(log, check),
                        "measurementType": each.term,
                        "measurementValue": value,
                        "measurementUnit": each.unit,
                    }


def _meta(occurrences: Layout) -> bytes:
    """The description of the archive: which files there are, and which column is which term."""
    about = {"xmlns": _TEXT_GUIDE, "metadata": EML}
    root = ET.Element("archive", about | located(_TEXT_GUIDE, f"{_TEXT_GUIDE}tdwg_dwc_text.xsd"))
    _described(root, "core", "Occurrence", occurrences)
    _described(root, "extension", "MeasurementOrFact", MEASUREMENTS)
    return xml_bytes(root)


def _described(root: ET.Element, role: str, row_type: str, layout: Layout) -> None:
    table = ET.SubElement(
        root,
        role,
        {
            "rowType": _DWC + row_type,
            "encoding": "UTF-8",
            "fieldsTerminatedBy": ",",
            "linesTerminatedBy": r"\r\n",
            "fieldsEnclosedBy": '"',
            "ignoreHeaderLines": "1",
        },
    )
    ET.SubElement(ET.SubElement(table, "files"), "location").text = layout.file
    ET.SubElement(table, "id" if role == "core" else "coreid", {"index": "0"})
    for index, column in enumerate(layout.columns):
        if index or role == "core":
            namespace = _DC if column.name == "license" else _DWC
            ET.SubElement(table, "field", {"index": str(index), "term": namespace + column.name})


def read_darwin_core(folder: Path, read_profile: ReadProfile, now: datetime) -> list[CohortLog]:
    """The logs in an archive that `darwin_core` made.

    Raises ImportRefused with everything that cannot be taken.
    """
    problems: list[Problem] = []
    measured = _measured(folder, problems)
    lines = LogLines([], [])
    for line in read(folder / OCCURRENCES.file, OCCURRENCES, problems):
        cohort, _, individual = line["organismID"].partition(":")
        record = line["occurrenceID"].rpartition(":")[2]
        try:
            known = {"cohort": cohort, "individual": individual, "note": line["occurrenceRemarks"]}
            if record == _ENTRY:
                values = _read_properties(line, INDIVIDUALS, _ENTRY_PROPERTIES)
                known |= {**values, "entered_at": line["eventDate"]}
                lines.individuals.append(Line(known, line.place))
            else:
                known |= _read_check(line, record, measured.pop(line["occurrenceID"], {}))
                lines.observations.append(Line(known, line.place))
        except ValueError as error:
            problems.append(Problem(str(error), line.place))
    problems += [
        Problem(f"there is no occurrence {each} of a check", MEASUREMENTS.file) for each in measured
    ]
    return logs_in(folder, lines, problems, read_profile, now)


def _measured(folder: Path, problems: list[Problem]) -> dict[str, dict[str, float]]:
    """The measurements by occurrence and by the columns of OBSERVATIONS."""
    found: dict[str, dict[str, float]] = {}
    for line in read(folder / MEASUREMENTS.file, MEASUREMENTS, problems):
        measure = _NUMBERS[line["measurementType"]]
        if line["measurementUnit"] != measure.unit:
            problems.append(Problem(f"the unit is not {measure.unit}", line.place))
        value = line["measurementValue"]
        if measure.kind is Kind.COUNT:
            if not value.is_integer():
                problems.append(
                    Problem(f"{value:g} {measure.unit} is not a whole number", line.place)
                )
            value = int(value)
        found.setdefault(line["occurrenceID"], {})[measure.name] = value
    return found


def _read_check(line: Line, record: str, measured: dict[str, float]) -> dict[str, Any]:
    """What an occurrence tells of a check, by the columns of OBSERVATIONS; raises ValueError."""
    sexes = {word: code for code, word in _SEXES.items()}
    return {
        **dict.fromkeys(each.name for each in NUMBERS),
        **measured,
        **_read_properties(line, OBSERVATIONS, _CHECK_PROPERTIES),
        "number": value_of(OBSERVATIONS.column("number"), record),
        "at": line["eventDate"],
        "sex": sexes.get(line["sex"]),
        "by": line["recordedBy"],
    }


def _read_properties(line: Line, layout: Layout, names: tuple[str, ...]) -> dict[str, Any]:
    """The values in dynamicProperties; raises ValueError where they are not what was written."""
    try:
        cells = msgspec.json.decode(line["dynamicProperties"])
        return {name: value_of(layout.column(name), cells.pop(name, "")) for name in names}
    except (AttributeError, TypeError, msgspec.DecodeError):
        raise ValueError("its dynamicProperties are not those of rearlog") from None
