"""What sets a cohort apart, and what it comes from, said afterwards."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.numbers import CELSIUS
from rearlog.cli.options import (
    cohort_argument,
    factor_option,
    notice,
    origin_option,
    site_options,
    tell_missing,
)
from rearlog.cli.writing import writing
from rearlog.records.errors import UsageError
from rearlog.records.factors import factors_text, origins_text, read_factors, read_origins
from rearlog.store.cohort_file import CohortFile
from rearlog.store.origins import origins_without_file


@click.command("describe")
@cohort_argument
@factor_option
@origin_option
@click.option("--temp", type=CELSIUS, help="Planned °C.")
@site_options
@click.option("--place", help="Where in it they are kept, such as a shelf.")
@click.option("--food", help="What they eat.")
@writing
def describe_command(
    cohort: Path,
    factors: tuple[str, ...],
    origins: tuple[str, ...],
    temp: float | None,
    site: str | None,
    latitude: float | None,
    longitude: float | None,
    place: str | None,
    food: str | None,
) -> None:
    """Say of a cohort that is there what sets it apart, and what it comes from.

    What was said before gives way to what is said now: of a factor its level, of origins all of
    them. “redact COHORT factors” takes levels out.

    \b
    rearlog describe room --factor line=A --factor replicate=2
    rearlog describe room --origin cups:M01,M02
    rearlog describe room --food nettles --temp 22
    rearlog describe room --site Northfield --latitude 51.5 --longitude -0.1
    """
    numbers = temp, latitude, longitude
    if not (factors or origins or site or place or food) and numbers == (None, None, None):
        raise UsageError("say what, such as --factor NAME=LEVEL, or --origin COHORT")
    file = CohortFile(cohort)
    levels = read_factors(factors)
    come_from = read_origins(origins)
    tell_missing(origins_without_file(cohort.parent, come_from))
    before = file.describe(
        levels,
        come_from,
        place=place,
        food=food,
        planned_celsius=temp,
        site=site,
        latitude=latitude,
        longitude=longitude,
    )
    now = file.outline(()).cohort
    anew = {name: before.factors[name] for name in levels if name in before.factors}
    told = [
        factors_text(now.factors),
        now.food or "",
        "" if now.planned_celsius is None else f"{now.planned_celsius:g} °C",
        now.site or "",
        "" if now.latitude is None else f"{now.latitude:g}, {now.longitude:g}",
        now.place or "",
        f"from {origins_text(now.origins)}" if now.origins else "",
    ]
    notice(f"{now.name}: {'; '.join(filter(None, told))}")
    if anew:
        notice(f"It was before: {factors_text(anew)}")
