"""Whose profile is meant: that of a species, or of a cohort."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rearlog.cli.completion import species_ids
from rearlog.cli.options import CohortName, F
from rearlog.records.errors import UsageError
from rearlog.records.profile import Profile

if TYPE_CHECKING:
    from rearlog.notebook import Notebook


def species_option(*, required: bool) -> Callable[[F], F]:
    """The option that names a profile."""
    return click.option(
        "--species",
        required=required,
        metavar="ID",
        shell_complete=species_ids,
        help="A profile (rearlog species list).",
    )


def of_a_species(command: F) -> F:
    """Add `--species` and `--cohort`, of which one must be given (see `profile_and_cohort`)."""
    told = "A cohort: its profile, and its own head widths where enough were measured."
    named = click.option("--cohort", type=CohortName(), help=told)
    return species_option(required=False)(named(command))


def profile_and_cohort(species: str | None, cohort: Path | None) -> tuple[Profile, Notebook | None]:
    """The profile to go by, and the cohort if one is named; raises UsageError unless it is one."""
    if (species is None) == (cohort is None):
        raise UsageError("name the species with --species, or a cohort with --cohort")
    if cohort is not None:
        from rearlog.notebook import Notebook

        notebook = Notebook(cohort)
        return notebook.log.cohort.species, notebook
    from rearlog.species.catalogue import find

    assert species is not None
    return find(species), None
