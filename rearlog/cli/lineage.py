"""Which cohort comes from which."""

from __future__ import annotations

import os
from pathlib import Path

import click

from rearlog.cli.answer_options import full_option
from rearlog.cli.options import answering, notes
from rearlog.cli.present import show
from rearlog.notebook import Notebook, lineage
from rearlog.records.errors import UsageError


@click.command("lineage")
@click.argument("where", metavar="FOLDER|COHORT...", nargs=-1, required=True)
@full_option
@answering
def lineage_command(where: tuple[str, ...], form: str) -> None:
    """Which cohort comes from which, generation by generation, and how each fared.

    A cohort says what it comes from when it is started, or afterwards with “describe”.

    \b
    rearlog lineage .
    rearlog lineage cool room warm --format json
    """
    from rearlog.present.lineage import flat_lineage, lineage_tables  # start-up time
    from rearlog.sentences.lineage import lead, notices

    result = lineage([Notebook(path) for path in _paths(where)])
    notes(notices(result))
    show(result, form, lineage_tables, flat_lineage, lead)


def _paths(where: tuple[str, ...]) -> list[Path]:
    """The files of the cohorts, and of those in the folders, that were named."""
    from rearlog.store.folder import cohorts_in  # start-up time
    from rearlog.store.opening import find

    found: list[Path] = []
    for each in where:
        if not os.path.isdir(each):
            found.append(find(each))
            continue
        inside = cohorts_in(Path(each))
        if not inside:
            raise UsageError(f"there is no cohort in {each}")
        found += inside
    return found
