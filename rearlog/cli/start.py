"""Starting a cohort."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.completion import species_ids, stages
from rearlog.cli.numbers import CELSIUS
from rearlog.cli.options import (
    WHEN,
    factor_option,
    new_cohort_argument,
    notice,
    on_option,
    origin_option,
    site_options,
    tell_missing,
)
from rearlog.cli.writing import writing
from rearlog.records import times
from rearlog.records.errors import UsageError
from rearlog.records.profile import Profile
from rearlog.records.starting import Laid, new_cohort
from rearlog.records.wording import stamp
from rearlog.store.cohort_file import CohortFile
from rearlog.store.origins import origins_without_file


@click.command("start")
@new_cohort_argument
@click.option(
    "--species",
    metavar="ID",
    shell_complete=species_ids,
    help="A profile (rearlog species list), or the file of one.",
)
@click.option(
    "--stages",
    "listed",
    metavar="CODES",
    help="Or its stages alone, such as egg,L1-L5,pupa,adult: nothing else is known of it.",
)
@click.option("--eggs", type=click.IntRange(1, 100_000), help="How many eggs.")
@click.option("--larvae", type=click.IntRange(1, 100_000), help="How many larvae (with --stage).")
@click.option("--stage", shell_complete=stages, help="The stage in which they enter, such as L2.")
@click.option("--codes", default="", metavar="PREFIX", help="A gives A01, A02 …; else 1, 2 …")
@on_option
@click.option("--laid", type=WHEN, metavar="DATE", help="The day on which the eggs were laid.")
@click.option("--laid-after", type=WHEN, metavar="WHEN", help="They were laid after this …")
@click.option("--laid-by", type=WHEN, metavar="WHEN", help="… and no later than this.")
@click.option("--temp", type=CELSIUS, help="Planned °C.")
@click.option("--zone", help="Time zone, such as Europe/London (default: this machine's).")
@click.option("--check-time", default="09:00", help="Where a check without a time stands (HH:MM).")
@site_options
@click.option("--place", help="Where in it they are kept, such as a shelf.")
@click.option("--food", help="What they eat.")
@factor_option
@origin_option
@writing
def start_command(
    cohort: Path,
    species: str | None,
    listed: str | None,
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
    site: str | None,
    latitude: float | None,
    longitude: float | None,
    place: str | None,
    food: str | None,
    factors: tuple[str, ...],
    origins: tuple[str, ...],
) -> None:
    """Start a new cohort: individuals kept together from one day on.

    \b
    rearlog start room --species painted-lady --eggs 24 --laid yesterday
    rearlog start cups --species monarch --larvae 12 --stage L2 --codes M
    rearlog start moths --stages egg,L1-L5,pupa,adult --eggs 12
    rearlog start next --species monarch --eggs 9 --factor line=A --origin cups
    """
    if (eggs is None) == (larvae is None):
        raise UsageError("say how many: --eggs N, or --larvae N with --stage")
    if larvae is not None and stage is None:
        raise UsageError("--larvae needs --stage, such as --stage L2")
    count = eggs if eggs is not None else larvae
    assert count is not None
    header, individuals = new_cohort(
        cohort.stem,
        _profile(species, listed),
        count,
        zone or times.local_zone(),
        stage=stage,
        codes=codes,
        on=on,
        laid=_laid(laid, laid_after, laid_by),
        check_time=check_time,
        place=place,
        food=food,
        planned_celsius=temp,
        factors=factors,
        origins=origins,
        site=site,
        latitude=latitude,
        longitude=longitude,
    )
    missing = origins_without_file(cohort.parent, header.origins)
    CohortFile(cohort).create(header, individuals)
    tell_missing(missing)
    kind = header.species
    of = f" of {kind.name} ({kind.scientific_name})" if listed is None else ""
    notice(
        f"Started {cohort.stem}: {count} × {individuals[0].stage}{of}, "
        f"{individuals[0].code} to {individuals[-1].code}, "
        f"on {stamp(header.started)} {header.zone}, in {cohort}"
    )


def _profile(species: str | None, stages: str | None) -> Profile:
    """What is known of the species: its profile, or its stages alone."""
    if (species is None) == (stages is None):
        remedy = "--species painted-lady, or --stages egg,L1-L5,pupa,adult"
        raise UsageError("say what they are: --species ID, or --stages CODES", remedy)
    if stages is not None:
        from rearlog.species.of_stages import profile_of_stages

        return profile_of_stages(stages)
    from rearlog.species.catalogue import find as find_profile

    assert species is not None
    return find_profile(species)


def _laid(laid: str | None, after: str | None, by: str | None) -> Laid:
    """What was told of the laying: a day, or two moments."""
    if laid is not None:
        if after is not None or by is not None:
            raise UsageError("give --laid, or --laid-after with --laid-by")
        return laid
    if after is None and by is None:
        return None
    if after is None or by is None:
        raise UsageError("--laid-after and --laid-by go together")
    return after, by
