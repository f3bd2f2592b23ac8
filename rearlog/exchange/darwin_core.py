"""Cohorts as a Darwin Core archive: an archive of events, with occurrences and measurements.

Follows Darwin Core (TDWG, dwc.tdwg.org) and its text guide: `meta.xml` says which column holds
which term. Each cohort is an event, within it each round, each passage into a stage (its date is
the interval in which it lies), each loss, and each record of temperatures. Who was seen in a round
is an occurrence of it. Measurements of both stand in the extended measurement or fact, with
identifiers of kinds of quantities (PATO) and of units (Units of Measurement Ontology).

All identifiers begin with that of the cohort, so that they are the same in each export, and nothing
else has them. The tidy tables of a data package lie beside, from which cohorts are made again.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import datetime, timedelta
from xml.etree import ElementTree as ET

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from rearlog.exchange.eml import eml, located, xml_bytes
from rearlog.exchange.layouts import COHORTS, INDIVIDUALS, OBSERVATIONS, PROFILES, TEMPERATURES
from rearlog.exchange.log_tables import TIDY, profile_files, tidy_rows
from rearlog.exchange.packed import Content, digest_of
from rearlog.exchange.publication import (
    TAKEN_BY_ARCHIVES,
    Publication,
    uncertain_by_metres,
)
from rearlog.exchange.tables import Layout, Row, TableColumn, packed_tables
from rearlog.exchange.taxa import LINEAGE, taxon_of
from rearlog.records.derived_stages import StagesOf, derived_stages
from rearlog.records.errors import UsageError
from rearlog.records.factors import factors_text, origins_text
from rearlog.records.fates import Fate
from rearlog.records.fields import FIELDS, NUMBERS
from rearlog.records.labels import own_label
from rearlog.records.log import (
    Cohort,
    CohortLog,
    ConstantTemperature,
    DayExtremes,
    Individual,
    Observation,
    Temperature,
)

META, EML = "meta.xml", "eml.xml"
_DWC, _DC = "http://rs.tdwg.org/dwc/terms/", "http://purl.org/dc/terms/"
_EXTENDED = "http://rs.iobis.org/obis/terms/"
_TEXT_GUIDE = "http://rs.tdwg.org/dwc/text/"
_OBO = "http://purl.obolibrary.org/obo/"
_BESIDE = (
    f"Beside the tables that {META} describes lie the same records as tidy tables: {COHORTS.file}, "
    f"{INDIVIDUALS.file}, {OBSERVATIONS.file} and {TEMPERATURES.file}, and in the folder "
    f"{PROFILES} what was known of the species. dynamicProperties holds what has no term of its "
    "own, such as the stage code (L1, L2 … are the larval instars)."
)

_LEFT_OUT = {each.name: each.term for each in FIELDS} | {
    "latitude": "decimalLatitude",
    "longitude": "decimalLongitude",
}
_WITHOUT_TERM = tuple(each.name for each in FIELDS if not each.term)
_LIFE_STAGES = {"L": "larva", "N": "nymph"}
_SEXES = {"f": "female", "m": "male"}
_VITALITY: dict[str | None, str] = {None: "alive", Fate.REMOVED: "alive", Fate.DEAD: "dead"}


class _Unit(Struct, frozen=True):
    """What is measured in a unit (PATO), and the unit itself (Units of Measurement Ontology)."""

    quantity: str
    unit: str


_UNITS = {
    "mm": _Unit(f"{_OBO}PATO_0000122", f"{_OBO}UO_0000016"),
    "mg": _Unit(f"{_OBO}PATO_0000125", f"{_OBO}UO_0000022"),
    "eggs": _Unit(f"{_OBO}PATO_0000070", f"{_OBO}UO_0000189"),
    "°C": _Unit(f"{_OBO}PATO_0000146", f"{_OBO}UO_0000027"),
}
"""Length, mass, amount and temperature."""

_ON_ANIMALS = "measured or counted on the animal in a round"
_HOW = {
    "lowest temperature of the day": "lowest reading of the day",
    "highest temperature of the day": "highest reading of the day",
    "temperature": "as it was kept",
    "logged temperature": "reading of a data logger",
}


class Passage(Struct, frozen=True):
    """That an individual passed into a stage after one moment and no later than another; where the
    event itself was seen, both are its time."""

    individual: str
    stage: str
    after: datetime
    by: datetime


PassagesOf = Callable[[CohortLog], Iterable[Passage]]
"""Works out the passages in a log."""

EVENTS = Layout(
    "event",
    "Events",
    "One row a cohort, and within it a round, a passage into a stage, a loss, or a temperature.",
    (
        TableColumn(
            "eventID", "string", "The cohort’s UUID, and which event it is.", required=True
        ),
        TableColumn("parentEventID", "string", "The event of which it is a part."),
        TableColumn("eventType", "string", "What kind of event.", required=True),
        TableColumn("eventDate", "string", "A moment, a day or an interval.", required=True),
        TableColumn("samplingProtocol", "string", "How it was looked at."),
        TableColumn("locality", "string", "The school or laboratory, and where in it."),
        TableColumn("decimalLatitude", "number", "Degrees north."),
        TableColumn("decimalLongitude", "number", "Degrees east."),
        TableColumn("geodeticDatum", "string", "Of the coordinates."),
        TableColumn("coordinateUncertaintyInMeters", "number", "How far it may be from there."),
        TableColumn("dataGeneralizations", "string", "What was made coarser."),
        TableColumn("informationWithheld", "string", "What was left out."),
        TableColumn("datasetID", "string", "The data set’s UUID."),
        TableColumn("datasetName", "string", "Title of the data set."),
        TableColumn("license", "string", "Where the licence’s text is."),
        TableColumn("eventRemarks", "string", "What else was noted."),
        TableColumn("dynamicProperties", "string", "JSON: what has no term of its own."),
    ),
    ("eventID",),
)

OCCURRENCES = Layout(
    "occurrence",
    "Occurrences",
    "One row an individual that was seen: as it entered its cohort, or in a round.",
    (
        TableColumn("eventID", "string", "The round.", required=True),
        TableColumn("occurrenceID", "string", "The cohort’s UUID, and which look.", required=True),
        TableColumn("organismID", "string", "The cohort’s UUID, and the code.", required=True),
        TableColumn("basisOfRecord", "string", "What kind of record."),
        TableColumn("eventDate", "datetime", "When it was seen.", required=True),
        TableColumn("lifeStage", "string", "Life stage in plain words."),
        TableColumn("vitality", "string", "Alive or dead."),
        TableColumn("sex", "string", "female or male.", among=tuple(_SEXES.values())),
        TableColumn("occurrenceStatus", "string", "present: nobody looked for a species."),
        TableColumn("degreeOfEstablishment", "string", "Captive: these are no wild animals."),
        TableColumn("individualCount", "integer", "One."),
        TableColumn("scientificName", "string", "The species."),
        TableColumn("taxonRank", "string", "The rank of the name."),
        *(TableColumn(rank, "string", f"The {rank}.") for rank in LINEAGE),
        TableColumn("vernacularName", "string", "Its plain name."),
        TableColumn("recordedBy", "string", "Initials of the observer."),
        TableColumn("occurrenceRemarks", "string", "Anything else that was noted."),
        TableColumn("dynamicProperties", "string", "JSON: what has no term of its own."),
    ),
    ("occurrenceID",),
)

MEASUREMENTS = Layout(
    "extendedmeasurementorfact",
    "Measurements",
    "One row a measurement of an individual in a round, or of the temperature of a cohort.",
    (
        TableColumn("eventID", "string", "The event.", required=True),
        TableColumn("measurementID", "string", "The measurement.", required=True),
        TableColumn("occurrenceID", "string", "The occurrence; blank for temperatures."),
        TableColumn("measurementType", "string", "What.", required=True),
        TableColumn("measurementTypeID", "string", "What kind of quantity, in PATO."),
        TableColumn("measurementValue", "number", "How much.", required=True),
        TableColumn("measurementUnit", "string", "Its unit.", required=True),
        TableColumn(
            "measurementUnitID", "string", "The unit, in the Units of Measurement Ontology."
        ),
        TableColumn("measurementDeterminedDate", "string", "When."),
        TableColumn("measurementMethod", "string", "How."),
    ),
    ("measurementID",),
)
_NAMESPACES = {
    "license": _DC,
    **dict.fromkeys(("measurementTypeID", "measurementUnitID"), _EXTENDED),
}


def darwin_core(
    publication: Publication,
    passages_of: PassagesOf = lambda _: (),
    stages_of: StagesOf = derived_stages,
) -> dict[str, Content]:
    """The files of a Darwin Core archive, by their paths; one log after the other is gone through.

    `passages_of` gives the passages in each, `stages_of` the stages of looks that said “no change”.
    Raises UsageError for a licence that archives do not take.
    """
    licence = publication.licence
    if licence is not None and licence.id not in TAKEN_BY_ARCHIVES:
        remedy = f"choose {', '.join(TAKEN_BY_ARCHIVES)}, or write a data package"
        raise UsageError(f"a Darwin Core archive is not taken under {licence.id}", remedy)
    profiles, names = profile_files(publication.cohorts)
    gone = {_LEFT_OUT[name] for name in publication.left_out if name in _LEFT_OUT}
    events, occurrences = EVENTS.without(gone), OCCURRENCES.without(gone)
    tidy = (each.without(publication.left_out) for each in TIDY)
    common = _common(publication)

    def parts() -> Iterator[Mapping[str, Iterable[Row]]]:
        for log, profile in zip(publication.logs, names, strict=True):
            stages = stages_of(log)
            of_events = _events(log, common, publication, passages_of(log))
            yield {
                events.name: _filled(events, of_events),
                occurrences.name: _filled(occurrences, _occurrences(log, stages)),
                MEASUREMENTS.name: _filled(MEASUREMENTS, _measurements(log)),
                **tidy_rows(log, profile, stages),
            }

    tables = packed_tables((events, occurrences, MEASUREMENTS, *tidy), parts())
    data: dict[str, Content] = {**tables, **profiles}
    description = eml(publication, f"rearlog.{digest_of(data.values())[:32]}", _BESIDE)
    return {META: _meta(events, occurrences), EML: description, **data}


def _filled(layout: Layout, rows: Iterable[Row]) -> Iterator[Row]:
    """The rows with a blank in each column of which they say nothing."""
    blank = dict.fromkeys(column.name for column in layout.columns)
    for row in rows:
        yield {**blank, **row}


# --- identifiers: the cohort's, and behind a colon what is meant of it ----------------------------


def _event_at(cohort: Cohort, moment: datetime) -> str:
    return f"{cohort.id}:{moment.isoformat()}"


def _of_record(cohort: Cohort, check: Observation) -> str:
    return f"{cohort.id}:{check.number}"


def _of_entry(cohort: Cohort, individual: Individual) -> str:
    return f"{cohort.id}:{individual.code}:entry"


def _organism(cohort: Cohort, code: str) -> str:
    return f"{cohort.id}:{code}"


def _of_temperature(cohort: Cohort, record: Temperature) -> str:
    return f"{cohort.id}:temperature:{record.number}"


# --- events ---------------------------------------------------------------------------------------


def _common(publication: Publication) -> Row:
    """What is the same in all events of a data set."""
    licence = publication.licence
    return {
        "datasetID": f"urn:uuid:{publication.id}",
        "datasetName": publication.title,
        "license": licence.url if licence else None,
    }


def _events(
    log: CohortLog, common: Row, publication: Publication, passages: Iterable[Passage]
) -> Iterator[Row]:
    shared = {**common, **_place(log.cohort, publication)}
    yield {**shared, **_whole(log, publication)}
    parent = {**shared, "parentEventID": log.cohort.id}
    for row in (*_rounds(log), *_temperature_events(log)):
        yield {**parent, **row}
    for each in passages:
        yield {**parent, **_passage(log.cohort, each)}
    for check in log.observations:
        if check.fate == Fate.LOST:
            noted = check if "note" not in publication.left_out else replace(check, note=None)
            yield {**shared, **_loss(log.cohort, noted)}


def _place(cohort: Cohort, publication: Publication) -> Row:
    place: dict[str, object] = {
        "locality": ", ".join(filter(None, (cohort.site, cohort.place))) or None
    }
    if cohort.latitude is None:
        return place
    place |= {
        "decimalLatitude": cohort.latitude,
        "decimalLongitude": cohort.longitude,
        "geodeticDatum": "EPSG:4326",
    }
    if publication.blur is not None:
        metres = uncertain_by_metres(cohort.latitude, publication.blur)
        place["coordinateUncertaintyInMeters"] = float(math.ceil(metres))
    return place


def _whole(log: CohortLog, publication: Publication) -> Row:
    """The event of a whole cohort."""
    cohort = log.cohort
    last = max((each.at for each in log.observations), default=cohort.started)
    known = {
        "label": own_label(cohort.name),
        "food": cohort.food,
        "planned_celsius": cohort.planned_celsius,
        "factors": factors_text(cohort.factors),
        "origins": origins_text(cohort.origins),
        "invented": cohort.invented or None,
    }
    return {
        "eventID": cohort.id,
        "eventType": "rearing of a cohort",
        "eventDate": _interval(cohort.started, last),
        "samplingProtocol": "individuals reared in captivity and looked at in rounds",
        "informationWithheld": " ".join(publication.withheld) or None,
        "dataGeneralizations": publication.generalised or None,
        "dynamicProperties": _json(known),
    }


def _interval(first: datetime, last: datetime) -> str:
    """A moment, or an interval, as ISO 8601 writes them."""
    begin, end = first.isoformat(), last.isoformat()
    return begin if first == last else f"{begin}/{end}"


def _rounds(log: CohortLog) -> Iterator[Row]:
    """An event for each moment at which anybody was looked at, or entered."""
    entries = {each.entered_at for each in log.individuals}
    looks = {each.at for each in log.observations}
    for moment in sorted({*entries, *looks}):
        looked = moment in looks
        yield {
            "eventID": _event_at(log.cohort, moment),
            "eventType": "round of checks" if looked else "entry into the cohort",
            "eventDate": moment.isoformat(),
            "samplingProtocol": "each individual is looked at" if looked else None,
        }


def _passage(cohort: Cohort, passage: Passage) -> Row:
    organism = _organism(cohort, passage.individual)
    return {
        "eventID": f"{organism}:into {passage.stage}",
        "eventType": "passage into a stage",
        "eventDate": _interval(passage.after, passage.by),
        "eventRemarks": f"{passage.individual} became {passage.stage}",
        "dynamicProperties": _json({"organismID": organism, "stage": passage.stage}),
    }


def _loss(cohort: Cohort, check: Observation) -> Row:
    """A loss is an event of a round, no occurrence: it tells nothing of the species."""
    organism = _organism(cohort, check.individual)
    return {
        "eventID": _of_record(cohort, check),
        "parentEventID": _event_at(cohort, check.at),
        "eventType": "loss of an individual",
        "eventDate": check.at.isoformat(),
        "eventRemarks": ". ".join(filter(None, (f"{check.individual} is lost", check.note))),
        "dynamicProperties": _json(
            {"organismID": organism, "fate": check.fate, "cause": check.cause}
        ),
    }


def _temperature_events(log: CohortLog) -> Iterator[Row]:
    for record in log.temperatures:
        yield {
            "eventID": _of_temperature(log.cohort, record),
            "eventType": "temperature",
            "eventDate": _days_of(record),
            "eventRemarks": record.source,
        }


def _days_of(record: Temperature) -> str:
    if isinstance(record, DayExtremes):
        return record.date.isoformat()
    if isinstance(record, ConstantTemperature):
        first = record.first.isoformat()
        if record.last is None or record.last == record.first:
            return first
        return f"{first}/{record.last.isoformat()}"
    begin, end = (record.at + timedelta(seconds=record.seconds[each]) for each in (0, -1))
    return _interval(begin, end)


# --- occurrences and measurements -----------------------------------------------------------------


def _occurrences(log: CohortLog, stages: Mapping[Observation, str]) -> Iterator[Row]:
    species = log.cohort.species
    taxon = taxon_of(species)
    shared = {
        "basisOfRecord": "HumanObservation",
        "occurrenceStatus": "present",
        "degreeOfEstablishment": "captive",
        "individualCount": 1,
        "scientificName": taxon.scientific_name,
        "taxonRank": taxon.rank,
        **LINEAGE,
        "vernacularName": species.name,
    }
    for individual in log.individuals:
        yield {**shared, **_entry(log.cohort, individual)}
    for check in log.observations:
        if check.fate != Fate.LOST:
            yield {**shared, **_check(log.cohort, check, stages.get(check, check.stage))}


def _entry(cohort: Cohort, individual: Individual) -> Row:
    known = {
        "stage": individual.stage,
        "laid_after": individual.laid_after and individual.laid_after.isoformat(),
        "laid_by": individual.laid_by and individual.laid_by.isoformat(),
        "container": individual.container,
        "clutch": individual.clutch,
    }
    return {
        "eventID": _event_at(cohort, individual.entered_at),
        "occurrenceID": _of_entry(cohort, individual),
        "organismID": _organism(cohort, individual.code),
        "eventDate": individual.entered_at,
        "lifeStage": _life_stage(individual.stage),
        "vitality": "alive",
        "occurrenceRemarks": individual.note,
        "dynamicProperties": _json(known),
    }


def _check(cohort: Cohort, check: Observation, stage: str | None) -> Row:
    known = {"stage": stage, "same": check.same or None}
    known |= {name: getattr(check, name) or None for name in _WITHOUT_TERM if name not in known}
    return {
        "eventID": _event_at(cohort, check.at),
        "occurrenceID": _of_record(cohort, check),
        "organismID": _organism(cohort, check.individual),
        "eventDate": check.at,
        "lifeStage": _life_stage(stage),
        "vitality": _VITALITY[check.fate],
        "sex": _SEXES[check.sex] if check.sex else None,
        "recordedBy": check.by,
        "occurrenceRemarks": check.note,
        "dynamicProperties": _json(known),
    }


def _life_stage(code: str | None) -> str | None:
    """A stage in plain words: the instars are larvae or nymphs."""
    return _LIFE_STAGES.get(code[0], code) if code else None


def _json(known: Mapping[str, object]) -> str | None:
    """What is known, as JSON; None where nothing is."""
    said = {name: value for name, value in known.items() if value not in (None, "")}
    return msgspec.json.encode(said).decode() if said else None


def _measurements(log: CohortLog) -> Iterator[Row]:
    for check in log.observations:
        for each in NUMBERS:
            if (value := getattr(check, each.name)) is not None:
                yield {
                    "eventID": _event_at(log.cohort, check.at),
                    "measurementID": f"{_of_record(log.cohort, check)}:{each.name}",
                    "occurrenceID": _of_record(log.cohort, check),
                    "measurementDeterminedDate": check.at.isoformat(),
                    "measurementMethod": _ON_ANIMALS,
                    **_measured(each.term, value, each.unit),
                }
    for record in log.temperatures:
        event = _of_temperature(log.cohort, record)
        for place, (when, what, celsius) in enumerate(_celsius(record), start=1):
            yield {
                "eventID": event,
                "measurementID": f"{event}:{place}",
                "measurementDeterminedDate": when,
                "measurementMethod": _HOW[what],
                **_measured(what, celsius, "°C"),
            }


def _measured(what: str, value: float, unit: str) -> Row:
    known = _UNITS.get(unit)
    return {
        "measurementType": what,
        "measurementTypeID": known and known.quantity,
        "measurementValue": value,
        "measurementUnit": unit,
        "measurementUnitID": known and known.unit,
    }


def _celsius(record: Temperature) -> Iterator[tuple[str, str, float]]:
    """When, what and how much, of each temperature in a record."""
    if isinstance(record, DayExtremes):
        yield record.date.isoformat(), "lowest temperature of the day", record.min_c
        yield record.date.isoformat(), "highest temperature of the day", record.max_c
    elif isinstance(record, ConstantTemperature):
        yield _days_of(record), "temperature", record.celsius
    else:
        for second, celsius in zip(record.seconds, record.celsius, strict=True):
            moment = record.at + timedelta(seconds=second)
            yield moment.isoformat(), "logged temperature", celsius


# --- the description ------------------------------------------------------------------------------


def _meta(events: Layout, occurrences: Layout) -> bytes:
    """The description of the archive: which files there are, and which column is which term."""
    about = {"xmlns": _TEXT_GUIDE, "metadata": EML}
    root = ET.Element("archive", about | located(_TEXT_GUIDE, f"{_TEXT_GUIDE}tdwg_dwc_text.xsd"))
    _described(root, "core", f"{_DWC}Event", events)
    _described(root, "extension", f"{_DWC}Occurrence", occurrences)
    _described(root, "extension", f"{_EXTENDED}ExtendedMeasurementOrFact", MEASUREMENTS)
    return xml_bytes(root)


def _described(root: ET.Element, role: str, row_type: str, layout: Layout) -> None:
    table = ET.SubElement(
        root,
        role,
        {
            "rowType": row_type,
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
        term = _NAMESPACES.get(column.name, _DWC) + column.name
        ET.SubElement(table, "field", {"index": str(index), "term": term})
