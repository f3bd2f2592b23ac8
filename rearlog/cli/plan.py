"""How many individuals a comparison needs."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from rearlog.cli.answer_options import full_option, span_options
from rearlog.cli.numbers import CELSIUS, Finite
from rearlog.cli.options import answering
from rearlog.cli.present import show
from rearlog.cli.simulation_options import every_option, seed_option
from rearlog.cli.which_species import species_option
from rearlog.species.catalogue import find as find_profile

if TYPE_CHECKING:
    from collections.abc import Callable

    from rearlog.analysis.simulation.sample_size import PowerAt


_LONGEST_DIFFERENCE = 3650
"""In days."""


@click.command("plan")
@species_option(required=True)
@click.option("--temp", type=CELSIUS, required=True, metavar="C", help="Of one cohort, °C.")
@click.option("--other-temp", type=CELSIUS, metavar="C", help="Of the other cohort, °C …")
@click.option(
    "--difference",
    type=Finite(0, _LONGEST_DIFFERENCE, min_open=True),
    metavar="DAYS",
    help="… or how much longer the other, cooler one takes.",
)
@span_options
@every_option
@click.option(
    "--power",
    type=Finite(0, 1, min_open=True, max_open=True),
    default=0.8,
    help="How often the difference should show.",
)
@click.option(
    "--runs",
    type=click.IntRange(10, 100_000),
    default=1000,
    help="Comparisons that are tried out for each size.",
)
@seed_option
@full_option
@answering
def plan_command(
    species: str,
    temp: float,
    other_temp: float | None,
    difference: float | None,
    first: str | None,
    until: str | None,
    every: int,
    power: float,
    runs: int,
    seed: int,
    form: str,
) -> None:
    """How many individuals a cohort needs for “rearlog compare” to show a difference.

    Tried out with invented cohorts of the species, in one span of stages (default: the whole
    development). Those that die on the way come on top.

    \b
    rearlog plan --species painted-lady --temp 22 --other-temp 24
    rearlog plan --species painted-lady --temp 22 --difference 2 --to pupa
    """
    from rearlog.analysis.simulation.sample_size import sample_size
    from rearlog.present.between import sample_size_tables
    from rearlog.sentences.sample_size import lead

    profile = find_profile(species)
    with _counting() as progress:
        result = sample_size(
            profile,
            first or profile.codes[0],
            until or profile.codes[-1],
            celsius=temp,
            difference_days=difference,
            other_celsius=other_temp,
            every=every,
            wanted=power,
            runs=runs,
            seed=seed,
            progress=progress,
        )
    show(result, form, sample_size_tables, "table", lead)


@contextmanager
def _counting() -> Iterator[Callable[[PowerAt], None]]:
    """On a terminal, say on standard error which sizes have been tried."""
    from rich.console import Console  # start-up time

    with Console(stderr=True).status("Trying out sizes …") as status:
        yield lambda tried: status.update(f"{tried.n} individuals: shown in {tried.power:.0%} …")
