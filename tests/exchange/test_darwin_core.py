"""The outside authorities are the terms of Darwin Core and an independent reader of archives."""

import json
import zipfile
from datetime import date
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from dwca.read import DwCAReader
from msgspec.structs import replace

from rearlog.exchange import bundle
from rearlog.exchange.data_package import read_data_package
from rearlog.exchange.publication import LICENCES, Publication
from rearlog.exchange.taxa import Taxon, taxon_of
from rearlog.notebook import open_data
from rearlog.records.errors import UsageError
from rearlog.records.identity import named_id
from rearlog.records.log import CohortLog, Observation
from rearlog.settings.file import Publisher
from rearlog.species.loader import read as read_profile
from tests.open_data import NOTE, NOW, as_bytes, as_taken_in, north, south

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
        "decimalLatitude decimalLongitude geodeticDatum coordinateUncertaintyInMeters "
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
EXTENDED = "http://rs.iobis.org/obis/terms/"
# The extended measurement or fact of the Ocean Biodiversity Information System (from memory).
EXTENDED_TERMS = {EXTENDED + name for name in ("measurementTypeID", "measurementUnitID")}
ROW_TYPES = [DWC + "Event", DWC + "Occurrence", EXTENDED + "ExtendedMeasurementOrFact"]
# recommended values (from memory): basisOfRecord, occurrenceStatus and vitality by the list of
# terms, degreeOfEstablishment by the vocabulary of that name (Groom et al. 2019)
VOCABULARY = {
    "basisOfRecord": {"HumanObservation"},
    "occurrenceStatus": {"present"},
    "vitality": {"alive", "dead"},
    "degreeOfEstablishment": {"captive"},
    "sex": {"female", "male", ""},
    "lifeStage": {"egg", "larva", "nymph", "pupa", "adult", ""},
    "kingdom": {"Animalia"},
    "phylum": {"Arthropoda"},
    "class": {"Insecta"},
    "taxonRank": {"species"},
}
# Units of Measurement Ontology, and Phenotype and Trait Ontology (from memory, with their labels)
LABELS = {
    "PATO_0000122": "length",
    "PATO_0000125": "mass",
    "PATO_0000070": "amount",
    "PATO_0000146": "temperature",
    "UO_0000016": "millimetre",
    "UO_0000022": "milligram",
    "UO_0000189": "count unit",
    "UO_0000027": "degree Celsius",
}
OBO = "http://purl.obolibrary.org/obo/"
NORTH, SOUTH = north().cohort.id, south().cohort.id
DAY_27 = "2026-03-27T09:00:00+00:00"


def written(*logs: CohortLog, **terms: Any) -> dict[str, bytes]:
    """The files of an archive, with the passages that the analysis finds."""
    return as_bytes(open_data(Publication(logs, **terms), darwin_core=True))


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    """Both logs as an archive."""
    path = tmp_path / "archive.zip"
    files = written(north(), south(), own_title="Moths <&> “more”", licence=LICENCES["CC0-1.0"])
    bundle.write(path, files)
    return path


Rows = list[dict[str, str]]


def plain(data: dict[str, str]) -> dict[str, str]:
    return {term.rpartition("/")[2]: value for term, value in data.items()}


def tables(archive: Path) -> tuple[Rows, Rows, Rows]:
    """Events, occurrences and measurements as the independent reader sees them, by the plain names
    of their terms: the last two as it finds them from their events."""
    events: Rows = []
    occurrences: Rows = []
    measurements: Rows = []
    with DwCAReader(str(archive)) as reader:
        for row in reader:
            events.append(plain(row.data) | {"id": row.id})
            for each in row.extensions:
                kind = occurrences if each.rowtype == ROW_TYPES[1] else measurements
                kind.append(plain(each.data) | {"id": each.core_id})
    return events, occurrences, measurements


def document(archive: Path, name: str) -> ET.Element:
    with zipfile.ZipFile(archive) as files:
        return ET.fromstring(files.read(name))


def test_every_column_is_a_term_of_the_standard(archive: Path) -> None:
    meta = document(archive, "meta.xml")
    terms = [each.attrib["term"] for each in meta.iterfind(".//field", TEXT_GUIDE)]
    assert len(terms) == 17 + 20 + 10
    assert set(terms) <= TERMS | EXTENDED_TERMS
    assert [each.attrib["rowType"] for each in meta] == ROW_TYPES


def test_meta_describes_the_files_as_they_are(archive: Path) -> None:
    with zipfile.ZipFile(archive) as files:
        meta = ET.fromstring(files.read("meta.xml"))
        assert meta.attrib["metadata"] in files.namelist()
        for table in meta:
            name = table.findtext("files/location", "", TEXT_GUIDE)
            titles = files.read(name).decode().partition("\r\n")[0].split(",")
            assert [each.attrib["term"].rpartition("/")[2] for each in table[2:]] == titles
            assert [each.attrib["index"] for each in table[2:]] == [*map(str, range(len(titles)))]
            assert (table[1].attrib["index"], titles[0]) == ("0", "eventID")


def test_an_independent_reader_finds_every_row_from_its_event(archive: Path) -> None:
    with DwCAReader(str(archive)) as reader:
        assert reader.descriptor is not None
        assert [reader.descriptor.core.type, *reader.descriptor.extensions_type] == ROW_TYPES
    events, occurrences, measurements = tables(archive)
    known = [each["eventID"] for each in events]
    assert len(set(known)) == len(known)
    assert {each["parentEventID"] for each in events} <= {"", *known}
    assert all(each["parentEventID"] or each["eventID"] in (NORTH, SOUTH) for each in events)
    assert len(occurrences) == 4 + 7  # three and one that entered, and each look but the loss
    assert all(each["id"] == each["eventID"] for each in (*events, *occurrences, *measurements))
    for table, name in ((occurrences, "occurrenceID"), (measurements, "measurementID")):
        assert len({each[name] for each in table}) == len(table)
        assert all(each[name].startswith((NORTH, SOUTH)) for each in table)
    told = {each["occurrenceID"] for each in measurements}
    assert told <= {"", *(each["occurrenceID"] for each in occurrences)}


def test_what_was_measured_has_its_unit_and_their_identifiers(archive: Path) -> None:
    _, _, measurements = tables(archive)
    found = {
        each["measurementID"].removeprefix(f"{NORTH}:"): (
            each["measurementType"],
            LABELS[each["measurementTypeID"].removeprefix(OBO)],
            each["measurementValue"],
            each["measurementUnit"],
            LABELS[each["measurementUnitID"].removeprefix(OBO)],
        )
        for each in measurements
    }
    celsius = "°C", "degree Celsius"
    assert found == {
        "1:length_mm": ("body length", "length", "2.5", "mm", "millimetre"),
        "1:head_width_mm": ("head capsule width", "length", "0.35", "mm", "millimetre"),
        "5:mass_mg": ("body mass", "mass", "12.25", "mg", "milligram"),
        "8:eggs": ("eggs laid", "amount", "0.0", "eggs", "count unit"),
        "9:eggs": ("eggs laid", "amount", "34.0", "eggs", "count unit"),
        "9:hatched": ("eggs hatched", "amount", "30.0", "eggs", "count unit"),
        "temperature:1:1": ("temperature", "temperature", "20.0", *celsius),
        "temperature:2:1": ("lowest temperature of the day", "temperature", "-1.5", *celsius),
        "temperature:2:2": ("highest temperature of the day", "temperature", "23.25", *celsius),
        "temperature:4:1": ("logged temperature", "temperature", "19.5", *celsius),
        "temperature:4:2": ("logged temperature", "temperature", "20.0", *celsius),
        "temperature:4:3": ("logged temperature", "temperature", "21.123", *celsius),
        "temperature:5:1": ("temperature", "temperature", "22.0", *celsius),
    }  # fmt: skip
    when = {each["measurementID"]: each["measurementDeterminedDate"] for each in measurements}
    assert when[f"{NORTH}:1:length_mm"] == DAY_27
    assert when[f"{NORTH}:temperature:1:1"] == "2026-03-24/2026-03-26"
    assert when[f"{NORTH}:temperature:4:2"] == "2026-03-28T09:10:00+00:00"
    assert when[f"{NORTH}:temperature:5:1"] == "2026-03-30"
    assert all(each["measurementMethod"] for each in measurements)


def test_each_check_is_told_in_the_words_of_the_standard(archive: Path) -> None:
    _, occurrences, _ = tables(archive)
    found = {row["occurrenceID"].removeprefix(f"{NORTH}:"): row for row in occurrences}
    said = {
        name: (row["organismID"], row["lifeStage"], row["vitality"], row["individualCount"])
        for name, row in found.items()
    }
    assert said["A01:entry"] == (f"{NORTH}:A01", "egg", "alive", "1")
    assert said["1"] == (f"{NORTH}:A01", "larva", "alive", "1")
    assert said["7"] == (f"{NORTH}:ä_3", "larva", "dead", "1")
    assert said["9"] == (f"{NORTH}:A01", "", "alive", "1")
    assert found["5"]["sex"] == "female"
    assert found["5"]["eventDate"] == "2026-03-29T09:00:00+01:00"
    assert found["5"]["eventID"] == f"{NORTH}:2026-03-29T09:00:00+01:00"
    assert found["4"]["occurrenceRemarks"] == f"'{NOTE}"
    for name, words in VOCABULARY.items():
        assert {row[name] for row in occurrences} <= words, name
    assert {row["scientificName"] for row in occurrences} == {"Moth test"}


def test_a_lost_animal_is_an_event_and_no_absence_of_its_species(archive: Path) -> None:
    events, occurrences, _ = tables(archive)
    (loss,) = (each for each in events if each["eventType"] == "loss of an individual")
    assert loss["eventID"] == f"{NORTH}:6"
    assert (
        loss["parentEventID"]
        == f"{NORTH}:{loss['eventDate']}"
        == f"{NORTH}:2026-03-29T09:00:00+01:00"
    )
    assert json.loads(loss["dynamicProperties"]) == {
        "organismID": f"{NORTH}:A02", "fate": "lost", "cause": "+escaped",
    }  # fmt: skip
    assert f"{NORTH}:6" not in {each["occurrenceID"] for each in occurrences}


def test_a_passage_is_an_event_whose_date_is_the_interval_in_which_it_lies(archive: Path) -> None:
    events, _, _ = tables(archive)
    found = {
        each["eventID"].removeprefix(f"{NORTH}:"): each["eventDate"]
        for each in events
        if each["eventType"] == "passage into a stage"
    }
    day_26 = "2026-03-26T09:00:00+00:00"
    assert found["A01:into L1"] == f"{day_26}/{DAY_27}"
    assert found["A01:into L2"] == f"{DAY_27}/2026-03-29T09:00:00+01:00"
    assert found["ä_3:into L1"] == "2026-03-28T09:00:00+00:00"  # somebody saw it happen
    assert found["A01:into adult"] == "2026-03-29T09:00:00+01:00/2026-03-30T09:00:00+01:00"
    whole = next(each for each in events if each["eventID"] == NORTH)
    assert whole["eventDate"] == f"{day_26}/2026-03-31T09:00:00+01:00"
    assert json.loads(whole["dynamicProperties"])["factors"] == "line=A; Größe=2 <&> more"


def test_identifiers_stay_whatever_comes_and_whatever_it_is_called(archive: Path) -> None:
    before = [{each["eventID"] for each in tables(archive)[0]}]
    later = north()
    more = Observation("A02", at=later.all_observations[-1].at, stage="L1", number=10)
    later = replace(
        later,
        cohort=replace(later.cohort, name="renamed", site="Northfield", place=None),
        all_observations=(*later.all_observations[:5], *later.all_observations[6:], more),
    )
    path = archive.with_name("later.zip")
    bundle.write(path, written(later, south()))
    after, occurrences, _ = tables(path)
    kept = {each for each in before[0] if each != f"{NORTH}:6"}
    assert kept <= {each["eventID"] for each in after}
    looks = {each["occurrenceID"] for each in occurrences}
    assert {f"{NORTH}:{number}" for number in (1, 3, 4, 5, 7, 8, 9, 10)} <= looks


def placed(log: CohortLog) -> CohortLog:
    where = replace(log.cohort, site="Northfield", latitude=51.5074, longitude=-0.1278)
    return replace(log, cohort=where)


def test_the_site_is_on_the_map_and_coarse_where_that_is_asked_for(tmp_path: Path) -> None:
    def place(name: str, **terms: Any) -> tuple[str, ...]:
        bundle.write(tmp_path / f"{name}.zip", written(placed(north()), **terms))
        events, _, _ = tables(tmp_path / f"{name}.zip")
        wanted = (
            "locality", "decimalLatitude", "decimalLongitude", "geodeticDatum",
            "coordinateUncertaintyInMeters",
        )  # fmt: skip
        (found,) = {tuple(each.get(name, "-") for name in wanted) for each in events}
        return found

    there = "Northfield, @home, shelf <2> & up", "51.5074", "-0.1278", "EPSG:4326", ""
    assert place("exact") == there
    # half the diagonal of a cell of 0.1° at 51.5° N: √(5556.7² + 3459.1²) m = 6545.4 m (by hand)
    assert place("blurred", blur=0.1)[1:] == ("51.5", "-0.1", "EPSG:4326", "6546.0")
    assert place("nameless", names=False) == ("", "-", "-", "", "")
    assert place("both", names=False, blur=0.5)[:3] == ("", "51.5", "0.0")
    eml = document(tmp_path / "blurred.zip", "eml.xml")
    bounds = eml.find("dataset/coverage/geographicCoverage/boundingCoordinates")
    assert bounds is not None
    assert [(each.tag, each.text) for each in bounds] == [
        ("westBoundingCoordinate", "-0.1"), ("eastBoundingCoordinate", "-0.1"),
        ("northBoundingCoordinate", "51.5"), ("southBoundingCoordinate", "51.5"),
    ]  # fmt: skip
    about = eml.findtext("dataset/coverage/geographicCoverage/geographicDescription")
    assert about == "Northfield. Coordinates are rounded to 0.1 degrees."


def test_nymphs_are_not_called_larvae() -> None:
    log = south()
    stages = tuple(
        replace(each, code=each.code.replace("L", "N")) for each in log.cohort.species.stages
    )
    cohort = replace(log.cohort, species=replace(log.cohort.species, stages=stages))
    log = replace(log, cohort=cohort, individuals=(replace(log.individuals[0], stage="N2"),))
    assert b",nymph,alive," in written(log)["occurrence.csv"]


def test_the_stage_code_is_kept_beside_the_plain_word(archive: Path) -> None:
    _, occurrences, _ = tables(archive)
    found = {
        row["occurrenceID"].removeprefix(f"{NORTH}:"): json.loads(row["dynamicProperties"])
        for row in occurrences
    }
    assert found["1"] == {"stage": "L1"}
    assert found["4"] == {"stage": "L1", "witnessed": True}
    assert found["7"] == {"stage": "L1", "fate": "dead", "cause": "mould; wet"}
    assert found["8"] == {"stage": "adult", "mate": "cage-1"}
    assert found["A01:entry"]["laid_after"] == "2026-03-24T00:00:00+00:00"


def test_the_description_names_title_and_licence_and_what_is_invented(archive: Path) -> None:
    eml = document(archive, "eml.xml")
    assert eml.tag == "{https://eml.ecoinformatics.org/eml-2.2.0}eml"
    (data,) = eml
    # the order of the elements of a dataset in EML 2.2 (from memory)
    assert [each.tag for each in data] == [
        "alternateIdentifier", "title", "creator", "language", "abstract", "additionalInfo",
        "intellectualRights", "licensed", "coverage", "contact", "methods",
    ]  # fmt: skip
    assert data.findtext("title") == "Moths <&> “more” (invented)"
    assert data.findtext("licensed/identifier") == "CC0-1.0"
    assert "no real animal was observed in south" in (data.findtext("abstract/para") or "")
    assert [each.tag for each in data.iterfind("coverage/*")] == [
        "temporalCoverage", "taxonomicCoverage",
    ]  # fmt: skip
    dates = data.find("coverage/temporalCoverage/rangeOfDates")
    assert dates is not None
    assert dates.findtext("beginDate/calendarDate") == "2026-03-26"
    assert dates.findtext("endDate/calendarDate") == "2026-03-31"
    ranks = [each.text for each in data.iterfind(".//taxonRankName")]
    assert ranks == ["kingdom", "phylum", "class", "species"]
    assert data.findtext("creator/positionName") == "Keeper of the cohorts"
    assert len(data.findall("methods/methodStep/description/para")) == 3
    events, _, _ = tables(archive)
    assert {row["datasetName"] for row in events} == {"Moths <&> “more” (invented)"}
    assert {row["license"] for row in events} == {
        "https://creativecommons.org/publicdomain/zero/1.0/"
    }
    assert {row["datasetID"] for row in events} == {data.findtext("alternateIdentifier")}


def test_who_publishes_is_creator_and_contact() -> None:
    known = Publisher("K. T.", "kt@school.example", "Fernhill School", "0000-0002-1825-0097")
    files = written(north(), publisher=known, on=date(2026, 6, 1))
    data = ET.fromstring(files["eml.xml"])[0]
    for role in ("creator", "contact"):
        (party,) = data.findall(role)
        # the order of the elements of a party in EML 2.2 (from memory)
        assert [(each.tag, " ".join("".join(each.itertext()).split())) for each in party] == [
            ("individualName", "K. T."),
            ("organizationName", "Fernhill School"),
            ("electronicMailAddress", "kt@school.example"),
            ("userId", "https://orcid.org/0000-0002-1825-0097"),
        ]
        assert party[-1].attrib == {"directory": "https://orcid.org/"}
    assert [each.tag for each in data.iterfind("creator/individualName/*")] == [
        "givenName", "surName",
    ]  # fmt: skip
    assert data.findtext("creator/individualName/surName") == "T."
    # the publisher stands between contact and methods in EML 2.2 (from memory)
    assert [each.tag for each in data][-3:] == ["contact", "publisher", "methods"]
    assert [(each.tag, each.text) for each in data.iterfind("publisher/*")] == [
        ("organizationName", "Fernhill School"), ("electronicMailAddress", "kt@school.example"),
    ]  # fmt: skip
    assert data.findtext("pubDate") == "2026-06-01"
    alone = ET.fromstring(written(north(), publisher=Publisher(organisation="A school"))["eml.xml"])
    assert [each.tag for each in alone.find("dataset/contact") or ()] == ["organizationName"]
    person = ET.fromstring(written(north(), publisher=Publisher("KT"))["eml.xml"])
    assert [each.tag for each in person.iterfind("dataset/publisher/individualName/*")] == [
        "surName"
    ]
    nobody = ET.fromstring(
        written(north(), publisher=Publisher(email="kt@school.example"))["eml.xml"]
    )
    assert nobody.find("dataset/publisher") is None


def described(sites: int, *, placed: int) -> ET.Element:
    """The coverage of cohorts at so many sites, the first of which have coordinates."""
    logs = []
    for each in range(sites):
        where = {"latitude": 50.0 + each, "longitude": 8.0 - each} if each < placed else {}
        cohort = replace(
            north().cohort, id=named_id("test", str(each)), name=f"c{each}",
            site=f"School {each + 1}", **where,  # type: ignore[arg-type]
        )  # fmt: skip
        logs.append(replace(north(), cohort=cohort))
    return ET.fromstring(written(*logs)["eml.xml"])[0]


def test_the_place_is_that_of_all_sites() -> None:
    data = described(3, placed=3)
    (there,) = data.findall("coverage/geographicCoverage")
    assert there.findtext("geographicDescription") == "School 1, School 2, School 3"
    assert [each.text for each in there.find("boundingCoordinates") or ()] == [
        "6.0", "8.0", "52.0", "50.0",
    ]  # fmt: skip
    some = described(2, placed=1).findtext("coverage/geographicCoverage/geographicDescription")
    assert some == "School 1, School 2. The coordinates are those of School 1"
    many = described(12, placed=12).findtext("coverage/geographicCoverage/geographicDescription")
    assert many == "12 sites: School 1, School 2, School 3, School 4, School 5 and 7 more sites"
    assert described(2, placed=0).find("coverage/geographicCoverage") is None


def test_an_archive_takes_the_licences_that_aggregators_take() -> None:
    for licence in ("CC0-1.0", "CC-BY-4.0", "CC-BY-NC-4.0"):
        assert written(north(), licence=LICENCES[licence])
    for licence in ("CC-BY-SA-4.0", "ODbL-1.0", "ODC-By-1.0", "PDDL-1.0"):
        with pytest.raises(UsageError, match=f"not taken under {licence} .choose CC0-1.0, "):
            written(north(), licence=LICENCES[licence])


@pytest.mark.parametrize(
    ("name", "rank"),
    [("Vanessa cardui", "species"), ("Papilio machaon gorganus", "subspecies"),
     ("Coenonympha pamphilus", "species"), ("Insecta", "class"), ("Drosophila sp", None),
     ("Vanessa", None), ("a moth", None), ("Aporia (Metaporia) agathon", "species")],
)  # fmt: skip
def test_the_rank_is_that_which_the_name_shows(name: str, rank: str | None) -> None:
    assert taxon_of(replace(north().cohort.species, scientific_name=name)) == Taxon(name, rank)


def test_without_a_licence_none_is_named() -> None:
    files = written(north())
    assert ET.fromstring(files["eml.xml"]).find("dataset/licensed") is None
    assert ET.fromstring(files["eml.xml"]).find("dataset/intellectualRights") is None


def test_control_characters_do_not_break_the_description() -> None:
    """XML 1.0 cannot hold them (from memory), so a document with one would not be read at all."""
    log = north()
    species = replace(log.cohort.species, name="ringing\x07 moth")
    log = replace(log, cohort=replace(log.cohort, species=species))
    eml = ET.fromstring(written(log, own_title="A title\x0b of one's own")["eml.xml"])
    assert eml.findtext("dataset/title") == "A title of one's own"
    assert eml.findtext(".//commonName") == "ringing moth"


def test_without_names_and_notes_neither_is_in_any_file() -> None:
    files = written(north(), names=False, notes=False)
    assert b"recordedBy" not in files["meta.xml"]
    assert b"occurrenceRemarks" not in files["meta.xml"]
    for content in files.values():
        assert b"KT" not in content
        assert b"second line" not in content
    told = b"Observers, notes, causes of death, sites, places and the sources"
    assert told in files["event.csv"]


def test_notes_alone_can_be_left_out() -> None:
    log = north()
    lost = tuple(
        replace(each, note="a secret") if each.fate == "lost" else each
        for each in log.all_observations
    )
    for content in written(replace(log, all_observations=lost), notes=False).values():
        assert b"secret" not in content
        assert b"second line" not in content


def test_what_is_read_is_what_was_written(archive: Path) -> None:
    with bundle.opened(archive) as folder:
        found = read_data_package(folder, read_profile, NOW)
    assert found == [as_taken_in(north()), as_taken_in(south())]


def test_the_same_records_give_the_same_archive() -> None:
    first, second = (bundle.zipped(written(north())) for _ in range(2))
    assert first == second
