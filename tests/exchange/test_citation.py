"""The outside authority is the schema of DataCite, as the Python package `datacite` carries it."""

import json
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from datacite import schema45

from rearlog.exchange.citation import datacite
from rearlog.exchange.publication import LICENCES, Publication
from rearlog.settings.file import Publisher
from tests.open_data import north, south

KNOWN = Publisher("K. T.", "kt@school.example", "Fernhill School", "0000-0002-1825-0097")
ON = date(2026, 6, 1)


def published(**terms: Any) -> Publication:
    log = north()
    where = replace(log.cohort, site="Northfield", latitude=51.5, longitude=-0.25)
    return Publication((replace(log, cohort=where), south()), "Moths & more", **terms)


@pytest.mark.parametrize(
    "terms",
    [
        {},
        {"publisher": KNOWN, "on": ON, "licence": LICENCES["CC-BY-4.0"]},
        {"publisher": Publisher(organisation="A school"), "blur": 0.5},
        {"publisher": Publisher(email="kt@school.example"), "names": False},
    ],
)
def test_the_registry_finds_nothing_to_mend(terms: dict[str, Any]) -> None:
    found = json.loads(datacite(published(**terms)))
    assert [each.message for each in schema45.validator.iter_errors(found)] == []


def test_what_is_registered_is_what_was_published() -> None:
    publication = published(publisher=KNOWN, on=ON, licence=LICENCES["CC-BY-4.0"])
    found = json.loads(datacite(publication))
    assert found["creators"] == [
        {
            "name": "K. T.",
            "nameType": "Personal",
            "affiliation": [{"name": "Fernhill School"}],
            "nameIdentifiers": [
                {
                    "nameIdentifier": "https://orcid.org/0000-0002-1825-0097",
                    "nameIdentifierScheme": "ORCID",
                    "schemeUri": "https://orcid.org",
                }
            ],
        }
    ]
    assert found["publicationYear"] == "2026"
    assert found["dates"] == [{"date": "2026-03-26/2026-03-31", "dateType": "Collected"}]
    assert found["titles"] == [{"title": "Moths & more (invented)"}]
    assert found["publisher"] == {"name": "Fernhill School"}
    assert [each["subject"] for each in found["subjects"]] == [
        "Moth test", "test moth", "other moth",
    ]  # fmt: skip
    assert found["geoLocations"] == [
        {
            "geoLocationPlace": "Northfield",
            "geoLocationPoint": {"pointLatitude": 51.5, "pointLongitude": -0.25},
        }
    ]
    assert found["rightsList"][0]["rightsIdentifier"] == "CC-BY-4.0"
    (known,) = found["alternateIdentifiers"]
    assert known["alternateIdentifier"] == f"urn:uuid:{publication.id}"


def test_who_is_not_known_is_told_in_the_registrys_words() -> None:
    found = json.loads(datacite(published()))
    assert found["creators"] == [{"name": ":unav"}]
    assert found["publisher"] == {"name": ":unav"}
    assert "rightsList" not in found
    assert found["publicationYear"] == "2026"  # in which the last look was


def test_a_data_set_is_the_same_in_whatever_order_and_under_whatever_title() -> None:
    one = Publication((north(), south()))
    other = Publication((south(), north()), "Another title")
    assert one.id == other.id != Publication((north(),)).id
