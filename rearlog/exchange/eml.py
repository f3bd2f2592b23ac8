"""The description of a data set in the Ecological Metadata Language, version 2.2."""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree import ElementTree as ET

from rearlog.exchange.publication import Publication
from rearlog.exchange.tables import cleaned
from rearlog.exchange.taxa import LINEAGE, taxon_of
from rearlog.records.log import Cohort

_NAMESPACE = "https://eml.ecoinformatics.org/eml-2.2.0"
_KEEPER = "Keeper of the cohorts"
"""Stands for the creator and contact whom EML asks for, where nobody is named in the settings."""

METHODS = (
    "Insects were kept from the egg, or from the stage in which they entered, under the "
    "temperatures that are given, and looked at in rounds: each look tells the stage that an "
    "individual was seen in, or that it was found dead, was lost or was taken out.",
    "The passage of an individual into a stage was seldom seen itself. It lies after the last look "
    "that showed an earlier stage and no later than the first that showed it or a later one: the "
    "dates of such an event are this interval. Where looks contradict each other, it spans all "
    "that the fewest mistakes leave open.",
    "An individual that was not found again is lost: nothing is said of where its species is.",
)
"""How the data came about, a step each."""


def eml(publication: Publication, identifier: str, beside: str) -> bytes:
    """An EML document: title, who answers for it, abstract, licence, coverage and methods.

    `identifier` is the document's own; `beside` tells what lies beside the described tables.
    """
    about = {"xmlns:eml": _NAMESPACE, "packageId": identifier, "system": "rearlog"}
    root = ET.Element("eml:eml", about | located(_NAMESPACE, f"{_NAMESPACE}/eml.xsd"))
    data = ET.SubElement(root, "dataset")
    # the order of the elements is laid down by the schema
    _text(data, "alternateIdentifier", f"urn:uuid:{publication.id}")
    _text(data, "title", publication.title)
    _party(ET.SubElement(data, "creator"), publication)
    if publication.on is not None:
        _text(data, "pubDate", publication.on.isoformat())
    _text(data, "language", "en")
    abstract = ET.SubElement(data, "abstract")
    for paragraph in publication.paragraphs:
        _text(abstract, "para", paragraph)
    _text(ET.SubElement(data, "additionalInfo"), "para", beside)
    if licence := publication.licence:
        rights = ET.SubElement(data, "intellectualRights")
        _text(rights, "para", f"Licensed under {licence.name}: {licence.url}")
        licensed = ET.SubElement(data, "licensed")
        _text(licensed, "licenseName", licence.name)
        _text(licensed, "url", licence.url)
        _text(licensed, "identifier", licence.id)
    _coverage(ET.SubElement(data, "coverage"), publication)
    _party(ET.SubElement(data, "contact"), publication)
    methods = ET.SubElement(data, "methods")
    for step in METHODS:
        description = ET.SubElement(ET.SubElement(methods, "methodStep"), "description")
        _text(description, "para", step)
    return xml_bytes(root)


def _party(party: ET.Element, publication: Publication) -> None:
    """Who answers for the data: a person, an organisation or, where nobody says, a position."""
    known = publication.publisher
    if known is None or not (known.name or known.organisation):
        _text(party, "positionName", _KEEPER)
    if known is None:
        return
    if known.name:
        _text(ET.SubElement(party, "individualName"), "surName", known.name)
    if known.organisation:
        _text(party, "organizationName", known.organisation)
    if known.email:
        _text(party, "electronicMailAddress", known.email)
    if known.orcid:
        _text(party, "userId", f"https://orcid.org/{known.orcid}")
        party[-1].set("directory", "https://orcid.org/")


def _coverage(coverage: ET.Element, publication: Publication) -> None:
    for place, cohort in _places(publication):
        there = ET.SubElement(coverage, "geographicCoverage")
        _text(there, "geographicDescription", place)
        bounds = ET.SubElement(there, "boundingCoordinates")
        for side in ("west", "east"):
            _text(bounds, f"{side}BoundingCoordinate", f"{cohort.longitude}")
        for side in ("north", "south"):
            _text(bounds, f"{side}BoundingCoordinate", f"{cohort.latitude}")
    dates = ET.SubElement(ET.SubElement(coverage, "temporalCoverage"), "rangeOfDates")
    for name, day in zip(("beginDate", "endDate"), publication.span, strict=True):
        _text(ET.SubElement(dates, name), "calendarDate", day.isoformat())
    taxa = ET.SubElement(coverage, "taxonomicCoverage")
    species = {log.cohort.species.scientific_name: log.cohort.species for log in publication.logs}
    for each in species.values():
        known = taxon_of(each)
        told = [*LINEAGE.items()]
        if known.rank is None or known.rank not in LINEAGE:
            told.append((known.rank or "", known.scientific_name))
        inside = taxa
        for rank, name in told:
            inside = ET.SubElement(inside, "taxonomicClassification")
            if rank:
                _text(inside, "taxonRankName", rank)
            _text(inside, "taxonRankValue", name)
        _text(inside, "commonName", each.name)


def _places(publication: Publication) -> Iterator[tuple[str, Cohort]]:
    """The places on the map, each once, with a cohort that is there."""
    seen = set()
    for log in publication.logs:
        cohort = log.cohort
        where = cohort.site, cohort.latitude, cohort.longitude
        if cohort.latitude is not None and where not in seen:
            seen.add(where)
            told = (cohort.site or "Where the cohorts were kept", publication.generalised)
            yield ". ".join(filter(None, told)), cohort


def _text(parent: ET.Element, name: str, text: str) -> None:
    ET.SubElement(parent, name).text = cleaned(text)


def located(namespace: str, schema: str) -> dict[str, str]:
    """The attributes of a root element that say where the schema of its namespace is."""
    instance = "http://www.w3.org/2001/XMLSchema-instance"
    return {"xmlns:xsi": instance, "xsi:schemaLocation": f"{namespace} {schema}"}


def xml_bytes(root: ET.Element) -> bytes:
    """An XML document in UTF-8, indented."""
    ET.indent(root)
    content: bytes = ET.tostring(root, encoding="UTF-8", xml_declaration=True)
    return content + b"\n"
