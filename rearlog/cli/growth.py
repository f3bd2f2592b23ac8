"""How they grew."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.answer_options import by_option, full_option, one_of
from rearlog.cli.options import answering, cohorts_argument
from rearlog.cli.present import show
from rearlog.notebook import Notebook, grouped, told_apart
from rearlog.present.flat import flat, grouped_rows
from rearlog.present.tables import Table


@click.command("growth")
@cohorts_argument
@by_option
@full_option
@answering
def growth_command(cohorts: tuple[Path, ...], by: str | None, form: str) -> None:
    """How they grew: head widths instar by instar, lengths and masses by age.

    \b
    rearlog growth room
    rearlog growth room --format csv
    rearlog growth room --by sex
    """
    from rearlog.analysis.growth.growth import Growth, Measurement  # start-up time
    from rearlog.present.answers import growth_tables
    from rearlog.present.by_group import GrowthByGroup
    from rearlog.sentences.growth import lead

    def rows(found: Growth) -> Table:
        return flat(Measurement, found.series)

    notebooks = told_apart([Notebook(path) for path in cohorts])
    if by is None:
        show(one_of(notebooks).growth(), form, growth_tables, rows, lead)
        return
    groups = grouped(notebooks, by)
    show(
        GrowthByGroup(by, tuple(each.growth() for each in groups)),
        form,
        lambda found: [table for each in found.groups for table in growth_tables(each)],
        lambda found: grouped_rows(by, [each.name for each in groups], [*map(rows, found.groups)]),
        lambda found: " ".join(map(lead, found.groups)),
    )
