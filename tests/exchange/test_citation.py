"""The outside authority is the schema of DataCite, as the Python package `datacite` carries it."""

import json
from datetime import date
from typing import Any

import pytest
from datacite import schema45
from msgspec.structs import replace

from rearlog.exchange.citation import data_set, datacite
from rearlog.exchange.publication import LICENCES, Publication
from rearlog.records.identity import named_id
from rearlog.records.log import CohortLog
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
            "name": "T., K.",
            "nameType": "Personal",
            "givenName": "K.",
            "familyName": "T.",
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


@pytest.mark.parametrize(
    ("name", "family", "given"),
    [
        ("Åsa Lindqvist", "Lindqvist", "Åsa"),
        ("  K. M.  T. ", "T.", "K. M."),
        ("van Dyk, K.", "van Dyk", "K."),
        ("KT", "KT", None),
        ("KT,", "KT,", None),
        ("K. T. and M. B.", "K. T. and M. B.", None),
        ("K. T. & M. B.", "K. T. & M. B.", None),
    ],
)
def test_a_name_has_a_family_and_what_is_given(name: str, family: str, given: str | None) -> None:
    publisher = Publisher(name)
    assert (publisher.family, publisher.given) == (family, given)
    registered = json.loads(datacite(published(publisher=publisher)))
    assert registered["publisher"] == {"name": name}
    (found,) = registered["creators"]
    assert found["name"] == (f"{family}, {given}" if given else family)
    assert found["nameType"] == "Personal"
    assert (found["familyName"], found.get("givenName")) == (family, given)


def test_an_organisation_is_not_taken_apart() -> None:
    publisher = Publisher(organisation="Fernhill School")
    assert (publisher.family, publisher.given) == (None, None)
    (found,) = json.loads(datacite(published(publisher=publisher)))["creators"]
    assert found == {"name": "Fernhill School", "nameType": "Organizational"}


def many(count: int, sites: int) -> tuple[CohortLog, ...]:
    """Cohorts without checks, each with an identity and name of its own, from 2026 on."""
    log = south()
    return tuple(
        replace(
            log,
            cohort=replace(
                log.cohort, id=named_id("test", str(each)), name=f"c{each}", invented=False,
                site=f"School {each % sites + 1}" if sites else None,
            ),
        )
        for each in range(count)
    )  # fmt: skip


def test_a_title_names_a_few_cohorts_and_counts_many() -> None:
    start = "Rearing of Moth test: "
    assert Publication(many(3, 3)).title == f"{start}c0, c1, c2"
    assert Publication(many(4, 4)).title == f"{start}4 cohorts at 4 sites, 2026"
    assert Publication(many(50, 10)).title == f"{start}50 cohorts at 10 sites, 2026"
    assert Publication(many(5, 1)).title == f"{start}5 cohorts at School 1, 2026"
    assert Publication(many(5, 0)).title == f"{start}5 cohorts, 2026"
    assert Publication(many(5, 2), names=False).title == f"{start}5 cohorts, 2026"
    *some, last = many(4, 2)
    later = last.cohort.started.replace(year=2027)
    last = replace(last, cohort=replace(last.cohort, started=later))
    assert Publication((*some, last)).title == f"{start}4 cohorts at 2 sites, 2026–2027"


def test_every_invented_cohort_is_named_though_the_title_counts_them() -> None:
    logs = tuple(replace(each, cohort=replace(each.cohort, invented=True)) for each in many(5, 2))
    publication = Publication(logs)
    assert publication.title.endswith("5 cohorts at 2 sites, 2026 (invented)")
    assert publication.warning == (
        "Invented data: no real animal was observed in c0, c1, c2, c3, c4."
    )
    assert data_set(publication).key == "rearlog-5-cohorts-2026"
