"""The answers about one cohort, one command each."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from rearlog.analysis.heat.methods import CUTOFFS, METHODS
from rearlog.cli.completion import stages
from rearlog.cli.numbers import CELSIUS
from rearlog.cli.options import answering, cohort_argument
from rearlog.cli.present import show
from rearlog.notebook import HeatOptions, Notebook
from rearlog.present.flat import flat, flat_durations

F = TypeVar("F", bound=Callable[..., Any])


def heat_options(command: F) -> F:
    """The options that say how degree-days are counted; handed on as one `heat` argument."""
    import functools

    @functools.wraps(command)
    def gathered(
        *args: Any,
        method: str | None,
        cutoff: str,
        lower: float | None,
        upper: float | None,
        **kwargs: Any,
    ) -> Any:
        return command(*args, heat=HeatOptions(lower, upper, method, cutoff), **kwargs)

    for option in (
        click.option("--upper", type=CELSIUS, metavar="C", help="Upper threshold, °C."),
        click.option("--lower", type=CELSIUS, metavar="C", help="Lower threshold, °C."),
        click.option(
            "--cutoff",
            type=click.Choice(CUTOFFS),
            default="horizontal",
            help="What counts above the upper threshold.",
        ),
        click.option(
            "--method",
            type=click.Choice(METHODS),
            help="How a day's degree-days are worked out (default: readings where a logger was "
            "used, else single-sine).",
        ),
    ):
        gathered = option(gathered)
    return gathered  # type: ignore[return-value]


def span_options(command: F) -> F:
    """The options that ask for one span of stages."""
    begin = click.option(
        "--from",
        "first",
        metavar="STAGE",
        shell_complete=stages,
        help="Begin on entering this stage.",
    )
    end = click.option(
        "--to", "until", metavar="STAGE", shell_complete=stages, help="End on entering this stage."
    )
    return begin(end(command))


@click.command("durations")
@cohort_argument
@span_options
@click.option("--individuals", is_flag=True, help="Every individual, not the summary.")
@heat_options
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

    result = Notebook(cohort, heat).durations(first, until)
    if individuals:
        rows = flat(IndividualDuration, result.individuals)
        show(result, form, lambda: individuals_table(result), rows)
    else:
        show(result, form, lambda: durations_tables(result), flat_durations(result.stages))


@click.command("heat")
@cohort_argument
@click.option("--daily", is_flag=True, help="Show every day (CSV always does).")
@heat_options
@answering
def heat_command(cohort: Path, daily: bool, heat: HeatOptions, form: str) -> None:
    """How many degree-days there were, and what each stage needed.

    \b
    rearlog heat room --daily
    rearlog heat room --method double-sine --lower 10 --upper 33 --cutoff vertical
    """
    from rearlog.present.answers import heat_tables  # start-up time

    result = Notebook(cohort, heat).heat()
    show(result, form, lambda: heat_tables(result, daily=daily), result.daily)


@click.command("survival")
@cohort_argument
@span_options
@click.option("--kaplan-meier", is_flag=True, help="Survival by day as well; in CSV instead.")
@answering
def survival_command(
    cohort: Path, first: str | None, until: str | None, kaplan_meier: bool, form: str
) -> None:
    """How many lived, how long, and what killed the rest.

    \b
    rearlog survival room
    rearlog survival room --from L1 --to pupa --kaplan-meier
    """
    from rearlog.present.answers import survival_tables  # start-up time

    result = Notebook(cohort).survival(first, until)
    rows = result.kaplan_meier if kaplan_meier else result.life_table
    show(result, form, lambda: survival_tables(result, kaplan_meier=kaplan_meier), rows)


@click.command("growth")
@cohort_argument
@answering
def growth_command(cohort: Path, form: str) -> None:
    """How they grew: head widths instar by instar, lengths and masses by age.

    \b
    rearlog growth room
    rearlog growth room --format csv
    """
    from rearlog.analysis.growth.growth import Measurement  # start-up time
    from rearlog.present.answers import growth_tables

    result = Notebook(cohort).growth()
    show(result, form, lambda: growth_tables(result), flat(Measurement, result.series))
