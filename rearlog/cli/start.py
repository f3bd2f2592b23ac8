"""Starting a cohort."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import click

from rearlog.cli.completion import species_ids, stages
from rearlog.cli.numbers import CELSIUS
from rearlog.cli.options import (
    cohort_argument,
    notice,
    on_option,
    quiet_option,
)
from rearlog.records import times
from rearlog.records.entries import CODE
from rearlog.records.errors import UsageError
from rearlog.records.log import Cohort, Individual
from rearlog.records.wording import stamp
from rearlog.store.cohort_file import NAME, CohortFile


@click.command("start")
@cohort_argument
@click.option(
    "--species",
    required=True,
    metavar="ID",
    shell_complete=species_ids,
    help="A profile (rearlog species list).",
)
@click.option("--eggs", type=click.IntRange(1, 100_000), help="How many eggs.")
@click.option("--larvae", type=click.IntRange(1, 100_000), help="How many larvae (with --stage).")
@click.option("--stage", shell_complete=stages, help="The stage in which they enter, such as L2.")
@click.option("--codes", default="", metavar="PREFIX", help="A gives A01, A02 …; else 1, 2 …")
@on_option
@click.option("--laid", metavar="DATE", help="The day on which the eggs were laid.")
@click.option("--laid-after", metavar="WHEN", help="They were laid after this …")
@click.option("--laid-by", metavar="WHEN", help="… and no later than this.")
@click.option("--temp", type=CELSIUS, help="Planned °C.")
@click.option("--zone", help="Time zone, such as Europe/London (default: this machine's).")
@click.option("--check-time", default="09:00", help="Where a check without a time stands (HH:MM).")
@click.option("--place", help="Where they are kept.")
@click.option("--food", help="What they eat.")
@quiet_option
def start_command(
    cohort: Path,
    species: str,
    eggs: int | None,
    larvae: int | None,
    stage: str | None,
    codes: str,
    on: str | None,
    laid: str | None,
    laid_after: str | None,
    laid_by: str | None,
    temp: float | None,
    zone: str | None,
    check_time: str,
    place: str | None,
    food: str | None,
) -> None:
    """Start a new cohort: individuals kept together from one day on.

    \b
    rearlog start room --species painted-lady --eggs 24 --laid yesterday
    rearlog start cups --species monarch --larvae 12 --stage L2 --codes M
    """
    from rearlog.species.catalogue import find as find_profile

    if (eggs is None) == (larvae is None):
        raise UsageError("say how many: --eggs N, or --larvae N with --stage")
    if larvae is not None and stage is None:
        raise UsageError("--larvae needs --stage, such as --stage L2")
    if not NAME.fullmatch(cohort.stem):
        raise UsageError(f"“{cohort.stem}” is not a cohort name", "use letters, digits, - and _")
    if codes and not CODE.fullmatch(codes):
        raise UsageError(f"“{codes}” cannot begin a code", "use letters, digits and _")
    profile = find_profile(species)
    zone = times.check_zone(zone or times.local_zone())
    check_time = times.read_clock(check_time)
    now = times.now(zone)
    started = times.read_moment(on or "today", zone, check_time, now)
    if started > now:
        raise UsageError(f"{on} is in the future", "start the cohort on the day it starts")
    entry_stage = profile.code_of(stage or profile.codes[0])
    bounds = _laid(laid, laid_after, laid_by, zone, check_time, started)
    if bounds != (None, None) and entry_stage != profile.codes[0]:
        raise UsageError("only eggs have a laying date", "leave out --laid for larvae")
    count = eggs if eggs is not None else larvae
    assert count is not None
    width = max(2, len(str(count))) if codes else 1
    individuals = [
        Individual(f"{codes}{number:0{width}d}", started, entry_stage, *bounds)
        for number in range(1, count + 1)
    ]
    header = Cohort(
        name=cohort.stem,
        species=profile,
        zone=zone,
        started=started,
        created=now,
        check_time=check_time,
        place=place,
        food=food,
        planned_celsius=temp,
    )
    CohortFile(cohort).create(header, individuals)
    notice(
        f"Started {cohort.stem}: {count} × {entry_stage} of {profile.name} "
        f"({profile.scientific_name}), {individuals[0].code} to {individuals[-1].code}, "
        f"on {stamp(started)} {zone}, in {cohort}"
    )


def _laid(
    laid: str | None,
    after: str | None,
    by: str | None,
    zone: str,
    check_time: str,
    started: datetime,
) -> tuple[datetime | None, datetime | None]:
    """When the eggs were laid: after the first and no later than the second."""
    if laid is not None:
        if after is not None or by is not None:
            raise UsageError("give --laid, or --laid-after with --laid-by")
        day = times.read_date(laid, started.date())
        low = times.at_clock(day, "00:00", zone)
        high = min(times.at_clock(day + timedelta(days=1), "00:00", zone), started)
    elif after is None and by is None:
        return None, None
    elif after is None or by is None:
        raise UsageError("--laid-after and --laid-by go together")
    else:
        low = times.read_moment(after, zone, check_time, started)
        high = times.read_moment(by, zone, check_time, started)
    if low > high:
        raise UsageError(
            "the eggs would be laid after the cohort started, or the dates are swapped"
        )
    if high > started:
        raise UsageError("the eggs cannot be laid after the cohort started")
    return low, high
