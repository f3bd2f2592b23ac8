"""What a species is called in open data: its name, its rank, and what stands above it."""

from __future__ import annotations

import re

from msgspec import Struct

from rearlog.records.profile import Profile

LINEAGE = {"kingdom": "Animalia", "phylum": "Arthropoda", "class": "Insecta"}
"""What holds of all that is reared here, by rank."""

_SPECIES = re.compile(r"[A-Z][a-z]+(?: \([A-Z][a-z]+\))? [a-z][a-z-]+")
_SUBSPECIES = re.compile(rf"{_SPECIES.pattern} [a-z][a-z-]+")
_NO_EPITHET = re.compile(r" (spec|sp|cf|aff|nr)\b")


class Taxon(Struct, frozen=True):
    """A scientific name and its rank (None where the name does not show it)."""

    scientific_name: str
    rank: str | None


def taxon_of(species: Profile) -> Taxon:
    """The taxon of a profile: of a name in two words the rank is species, of one in three
    subspecies (International Code of Zoological Nomenclature, articles 4 and 5)."""
    name = species.scientific_name
    for rank, known in LINEAGE.items():
        if name == known:
            return Taxon(name, rank)
    if _NO_EPITHET.search(name):
        return Taxon(name, None)
    if _SPECIES.fullmatch(name):
        return Taxon(name, "species")
    return Taxon(name, "subspecies" if _SUBSPECIES.fullmatch(name) else None)
