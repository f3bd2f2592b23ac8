"""How long each stage took."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.answer_options import (
    by_option,
    full_option,
    heat_options,
    one_of,
    span_options,
)
from rearlog.cli.options import answering, cohorts_argument
from rearlog.cli.present import show
from rearlog.notebook import HeatOptions, Notebook, grouped, told_apart
from rearlog.present.flat import flat, flat_durations, grouped_rows


@click.command("durations")
@cohorts_argument
@span_options
@click.option("--individuals", is_flag=True, help="Every individual, not the summary.")
@by_option
@heat_options
@full_option
@answering
def durations_command(
    cohorts: tuple[Path, ...],
    first: str | None,
    until: str | None,
    individuals: bool,
    by: str | None,
    heat: HeatOptions,
    form: str,
) -> None:
    """How long each stage took, beside what the species profile leads one to expect.

    Eggs are taken to be laid all through the time that was given for the laying.

    \b
    rearlog durations room
    rearlog durations room --from L1 --to pupa --individuals
    rearlog durations room --by sex
    """
    from rearlog.analysis.stages.durations import IndividualDuration  # start-up time
    from rearlog.present.answers import durations_tables, individuals_table
    from rearlog.present.by_group import DurationsByGroup
    from rearlog.sentences.durations import lead

    notebooks = told_apart([Notebook(path, heat) for path in cohorts])
    if by is not None:
        groups = grouped(notebooks, by)
        found = [each.durations(first, until) for each in groups]
        parts = [
            flat(IndividualDuration, each.individuals)
            if individuals
            else flat_durations(each.stages)
            for each in found
        ]
        table = individuals_table if individuals else durations_tables
        show(
            DurationsByGroup(by, tuple(found)),
            form,
            lambda: [one for each in found for one in table(each)],
            grouped_rows(by, [each.name for each in groups], parts),
            lambda: " ".join(map(lead, found)),
        )
        return
    result = one_of(notebooks).durations(first, until)
    if individuals:
        rows = flat(IndividualDuration, result.individuals)
        show(result, form, lambda: individuals_table(result), rows, lambda: lead(result))
    else:
        rows = flat_durations(result.stages)
        show(result, form, lambda: durations_tables(result), rows, lambda: lead(result))
