"""How long each stage took."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.answer_options import by_option, full_option, heat_options, one_of, span_options
from rearlog.cli.options import answering, cohorts_argument
from rearlog.cli.present import show
from rearlog.notebook import HeatOptions, Notebook, grouped, told_apart
from rearlog.present.flat import flat, flat_durations, grouped_rows
from rearlog.present.tables import Table


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
    from rearlog.analysis.stages.durations import Durations, IndividualDuration  # start-up time
    from rearlog.present.answers import durations_tables, individuals_table
    from rearlog.present.by_group import DurationsByGroup
    from rearlog.sentences.durations import lead

    notebooks = told_apart([Notebook(path, heat) for path in cohorts])
    tables = individuals_table if individuals else durations_tables

    def rows(found: Durations) -> Table:
        return (
            flat(IndividualDuration, found.individuals)
            if individuals
            else flat_durations(found.stages)
        )

    if by is None:
        show(one_of(notebooks).durations(first, until), form, tables, rows, lead)
        return
    groups = grouped(notebooks, by)
    show(
        DurationsByGroup(by, tuple(each.durations(first, until) for each in groups)),
        form,
        lambda found: [table for each in found.groups for table in tables(each)],
        lambda found: grouped_rows(by, [each.name for each in groups], [*map(rows, found.groups)]),
        lambda found: " ".join(map(lead, found.groups)),
    )
