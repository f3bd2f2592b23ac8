"""Learning to tell stages apart."""

from __future__ import annotations

import random
from pathlib import Path

import click

from rearlog.cli.completion import species_ids
from rearlog.cli.options import force_option, notice, output_option, quiet_option
from rearlog.disk.outputs import refuse_taken, write_output
from rearlog.records.errors import UsageError


@click.command("practice")
@click.option(
    "--species",
    required=True,
    metavar="ID",
    shell_complete=species_ids,
    help="A profile (rearlog species list).",
)
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

    if output.suffix.lower() not in (".html", ".htm"):
        raise UsageError(f"{output} is no page", "end its name in .html")
    profile = find(species)
    refuse_taken(output, force)
    chosen = random.SystemRandom().randrange(2**31) if seed is None else seed
    write_output(output, practice_page(profile, chosen).encode(), force=force)
    notice(f"Wrote {output}: open it in a browser")
