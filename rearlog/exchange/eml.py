"""The description of a data set in the Ecological Metadata Language, version 2.2."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree import ElementTree as ET

from rearlog.exchange.publication import Publication
from rearlog.exchange.tables import cleaned
from rearlog.exchange.taxa import LINEAGE, taxon_of
from rearlog.records.log import Cohort
from rearlog.records.wording import first_few
from rearlog.settings.file import Publisher

_NAMESPACE = "https://eml.ecoinformatics.org/eml-2.2.0"
_KEEPER = "Keeper of the cohorts"
"""Stands for the creator and contact whom EML asks for, where nobody is named in the settings."""
_MOST_SITES = 5

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
    _publisher(data, publication)
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
    _individual(party, known)
    if known.organisation:
        _text(party, "organizationName", known.organisation)
    if known.email:
        _text(party, "electronicMailAddress", known.email)
    if known.orcid:
        _text(party, "userId", f"https://orcid.org/{known.orcid}")
        party[-1].set("directory", "https://orcid.org/")


def _individual(party: ET.Element, known: Publisher) -> None:
    if known.family is None:
        return
    name = ET.SubElement(party, "individualName")
    if known.given:
        _text(name, "givenName", known.given)
    _text(name, "surName", known.family)


def _publisher(data: ET.Element, publication: Publication) -> None:
    """Who publishes: the organisation, or the person where there is none; nothing if neither is."""
    known = publication.publisher
    if known is None or not (known.name or known.organisation):
        return
    party = ET.SubElement(data, "publisher")
    if known.organisation:
        _text(party, "organizationName", known.organisation)
    else:
        _individual(party, known)
    if known.email:
        _text(party, "electronicMailAddress", known.email)


def _coverage(coverage: ET.Element, publication: Publication) -> None:
    cohorts = [each for each in publication.cohorts if each.latitude is not None]
    if cohorts:
        there = ET.SubElement(coverage, "geographicCoverage")
        _text(there, "geographicDescription", _described(publication, cohorts))
        bounds = ET.SubElement(there, "boundingCoordinates")
        east = [each.longitude for each in cohorts if each.longitude is not None]
        north = [each.latitude for each in cohorts if each.latitude is not None]
        sides = {"west": min(east), "east": max(east), "north": max(north), "south": min(north)}
        for side, degrees in sides.items():
            _text(bounds, f"{side}BoundingCoordinate", f"{degrees}")
    dates = ET.SubElement(ET.SubElement(coverage, "temporalCoverage"), "rangeOfDates")
    for name, day in zip(("beginDate", "endDate"), publication.span, strict=True):
        _text(ET.SubElement(dates, name), "calendarDate", day.isoformat())
    taxa = ET.SubElement(coverage, "taxonomicCoverage")
    species = {each.species.scientific_name: each.species for each in publication.cohorts}
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


def _described(publication: Publication, placed: Sequence[Cohort]) -> str:
    """All sites, and which of them the coordinates are of, where that is not all."""
    sites = publication.sites
    named = first_few(sites, _MOST_SITES, "site") or "Where the cohorts were kept"
    told = [f"{len(sites)} sites: {named}" if len(sites) > _MOST_SITES else named]
    known = [*dict.fromkeys(each.site for each in placed if each.site)]
    if known and len(known) < len(sites):
        told.append(f"The coordinates are those of {first_few(known, _MOST_SITES, 'site')}")
    return ". ".join([*told, *filter(None, [publication.generalised])])


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
