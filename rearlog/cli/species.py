"""Species profiles: list them, show one with its sources, check one's own."""

from __future__ import annotations

import contextlib
from pathlib import Path

import click

from rearlog.cli.completion import species_ids
from rearlog.cli.options import answering, cohorts_here, notice, quiet_option
from rearlog.cli.present import show
from rearlog.present.profiles import profile_tables, species_table
from rearlog.records.errors import StoreError, UsageError
from rearlog.records.profile import Profile


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
    """One profile: its stages and values, each with its source.

    ID is that of a profile that comes with rearlog, a file, or one that a cohort here was started
    with, by its id or by the cohort's name.
    """
    found = _profile(profile)
    show(found, form, lambda: profile_tables(found), found.stages)


def _profile(asked: str) -> Profile:
    """A bundled profile, one in a file, or the one that a cohort here keeps."""
    from rearlog.species.catalogue import find
    from rearlog.store.cohort_file import CohortFile

    try:
        return find(asked)
    except UsageError as unknown:
        for path in cohorts_here():
            with contextlib.suppress(StoreError):  # a damaged cohort has none to show
                kept = CohortFile(path).outline(()).cohort.species
                if asked.casefold() in (kept.id.casefold(), path.stem.casefold()):
                    return kept
        raise unknown


@species_command.command("check")
@click.argument("file", type=click.Path(path_type=Path))
@quiet_option
def check_command(file: Path) -> None:
    """Check a profile file of your own; every mistake is listed at once."""
    from rearlog.species.loader import load

    profile = load(file)
    notice(f"{file}: in order, {len(profile.stages)} stages, {len(profile.sources)} sources")
