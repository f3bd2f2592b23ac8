"""Whose profile is meant: that of a species, or of a cohort."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from rearlog.records.errors import UsageError
from rearlog.records.profile import Profile

if TYPE_CHECKING:
    from rearlog.notebook import Notebook


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
