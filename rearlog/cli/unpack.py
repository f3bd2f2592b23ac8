"""Open data as cohorts again."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.options import notice
from rearlog.cli.standard import InputFile
from rearlog.cli.writing import writing
from rearlog.exchange import bundle
from rearlog.records import times
from rearlog.records.errors import ImportRefused, Problem
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
    from rearlog.exchange import darwin_core, data_package
    from rearlog.exchange.layouts import OBSERVATIONS
    from rearlog.species.loader import read as read_profile
    from rearlog.store.new_cohorts import create_cohorts

    now = times.now("UTC")
    with bundle.opened(data.parent if data.name == data_package.DESCRIPTOR else data) as unpacked:
        packed = (unpacked / data_package.DESCRIPTOR).is_file()
        archived = (unpacked / darwin_core.META).is_file()
        if not packed and not archived:
            names = f"{data_package.DESCRIPTOR} nor {darwin_core.META}"
            raise ImportRefused(Problem(f"there is neither {names} in it", str(data)))
        if archived and not (unpacked / OBSERVATIONS.file).is_file():
            message = f"there is no {OBSERVATIONS.file} in it: it is of another program or version"
            raise ImportRefused(Problem(message, str(data), "export it anew, if it is yours"))
        logs = data_package.read_data_package(unpacked, read_profile, now)
    paths = create_cohorts(folder or usual.folder(), logs, now)
    notice(f"Made {', '.join(map(str, paths))}")
