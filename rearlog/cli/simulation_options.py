"""The options of the commands that invent animals."""

from __future__ import annotations

import click

every_option = click.option(
    "--every", type=click.IntRange(1, 100), default=1, metavar="DAYS", help="Days between checks."
)
seed_option = click.option(
    "--seed", type=click.IntRange(0), default=1, help="Another number gives other animals."
)
