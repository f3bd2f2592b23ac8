"""What cohorts at different temperatures say of the threshold."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.answer_options import full_option
from rearlog.cli.options import answering, cohorts_argument, notes
from rearlog.cli.present import show
from rearlog.notebook import Notebook, growth_by_heat, thermal
from rearlog.present.flat import flat, flat_thermal


@click.command("thermal")
@cohorts_argument
@click.option("--without", multiple=True, metavar="COHORT", help="Leave a cohort out, by its name.")
@click.option(
    "--population", is_flag=True, help="How fast the population grows, where eggs were counted."
)
@full_option
@answering
def thermal_command(
    cohorts: tuple[Path, ...], without: tuple[str, ...], population: bool, form: str
) -> None:
    """Lower threshold and thermal constant from cohorts at different temperatures.

    Also what part dies at which temperature, or how fast a population grows.

    \b
    rearlog thermal cool room warm
    rearlog thermal t15 t18 t21 t25 t30 t33 --without t33
    """
    if population:
        _population([Notebook(path) for path in cohorts], without, form)
        return
    from rearlog.present.between import thermal_tables  # start-up time
    from rearlog.sentences.thermal import lead, notices

    result = thermal([Notebook(path) for path in cohorts], without)
    notes(notices(result))
    show(result, form, thermal_tables, flat_thermal, lead)


def _population(notebooks: list[Notebook], without: tuple[str, ...], form: str) -> None:
    from rearlog.analysis.comparing.growth_by_heat import GrowthPoint  # start-up time
    from rearlog.present.between import growth_by_heat_tables
    from rearlog.sentences.growth_by_heat import lead

    result = growth_by_heat(notebooks, without)
    show(result, form, growth_by_heat_tables, lambda found: flat(GrowthPoint, found.points), lead)
