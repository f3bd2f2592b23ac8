"""Another label for a cohort."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.options import cohort_argument, notice
from rearlog.cli.writing import writing
from rearlog.store.calling import called
from rearlog.store.cohort_file import CohortFile
from rearlog.store.opening import labelled
from rearlog.store.origins import naming


@click.command("rename")
@cohort_argument
@click.argument("label", metavar="LABEL")
@writing
def rename_command(cohort: Path, label: str) -> None:
    """Give a cohort another label: letters, digits, - and _.

    Answers, charts and exports show the label, and commands take it too. The file stays where it
    is, and its name goes on to be taken; it stays the same cohort, so that copies of it can still
    be merged.

    \b
    rearlog rename room class-4b
    rearlog rename warm class-4c --quiet
    """
    before = CohortFile(cohort).rename(label)
    notice(f"{before.name} is called {label} from now on; its file is still {cohort}")
    others = [str(path) for path in labelled(label, cohort.parent) if not path.samefile(cohort)]
    if others:
        from rearlog.sentences.phrases import cohorts_named, is_are  # start-up time

        notice(
            f"Note: {cohorts_named(others, 'cohorts beside it')} {is_are(len(others))} called "
            f"{label} too: answers put a site or a piece of its identity behind each, and commands "
            "take them by their files"
        )
    for child in naming(cohort.parent, before.name):
        notice(
            f"Note: {child.stem} says that it comes from {before.name}; "
            f"“rearlog describe {called(child)} --origin {label}” says it anew"
        )
