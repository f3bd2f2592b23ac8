"""Species profiles: list them, show one with its sources, check one's own."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rearlog.cli.completion import species_ids
from rearlog.cli.options import answering, notice, quiet_option
from rearlog.cli.present import show
from rearlog.present.tables import Table
from rearlog.records.profile import Profile, Quantity

if TYPE_CHECKING:
    from rearlog.species.catalogue import Listing


@click.group("species")
def species_command() -> None:
    """List, show and check species profiles.

    \b
    rearlog species list
    rearlog species show monarch
    rearlog species check my-moth.toml
    """


@species_command.command("list")
@answering
def list_command(form: str) -> None:
    """The profiles that come with rearlog."""
    from rearlog.species.catalogue import bundled

    listings = bundled()
    show(listings, form, lambda: species_table(listings), listings)


@species_command.command("show")
@click.argument("profile", metavar="ID", shell_complete=species_ids)
@answering
def show_command(profile: str, form: str) -> None:
    """One profile: its stages and values, each with its source."""
    from rearlog.species.catalogue import find

    found = find(profile)
    show(found, form, lambda: profile_tables(found), found.stages)


@species_command.command("check")
@click.argument("file", type=click.Path(path_type=Path))
@quiet_option
def check_command(file: Path) -> None:
    """Check a profile file of your own; every mistake is listed at once."""
    from rearlog.species.loader import load

    profile = load(file)
    notice(f"{file}: in order, {len(profile.stages)} stages, {len(profile.sources)} sources")


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
        low, high = quantity.at_celsius
        parts.append(f"at {low:g} °C" if low == high else f"at {low:g} to {high:g} °C")
    return " ".join(parts)
