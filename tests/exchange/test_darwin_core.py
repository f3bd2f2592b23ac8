"""The outside authorities are the terms of Darwin Core and an independent reader of archives."""

import json
import zipfile
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from dwca.darwincore.utils import qualname
from dwca.read import DwCAReader

from rearlog.exchange import bundle
from rearlog.exchange.darwin_core import darwin_core, read_darwin_core
from rearlog.exchange.publication import LICENCES, Publication
from rearlog.records.errors import ImportRefused
from rearlog.species.loader import read as read_profile
from tests.open_data import NOTE, NOW, as_taken_in, north, south

DWC = "http://rs.tdwg.org/dwc/terms/"
TEXT_GUIDE = {"": "http://rs.tdwg.org/dwc/text/"}

# The terms of Darwin Core (TDWG, List of Darwin Core terms) by class, from memory. Terms of the
# classes Location, Taxon and Event that nobody could know of a reared insect are left out.
TERMS = {
    DWC + name
    for names in (
        # record level
        "institutionID collectionID datasetID institutionCode collectionCode datasetName "
        "ownerInstitutionCode basisOfRecord informationWithheld dataGeneralizations "
        "dynamicProperties",
        # Occurrence
        "occurrenceID catalogNumber recordNumber recordedBy recordedByID individualCount "
        "organismQuantity organismQuantityType sex lifeStage reproductiveCondition caste behavior "
        "vitality establishmentMeans degreeOfEstablishment pathway georeferenceVerificationStatus "
        "occurrenceStatus associatedMedia associatedOccurrences associatedReferences "
        "associatedTaxa otherCatalogNumbers occurrenceRemarks",
        # Organism
        "organismID organismName organismScope associatedOrganisms previousIdentifications "
        "organismRemarks",
        # Event, Location, Taxon
        "eventID parentEventID eventType eventDate eventTime year month day verbatimEventDate "
        "habitat samplingProtocol sampleSizeValue sampleSizeUnit samplingEffort fieldNotes "
        "eventRemarks locationID country countryCode locality verbatimLocality locationRemarks "
        "taxonID scientificName kingdom phylum class order family genus specificEpithet taxonRank "
        "vernacularName taxonRemarks",
        # MeasurementOrFact
        "measurementID parentMeasurementID measurementType measurementValue measurementAccuracy "
        "measurementUnit measurementDeterminedBy measurementDeterminedDate measurementMethod "
        "measurementRemarks",
    )
    for name in names.split()
} | {
    "http://purl.org/dc/terms/" + name
    for name in ("type", "modified", "language", "license", "rightsHolder", "accessRights")
}
ROW_TYPES = [DWC + "Occurrence", DWC + "MeasurementOrFact"]
# recommended values (from memory): basisOfRecord, occurrenceStatus and vitality by the list of
# terms, degreeOfEstablishment by the vocabulary of that name (Groom et al. 2019)
VOCABULARY = {
    "basisOfRecord": {"HumanObservation"},
    "occurrenceStatus": {"present", "absent"},
    "vitality": {"alive", "dead", "uncertain"},
    "degreeOfEstablishment": {"captive"},
    "sex": {"female", "male", ""},
    "lifeStage": {"egg", "larva", "nymph", "pupa", "adult", ""},
}


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    """Both logs as an archive."""
    path = tmp_path / "archive.zip"
    publication = Publication((north(), south()), "Moths <&> “more”", LICENCES["CC0-1.0"])
    bundle.write(path, darwin_core(publication))
    return path


def rows(archive: Path) -> list[dict[str, str]]:
    """The occurrences as the independent reader sees them, by the plain names of their terms."""
    with DwCAReader(str(archive)) as reader:
        return [
            {term.rpartition("/")[2]: value for term, value in row.data.items()} for row in reader
        ]


def document(archive: Path, name: str) -> ET.Element:
    with zipfile.ZipFile(archive) as files:
        return ET.fromstring(files.read(name))


def test_every_column_is_a_term_of_the_standard(archive: Path) -> None:
    meta = document(archive, "meta.xml")
    terms = [each.attrib["term"] for each in meta.iterfind(".//field", TEXT_GUIDE)]
    assert len(terms) == 18 + 3
    assert set(terms) <= TERMS
    assert [each.attrib["rowType"] for each in meta] == ROW_TYPES


def test_meta_describes_the_files_as_they_are(archive: Path) -> None:
    with zipfile.ZipFile(archive) as files:
        meta = ET.fromstring(files.read("meta.xml"))
        assert meta.attrib["metadata"] in files.namelist()
        for table in meta:
            name = table.findtext("files/location", "", TEXT_GUIDE)
            titles = files.read(name).decode().partition("\r\n")[0].split(",")
            for field in table.iterfind("field", TEXT_GUIDE):
                title = titles[int(field.attrib["index"])]
                assert field.attrib["term"].rpartition("/")[2] == title


def test_an_independent_reader_finds_checks_and_measurements(archive: Path) -> None:
    with DwCAReader(str(archive)) as reader:
        assert reader.descriptor is not None
        assert [reader.descriptor.core.type, *reader.descriptor.extensions_type] == ROW_TYPES
        measured = {
            row.data[qualname("occurrenceID")]: [
                list(each.data.values()) for each in row.extensions
            ]
            for row in reader
        }
    assert len(measured) == 3 + 8 + 1
    assert {name: rows for name, rows in measured.items() if rows} == {
        "north:A01:1": [["body length", "2.5", "mm"], ["head capsule width", "0.35", "mm"]],
        "north:A01:5": [["body mass", "12.25", "mg"]],
        "north:A01:8": [["eggs laid", "0", "eggs"]],
        "north:A01:9": [["eggs laid", "34", "eggs"], ["eggs hatched", "30", "eggs"]],
    }


def test_each_check_is_told_in_the_words_of_the_standard(archive: Path) -> None:
    found = {row["occurrenceID"]: row for row in rows(archive)}
    said = {
        name: (row["organismID"], row["lifeStage"], row["vitality"], row["individualCount"])
        for name, row in found.items()
    }
    assert said["north:A01:entry"] == ("north:A01", "egg", "alive", "1")
    assert said["north:A01:1"] == ("north:A01", "larva", "alive", "1")
    assert said["north:A02:6"] == ("north:A02", "", "uncertain", "0")
    assert said["north:ä_3:7"] == ("north:ä_3", "larva", "dead", "1")
    assert said["north:A01:9"] == ("north:A01", "", "alive", "1")
    assert found["north:A01:5"]["sex"] == "female"
    assert found["north:A01:5"]["eventDate"] == "2026-03-29T09:00:00+01:00"
    assert found["north:ä_3:4"]["occurrenceRemarks"] == f"'{NOTE}"
    absent = [name for name, row in found.items() if row["occurrenceStatus"] == "absent"]
    assert absent == ["north:A02:6"]
    for name, words in VOCABULARY.items():
        assert {row[name] for row in found.values()} <= words


def test_nymphs_are_not_called_larvae() -> None:
    log = south()
    stages = tuple(
        replace(each, code=each.code.replace("L", "N")) for each in log.cohort.species.stages
    )
    cohort = replace(log.cohort, species=replace(log.cohort.species, stages=stages))
    log = replace(log, cohort=cohort, individuals=(replace(log.individuals[0], stage="N2"),))
    assert b",nymph,alive," in darwin_core(Publication((log,)))["occurrence.csv"]


def test_the_stage_code_is_kept_beside_the_plain_word(archive: Path) -> None:
    found = {row["occurrenceID"]: json.loads(row["dynamicProperties"]) for row in rows(archive)}
    assert found["north:A01:1"] == {"stage": "L1"}
    assert found["north:ä_3:4"] == {"stage": "L1", "witnessed": "yes"}
    assert found["north:ä_3:7"] == {"stage": "L1", "fate": "dead", "cause": "mould; wet"}
    assert found["north:A01:8"] == {"stage": "adult", "mate": "cage-1"}
    assert found["north:A01:entry"]["laid_after"] == "2026-03-24T00:00:00+00:00"


def test_the_description_names_title_and_licence_and_what_is_invented(archive: Path) -> None:
    eml = document(archive, "eml.xml")
    assert eml.tag == "{https://eml.ecoinformatics.org/eml-2.2.0}eml"
    (data,) = eml
    # the order of the elements of a dataset in EML 2.2 (from memory)
    assert [each.tag for each in data] == [
        "title", "creator", "abstract", "additionalInfo", "intellectualRights", "licensed",
        "coverage", "contact",
    ]  # fmt: skip
    assert data.findtext("title") == "Moths <&> “more” (invented)"
    assert data.findtext("licensed/identifier") == "CC0-1.0"
    assert "no real animal was observed in south" in (data.findtext("abstract/para") or "")
    dates = data.find("coverage/temporalCoverage/rangeOfDates")
    assert dates is not None
    assert dates.findtext("beginDate/calendarDate") == "2026-03-26"
    assert dates.findtext("endDate/calendarDate") == "2026-03-31"
    assert {row["datasetName"] for row in rows(archive)} == {"Moths <&> “more” (invented)"}
    assert {row["license"] for row in rows(archive)} == {
        "https://creativecommons.org/publicdomain/zero/1.0/"
    }


def test_without_a_licence_none_is_named() -> None:
    files = darwin_core(Publication((north(),)))
    assert ET.fromstring(files["eml.xml"]).find("dataset/licensed") is None
    assert b"license" not in files["occurrence.csv"]


def test_control_characters_do_not_break_the_description() -> None:
    """XML 1.0 cannot hold them (from memory), so a document with one would not be read at all."""
    log = north()
    species = replace(log.cohort.species, name="ringing\x07 moth")
    log = replace(log, cohort=replace(log.cohort, species=species))
    eml = ET.fromstring(darwin_core(Publication((log,), "A title\x0b of one's own"))["eml.xml"])
    assert eml.findtext("dataset/title") == "A title of one's own"
    assert eml.findtext(".//commonName") == "ringing moth"


def test_without_names_and_notes_neither_is_in_any_file() -> None:
    files = darwin_core(Publication((north(),), names=False, notes=False))
    assert b"recordedBy" not in files["meta.xml"]
    assert b"occurrenceRemarks" not in files["meta.xml"]
    for content in files.values():
        assert b"KT" not in content
        assert b"second line" not in content
    told = b"Observers, notes, causes of death, sites, places and the sources"
    assert told in files["occurrence.csv"]


def test_what_is_read_is_what_was_written(archive: Path) -> None:
    with bundle.opened(archive) as folder:
        found = read_darwin_core(folder, read_profile, NOW)
    assert found == [as_taken_in(north()), as_taken_in(south())]


def test_the_same_records_give_the_same_archive() -> None:
    first, second = (bundle.zipped(darwin_core(Publication((north(),)))) for _ in range(2))
    assert first == second


@pytest.mark.parametrize(
    ("table", "before", "after", "message"),
    [
        ("occurrence.csv", "north:A01:1,north", "north:A01:one,north", "“one” is not a whole"),
        ("occurrence.csv", "north:A01:1,north:A01", "north:A01:1,north:B77", "no individual B77"),
        ("occurrence.csv", '""stage"":""egg""', '""stage"":""imago""', "stage imago is not in"),
        ("occurrence.csv", '"{""stage"":""L1""}"', "L1", "its dynamicProperties are not"),
        ("occurrence.csv", '"{""stage"":""L1""}"', "[]", "its dynamicProperties are not"),
        ("occurrence.csv", '"{""stage"":""L1""}"', '"{""stage"":1}"', "dynamicProperties are not"),
        ("measurement.csv", "north:A01:1,body", "north:A01:77,body", "no occurrence north:A01:77"),
        ("measurement.csv", "2.5,mm", "2.5,mg", "the unit is not mm"),
        ("measurement.csv", "body length", "body", "“body” is not one of"),
        ("measurement.csv", "34,eggs", "34.5,eggs", "34.5 eggs is not a whole number"),
    ],
)  # fmt: skip
def test_what_cannot_be_taken_in_is_told(
    tmp_path: Path, table: str, before: str, after: str, message: str
) -> None:
    files = darwin_core(Publication((north(), south())))
    assert before.encode() in files[table]
    files[table] = files[table].replace(before.encode(), after.encode(), 1)
    bundle.write(tmp_path / "data", files)
    with pytest.raises(ImportRefused) as refusal:
        read_darwin_core(tmp_path / "data", read_profile, NOW)
    assert any(message in str(problem) for problem in refusal.value.problems), str(refusal.value)
