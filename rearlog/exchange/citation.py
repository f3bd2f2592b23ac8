"""What is said of a data set, or of the program itself, where it is cited or registered.

The metadata of a data set follow the DataCite Metadata Schema 4 (DataCite Metadata Working Group),
in the JSON of its interface.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from typing import Any

import msgspec
from msgspec import Struct

from rearlog import __version__
from rearlog.exchange.publication import MOST_NAMED, Licence, Publication
from rearlog.exchange.taxa import taxon_of
from rearlog.settings.file import Publisher

DATACITE = "datacite.json"
_UNKNOWN = ":unav"
"""Stands for what is not known, by DataCite's list of standard values."""
_FIRST_YEAR = 2026
_AUTHORS = "the rearlog developers"
_ABOUT = "rearlog: the log and the arithmetic for raising insects from the egg"


class Cited(Struct, frozen=True):
    """What is cited: `kind` is dataset or software, its author a person, an organisation, or both,
    of which the person comes first. A person has a `family` name, and perhaps one `given`.
    `released` is the day of publication."""

    key: str
    kind: str
    title: str
    year: int
    family: str | None = None
    given: str | None = None
    organisation: str | None = None
    orcid: str | None = None
    released: date | None = None
    version: str | None = None
    identifier: str | None = None
    licence: Licence | None = None

    @property
    def person(self) -> str | None:
        """The person who made it, family name first."""
        return f"{self.family}, {self.given}" if self.given else self.family

    @property
    def author(self) -> str:
        """Who made it; a person's family name comes first."""
        return self.person or self.organisation or _UNKNOWN


def program() -> Cited:
    """The program itself."""
    return Cited(
        "rearlog", "software", _ABOUT, _FIRST_YEAR, organisation=_AUTHORS, version=__version__
    )


def data_set(publication: Publication) -> Cited:
    """A data set: by who publishes it, of the year in which it is published or ends."""
    known = publication.publisher or Publisher()
    year = (publication.on or publication.span[1]).year
    count = len(publication.cohorts)
    few = count <= MOST_NAMED
    names = "-".join(each.name for each in publication.cohorts) if few else f"{count}-cohorts"
    return Cited(
        f"rearlog-{re.sub('[^a-z0-9]+', '-', names.lower())[:40].strip('-')}-{year}",
        "dataset",
        publication.title,
        year,
        known.family,
        known.given,
        known.organisation,
        known.orcid,
        publication.on,
        identifier=f"urn:uuid:{publication.id}",
        licence=publication.licence,
    )


def datacite(publication: Publication) -> bytes:
    """The metadata by which a data set is registered; the registry adds its own identifier."""
    cited = data_set(publication)
    publisher = publication.publisher or Publisher()
    licence = publication.licence
    first, last = publication.span
    subjects = dict.fromkeys(
        name
        for each in publication.cohorts
        for name in (taxon_of(each.species).scientific_name, each.species.name)
    )
    known: dict[str, Any] = {
        "schemaVersion": "http://datacite.org/schema/kernel-4",
        "types": {"resourceTypeGeneral": "Dataset", "resourceType": "Rearing records"},
        "alternateIdentifiers": [
            {"alternateIdentifier": cited.identifier, "alternateIdentifierType": "UUID"}
        ],
        "creators": [_creator(cited)],
        "titles": [{"title": publication.title}],
        "publisher": {"name": publisher.organisation or publisher.name or _UNKNOWN},
        "publicationYear": str(cited.year),
        "subjects": [{"subject": each} for each in subjects],
        "dates": [{"date": f"{first}/{last}", "dateType": "Collected"}],
        "language": "en",
        "descriptions": [
            {"description": "\n\n".join(publication.paragraphs), "descriptionType": "Abstract"}
        ],
        "geoLocations": list(_places(publication)),
    }
    if licence is not None:
        known["rightsList"] = [
            {
                "rights": licence.name,
                "rightsUri": licence.url,
                "rightsIdentifier": licence.id,
                "rightsIdentifierScheme": "SPDX",
                "schemeUri": "https://spdx.org/licenses/",
            }
        ]
    return msgspec.json.format(msgspec.json.encode(known), indent=2) + b"\n"


def _creator(cited: Cited) -> dict[str, Any]:
    found: dict[str, Any] = {"name": cited.author}
    if cited.person or cited.organisation:
        found["nameType"] = "Personal" if cited.person else "Organizational"
    if cited.family:
        found["familyName"] = cited.family
    if cited.given:
        found["givenName"] = cited.given
    if cited.person and cited.organisation:
        found["affiliation"] = [{"name": cited.organisation}]
    if cited.person and cited.orcid:
        found["nameIdentifiers"] = [
            {
                "nameIdentifier": f"https://orcid.org/{cited.orcid}",
                "nameIdentifierScheme": "ORCID",
                "schemeUri": "https://orcid.org",
            }
        ]
    return found


def _places(publication: Publication) -> Iterator[dict[str, Any]]:
    seen = []
    for cohort in publication.cohorts:
        place: dict[str, Any] = {"geoLocationPlace": cohort.site} if cohort.site else {}
        if cohort.latitude is not None:
            place["geoLocationPoint"] = {
                "pointLatitude": cohort.latitude,
                "pointLongitude": cohort.longitude,
            }
        if place and place not in seen:
            seen.append(place)
            yield place
