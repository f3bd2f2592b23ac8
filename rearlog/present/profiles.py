"""The tables of species profiles: each value with its source."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

from rearlog.present.tables import Table
from rearlog.records.profile import Profile, Quantity
from rearlog.sentences.phrases import celsius_range

if TYPE_CHECKING:
    from rearlog.species.catalogue import Listing


class SpeciesList(Struct, frozen=True):
    """The profiles that come with rearlog."""

    species: tuple[Listing, ...]


def species_table(listings: Sequence[Listing]) -> list[Table]:
    """The bundled profiles."""
    rows = [[each.id, each.name, each.scientific_name] for each in listings]
    return [Table("Species profiles", ["id", "name", "species"], rows)]


def profile_tables(profile: Profile) -> list[Table]:
    """One profile: thresholds and stages with their sources, signs, and cautions."""
    from rearlog.species.quantities import all_quantities

    values = [
        [place, value_text(quantity), *_known_from(profile, quantity)]
        for place, _, quantity in all_quantities(profile)
    ]
    signs = [
        [stage.code, sign.text, profile.sources[sign.source].kind]
        for stage in profile.stages
        for sign in stage.signs
    ]
    sources = [[key, each.kind, each.citation] for key, each in profile.sources.items()]
    title = f"{profile.name} ({profile.scientific_name})"
    return [
        Table(title, ["what", "value", "known from", "source"], values),
        Table("How to tell the stages", ["stage", "sign", "known from"], signs),
        Table("Sources", ["key", "kind", "citation"], sources, profile.cautions),
    ]


def _known_from(profile: Profile, quantity: Quantity) -> tuple[str, str]:
    """The kinds and the keys of a value's sources; a spread may have one of its own."""
    keys = [key for key in (quantity.source, quantity.spread_source) if key is not None]
    kinds = dict.fromkeys(profile.sources[key].kind for key in keys)
    return "; SD ".join(kinds), "; SD ".join(keys)


def value_text(quantity: Quantity) -> str:
    """A value of a profile with its spread and the temperatures that it holds for."""
    parts = []
    if quantity.value is not None:
        parts.append(f"{quantity.value:g}")
    if quantity.sd is not None:
        parts.append(f"± {quantity.sd:g} (SD)")
    if quantity.low is not None:
        parts.append(f"{quantity.low:g} to {quantity.high:g}")
    if quantity.at_celsius is not None:
        parts.append(f"at {celsius_range(quantity.at_celsius)}")
    return " ".join(parts)
