"""How they grew."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.answer_options import full_option
from rearlog.cli.options import answering, cohort_argument
from rearlog.cli.present import show
from rearlog.notebook import Notebook
from rearlog.present.flat import flat


@click.command("growth")
@cohort_argument
@full_option
@answering
def growth_command(cohort: Path, form: str) -> None:
    """How they grew: head widths instar by instar, lengths and masses by age.

    \b
    rearlog growth room
    rearlog growth room --format csv
    """
    from rearlog.analysis.growth.growth import Measurement  # start-up time
    from rearlog.present.answers import growth_tables
    from rearlog.sentences.growth import lead

    result = Notebook(cohort).growth()
    rows = flat(Measurement, result.series)
    show(result, form, lambda: growth_tables(result), rows, lambda: lead(result))
