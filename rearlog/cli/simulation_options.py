"""The options of the commands that invent animals."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from rearlog.cli.completion import species_ids

if TYPE_CHECKING:
    pass


species_option = click.option(
    "--species",
    required=True,
    metavar="ID",
    shell_complete=species_ids,
    help="A profile (rearlog species list).",
)


every_option = click.option(
    "--every", type=click.IntRange(1, 100), default=1, metavar="DAYS", help="Days between checks."
)


seed_option = click.option(
    "--seed", type=click.IntRange(0), default=1, help="Another number gives other animals."
)
