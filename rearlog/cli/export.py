"""Cohorts as open data."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from rearlog.cli.numbers import Finite
from rearlog.cli.options import cohorts_argument, force_option, notice, output_option, quiet_option
from rearlog.cli.present import print_table
from rearlog.exchange import bundle
from rearlog.exchange.publication import LICENCES, Publication
from rearlog.notebook import LogsIn, open_data
from rearlog.present.personal import listed, treated_table
from rearlog.records import times
from rearlog.records.errors import UsageError
from rearlog.records.labels import labels
from rearlog.records.nameless import Treatment
from rearlog.settings import usual


@click.command("export")
@cohorts_argument
@output_option("FOLDER", "A new folder; or a ZIP archive, where it ends in .zip.", ".zip")
@click.option("--darwin-core", is_flag=True, help="A Darwin Core archive, not a data package.")
@click.option(
    "--parquet",
    is_flag=True,
    help="A data set that grows: Parquet files by site, species and year; what it has of these "
    "cohorts already is replaced.",
)
@click.option("--title", metavar="TEXT", help="Title of the data set.")
@click.option(
    "--licence",
    type=click.Choice(list(LICENCES)),
    default=usual.licence,
    help="On which terms others may use the data.",
)
@click.option("--no-names", is_flag=True, help="Leave out all that may tell who somebody is.")
@click.option("--no-notes", is_flag=True, help="Leave out the notes.")
@click.option(
    "--blur",
    type=Finite(0.001, 10),
    metavar="DEGREES",
    help="Round the coordinates of the site to multiples of this, such as 0.1.",
)
@click.option("--dry-run", is_flag=True, help="Show what of this would be kept; write nothing.")
@force_option
@quiet_option
def export_command(
    cohorts: tuple[Path, ...],
    output: Path,
    darwin_core: bool,
    parquet: bool,
    title: str | None,
    licence: str | None,
    no_names: bool,
    no_notes: bool,
    blur: float | None,
    dry_run: bool,
    force: bool,
) -> None:
    """Write cohorts as open data: tidy CSV tables with a data package's description.

    The tables are cohorts, individuals, observations, temperatures and, derived from these, stage
    durations; the species profiles lie beside them. Records that were struck out are left out. With
    --darwin-core an archive of events, occurrences and measurements is written instead, for
    aggregators of biodiversity data, who take three of the licences. “rearlog unpack” makes cohort
    files of either. Who publishes is said once, with “rearlog settings publisher.name”.

    With --parquet cohorts go into a folder of Parquet files, which is made or extended, for asking
    many of them at once (“rearlog docs questions-in-sql”); “rearlog season” reads it.

    --no-names leaves out observers, notes, causes, sites, places and the sources of temperatures,
    and coordinates unless --blur makes them coarse; clutches, containers, and codes that could be
    names, become numbers. With --dry-run see before what stays: a cohort's own name, its food and
    the species profile may tell something too.

    \b
    rearlog export cool room warm -o spring-data --licence CC-BY-4.0 --no-names
    rearlog export room -o room.zip --no-names --dry-run
    rearlog export room -o room.zip --darwin-core --title "Painted ladies"
    rearlog export room warm -o all-years --parquet
    """
    if parquet:
        if darwin_core or title:
            raise UsageError("--parquet goes neither with --darwin-core nor with --title")
        if not dry_run:
            _into_data_set(output, cohorts, names=not no_names, notes=not no_notes, blur=blur)
            return
    publication = Publication(
        LogsIn(cohorts),
        title,
        LICENCES[licence] if licence else None,
        names=not no_names,
        notes=not no_notes,
        blur=blur,
        publisher=usual.publisher(),
        on=times.now(times.local_zone()).date(),
    )
    if dry_run:
        print_table(treated_table(publication.treated))
        notice("Nothing was written.")
        return
    files = open_data(publication, darwin_core=darwin_core)
    bundle.write(output, files, force=force)
    named = ", ".join(labels(publication.originals))
    notice(f"Wrote {named} with {publication.checks} checks to {output}")
    if why := bundle.untakeable(output, files):
        notice(f"“rearlog unpack” does not take that much ({why}): export fewer cohorts at a time")
    for advice in _advice(publication):
        notice(advice)


def _into_data_set(
    folder: Path, cohorts: Sequence[Path], *, names: bool, notes: bool, blur: float | None
) -> None:
    from rearlog.gathering.data_set import extend  # start-up time: few grow one

    written = checks = 0
    for each in extend(folder, cohorts, times.now("UTC"), names=names, notes=notes, blur=blur):
        written, checks = written + 1, checks + each.checks
    what = "1 cohort" if written == 1 else f"{written:,} cohorts"
    notice(f"Wrote {what} with {checks:,} checks to {folder}")
    if names:
        notice("Observers are named, if the logs name them; to leave them out: --no-names.")


def _advice(publication: Publication) -> list[str]:
    """What to mind before the data are published."""
    values = publication.values
    advice = [publication.warning] if publication.invented else []
    if publication.publisher is None or not (
        publication.publisher.name or publication.publisher.organisation
    ):
        advice.append("Nobody is named as who made it: “rearlog settings publisher.name NAME”.")
    if publication.licence is None:
        advice.append(
            "Without a licence nobody may reuse the data: add --licence, such as CC-BY-4.0."
        )
    if publication.names and values["by"]:
        advice.append("Observers are named; before you publish, leave them out with --no-names.")
    elif publication.names and publication.notes and values["note"]:
        advice.append("Notes may name people; --no-notes leaves them out, --no-names more.")
    if publication.blur is None and any(each.latitude is not None for each in publication.cohorts):
        advice.append("The coordinates are exact; --blur 0.1 rounds them to about ten kilometres.")
    if not publication.names:
        kept = [each for each in publication.treated if each.treatment is Treatment.KEPT]
        told = "; ".join(f"{each.field}: {listed(each.values)}" for each in kept)
        advice.append(f"Kept, as everyone will see it: {told}")
    return advice
