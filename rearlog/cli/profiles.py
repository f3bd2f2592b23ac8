"""Species profiles: list them, show one with its sources, check one's own."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.completion import species_ids
from rearlog.cli.options import answering, notice, quiet_option
from rearlog.cli.present import show
from rearlog.present.profiles import profile_tables, species_table


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
