"""Learning to tell stages apart."""

from __future__ import annotations

import random
from pathlib import Path

import click

from rearlog.cli.options import force_option, notice, output_option, quiet_option, refuse_other
from rearlog.cli.which_species import species_option
from rearlog.disk.outputs import refuse_taken, write_output


@click.command("practice")
@species_option(required=True)
@click.option("--seed", type=click.IntRange(0, 2**31), help="The same animals for the same number.")
@output_option("FILE", "The page, such as practice.html.", ".html")
@force_option
@quiet_option
def practice_command(species: str, seed: int | None, output: Path, force: bool) -> None:
    """Write a page to practise on: rounds of ten drawn animals, which stage is each?

    The animals are invented, at true scale, as varied as the profile says. The page needs no
    network, and what somebody mistook stays on their device.

    \b
    rearlog practice --species painted-lady -o practice.html
    rearlog practice --species monarch --seed 7 -o lesson.html
    """
    from rearlog.present.practice import practice_page  # start-up time: numpy and the templates
    from rearlog.species.catalogue import find

    refuse_other(output, "page", ".html", ".htm")
    profile = find(species)
    refuse_taken(output, force)
    chosen = random.SystemRandom().randrange(2**31) if seed is None else seed
    write_output(output, practice_page(profile, chosen).encode(), force=force)
    notice(f"Wrote {output}: open it in a browser")
