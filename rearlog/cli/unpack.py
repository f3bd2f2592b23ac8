"""Open data as cohorts again."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.options import notice
from rearlog.cli.standard import InputFile
from rearlog.cli.writing import writing
from rearlog.records import times
from rearlog.settings import usual


@click.command("unpack")
@click.argument("data", metavar="DATA", type=InputFile())
@click.option(
    "--into",
    "folder",
    metavar="FOLDER",
    type=click.Path(path_type=Path),
    help="The folder for the cohort files (default: $REARLOG_DIR, or this one).",
)
@writing
def unpack_command(data: Path, folder: Path | None) -> None:
    """Make new cohort files of data that “rearlog export” wrote: all of them, or none.

    DATA is a data package or a Darwin Core archive, as a folder or as a ZIP archive. Every bad cell
    is listed at once. No cohort file is written over.

    \b
    rearlog unpack spring-data --into spring
    rearlog unpack room.zip
    """
    from rearlog.exchange.data_package import DESCRIPTOR
    from rearlog.exchange.exported import exported_logs
    from rearlog.species.loader import read as read_profile
    from rearlog.store.new_cohorts import create_cohorts

    now = times.now("UTC")
    logs = exported_logs(data.parent if data.name == DESCRIPTOR else data, read_profile, now)
    paths = create_cohorts(folder or usual.folder(), logs, now)
    notice(f"Made {', '.join(map(str, paths))}")
