"""How they grew."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.answer_options import by_option, full_option, one_of
from rearlog.cli.options import answering, cohorts_argument
from rearlog.cli.present import show
from rearlog.notebook import Notebook, grouped, told_apart
from rearlog.present.flat import flat, grouped_rows


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
    from rearlog.analysis.growth.growth import Measurement  # start-up time
    from rearlog.present.answers import growth_tables
    from rearlog.present.by_group import GrowthByGroup
    from rearlog.sentences.growth import lead

    notebooks = told_apart([Notebook(path) for path in cohorts])
    if by is not None:
        groups = grouped(notebooks, by)
        found = [each.growth() for each in groups]
        show(
            GrowthByGroup(by, tuple(found)),
            form,
            lambda: [one for each in found for one in growth_tables(each)],
            grouped_rows(
                by,
                [each.name for each in groups],
                [flat(Measurement, each.series) for each in found],
            ),
            lambda: " ".join(map(lead, found)),
        )
        return
    result = one_of(notebooks).growth()
    rows = flat(Measurement, result.series)
    show(result, form, lambda: growth_tables(result), rows, lambda: lead(result))
