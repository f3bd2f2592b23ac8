"""Many cohorts at once, and what they say together."""

from __future__ import annotations

import sys
from functools import partial
from pathlib import Path

import click

from rearlog.cli.answer_options import full_option
from rearlog.cli.options import SeasonPlace, answering, notes
from rearlog.cli.present import show

_SHOWN_EVERY = 25


@click.command("season")
@click.argument("places", metavar="FOLDER_OR_FILE...", type=SeasonPlace(), nargs=-1, required=True)
@click.option(
    "--by",
    type=click.Choice(["site"]),
    help="A line for each site, in place of one for each cohort.",
)
@click.option(
    "--jobs",
    type=click.IntRange(1, 256),
    help="So many files are read at once (default: one on each processor).",
)
@click.option(
    "--cache",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Where summaries are kept for the next time (default: in your folder for such files).",
)
@full_option
@answering
@click.pass_context
def season_command(
    ctx: click.Context,
    places: tuple[Path, ...],
    by: str | None,
    jobs: int | None,
    cache: Path | None,
    form: str,
) -> None:
    """What any number of cohorts say together: how long, how many lived, which stand out.

    Takes cohort files, what “rearlog export” wrote, and folders with all that is in and below them.
    A cohort that is met twice counts once. What has not changed since the last time is not read
    again. Files that cannot be read are named and passed over; then the exit code is 1.

    \b
    rearlog season classes
    rearlog season classes --by site
    rearlog season classes more.zip --format json
    """
    from rearlog.gathering.kept import usual_cache  # start-up time
    from rearlog.gathering.season import season
    from rearlog.present.season import flat_season, flat_sites, season_tables
    from rearlog.sentences.season import lead, notices

    kept = cache or usual_cache([*places])
    quiet = bool(ctx.meta.get("rearlog.quiet")) or not sys.stderr.isatty()
    result = season(places, jobs=jobs, cache=kept, progress=None if quiet else _progress)
    notes(notices(result))
    full = bool(ctx.meta.get("rearlog.full"))
    if result.cohorts:
        tables = partial(season_tables, by_site=by is not None, full=full)
        show(result, form, tables, flat_sites if by else flat_season, lead)
    ctx.exit(1 if result.passed_over else 0)


def _progress(done: int, of: int) -> None:
    """How far it is, on a line of standard error that is written over."""
    if done % _SHOWN_EVERY == 0 or done == of:
        end = "\n" if done == of else ""
        click.echo(f"\r{done:,} of {of:,} files read{end}", err=True, nl=False)
