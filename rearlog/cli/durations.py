"""How long each stage took."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.answer_options import full_option, heat_options, span_options
from rearlog.cli.options import answering, cohort_argument
from rearlog.cli.present import show
from rearlog.notebook import HeatOptions, Notebook
from rearlog.present.flat import flat, flat_durations


@click.command("durations")
@cohort_argument
@span_options
@click.option("--individuals", is_flag=True, help="Every individual, not the summary.")
@heat_options
@full_option
@answering
def durations_command(
    cohort: Path,
    first: str | None,
    until: str | None,
    individuals: bool,
    heat: HeatOptions,
    form: str,
) -> None:
    """How long each stage took, beside what the species profile leads one to expect.

    Eggs are taken to be laid all through the time that was given for the laying.

    \b
    rearlog durations room
    rearlog durations room --from L1 --to pupa --individuals
    """
    from rearlog.analysis.stages.durations import IndividualDuration  # start-up time
    from rearlog.present.answers import durations_tables, individuals_table
    from rearlog.sentences.durations import lead

    result = Notebook(cohort, heat).durations(first, until)
    if individuals:
        rows = flat(IndividualDuration, result.individuals)
        show(result, form, lambda: individuals_table(result), rows, lambda: lead(result))
    else:
        rows = flat_durations(result.stages)
        show(result, form, lambda: durations_tables(result), rows, lambda: lead(result))
