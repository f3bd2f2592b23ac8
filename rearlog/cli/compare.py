"""Whether cohorts differ."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from rearlog.cli.answer_options import by_option, full_option, heat_options, span_options
from rearlog.cli.options import answering, cohorts_argument, notes
from rearlog.cli.present import show
from rearlog.notebook import HeatOptions, Notebook, compare, factorial
from rearlog.present.flat import flat_comparison, flat_factorial

if TYPE_CHECKING:
    from rearlog.analysis.comparing.factorial import Factorial


@click.command("compare")
@cohorts_argument
@span_options
@by_option
@heat_options
@click.option(
    "--pairs",
    is_flag=True,
    help="Which differ from which, of more than ten cohorts too (of fewer it is always told).",
)
@full_option
@answering
def compare_command(
    cohorts: tuple[Path, ...],
    first: str | None,
    until: str | None,
    by: str | None,
    heat: HeatOptions,
    pairs: bool,
    form: str,
) -> None:
    """Whether cohorts differ: how long stages took, the heat they needed, how many lived.

    \b
    rearlog compare cool warm
    rearlog compare cool room warm --from L1 --to pupa
    rearlog compare cool warm --from adult
    rearlog compare room --by sex
    rearlog compare dock-19 dock-22 dock-25 --by sex,temperature --from adult

    With two or three factors it is asked which of them matter, and whether they act together; where
    several cohorts are of one level, it takes 3 of each combination.
    """
    from rearlog.present.between import comparison_tables  # start-up time
    from rearlog.sentences.compare import lead, notices

    if by is not None and "," in by:
        _show_factorial(
            factorial([Notebook(path) for path in cohorts], _parted(by), first, until), form
        )
        return
    notebooks = [Notebook(path, heat) for path in cohorts]
    result = compare(notebooks, first, until, by, in_pairs=pairs or None)
    notes(notices(result))
    show(result, form, comparison_tables, flat_comparison, lead)


def _parted(by: str) -> list[str]:
    return [each.strip() for each in by.split(",") if each.strip()]


def _show_factorial(result: Factorial, form: str) -> None:
    from rearlog.present.between import factorial_tables  # start-up time
    from rearlog.sentences.factorial import lead, notices

    notes(notices(result))
    show(result, form, factorial_tables, flat_factorial, lead)
