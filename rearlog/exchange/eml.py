"""The description of a data set in the Ecological Metadata Language, version 2.2."""

from __future__ import annotations

from xml.etree import ElementTree as ET

from rearlog.exchange.publication import Publication, standing
from rearlog.exchange.tables import cleaned

_NAMESPACE = "https://eml.ecoinformatics.org/eml-2.2.0"
_KEEPER = "Keeper of the cohorts"
"""Stands for the creator and contact whom EML asks for: who that is, is for them to publish."""


def eml(publication: Publication, identifier: str, beside: str) -> bytes:
    """An EML document: title, abstract, licence, dates and species.

    `identifier` is the document's own; `beside` tells what lies beside the described tables.
    """
    about = {"xmlns:eml": _NAMESPACE, "packageId": identifier, "system": "rearlog"}
    root = ET.Element("eml:eml", about | located(_NAMESPACE, f"{_NAMESPACE}/eml.xsd"))
    data = ET.SubElement(root, "dataset")
    # the order of the elements is laid down by the schema
    _text(data, "title", publication.title)
    _text(ET.SubElement(data, "creator"), "positionName", _KEEPER)
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
    _coverage(data, publication)
    _text(ET.SubElement(data, "contact"), "positionName", _KEEPER)
    return xml_bytes(root)


def _coverage(data: ET.Element, publication: Publication) -> None:
    coverage = ET.SubElement(data, "coverage")
    moments = [log.cohort.started for log in publication.logs]
    moments += [each.at for each in standing(publication.logs)]
    dates = ET.SubElement(ET.SubElement(coverage, "temporalCoverage"), "rangeOfDates")
    for name, moment in (("beginDate", min(moments)), ("endDate", max(moments))):
        _text(ET.SubElement(dates, name), "calendarDate", moment.date().isoformat())
    taxa = ET.SubElement(coverage, "taxonomicCoverage")
    species = {
        log.cohort.species.scientific_name: log.cohort.species.name for log in publication.logs
    }
    for scientific_name, name in species.items():
        taxon = ET.SubElement(taxa, "taxonomicClassification")
        _text(taxon, "taxonRankValue", scientific_name)
        _text(taxon, "commonName", name)


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
