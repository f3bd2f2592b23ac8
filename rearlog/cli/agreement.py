"""How far those who look agree."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import click

from rearlog.cli.answer_options import full_option
from rearlog.cli.numbers import Finite
from rearlog.cli.options import answering, cohort_argument
from rearlog.cli.present import show
from rearlog.notebook import Notebook


@click.command("agreement")
@cohort_argument
@click.option(
    "--within",
    type=Finite(0, 1440),
    metavar="MINUTES",
    help="Calls of two observers no farther apart are a pair (default: 60).",
)
@full_option
@answering
def agreement_command(cohort: Path, within: float | None, form: str) -> None:
    """How far observers agree on the stages, with each other and with all looks together.

    Two may look at the same individual in one round; both calls are kept.

    \b
    rearlog agreement room
    rearlog agreement room --within 15 --format csv
    """
    from rearlog.present.agreement import agreement_tables, flat_differences  # start-up time
    from rearlog.sentences.agreement import lead

    minutes = None if within is None else timedelta(minutes=within)
    result = Notebook(cohort).agreement(minutes)
    show(result, form, agreement_tables, flat_differences, lead)
