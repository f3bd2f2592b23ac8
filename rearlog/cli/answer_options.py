"""The options of the answers: how heat is counted, and which span of stages is meant."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

import click

from rearlog.analysis.heat.methods import CUTOFFS, METHODS
from rearlog.cli.completion import factors, stages
from rearlog.cli.numbers import CELSIUS
from rearlog.cli.options import notice
from rearlog.notebook import HeatOptions, Notebook, grouped
from rearlog.records.errors import UsageError
from rearlog.records.factors import OF_INDIVIDUALS

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


def full_option(command: F) -> F:
    """Add `--full`, which shows the tables that an answer else leaves out (see `show`)."""

    def remember(ctx: click.Context, _param: click.Parameter, value: bool) -> None:
        ctx.meta["rearlog.full"] = value

    return click.option(
        "--full",
        is_flag=True,
        expose_value=False,
        callback=remember,
        help="All that was worked out, with how sure it is.",
    )(command)


def by_option(command: F) -> F:
    """The option that asks for an answer group by group."""
    return click.option(
        "--by",
        metavar="FACTOR",
        shell_complete=factors,
        help="In groups: sex, clutch, container, food, temperature, or a factor of your own; two "
        "or three in compare, such as food,sex.",
    )(command)


def one_of(notebooks: Sequence[Notebook], *, or_by: bool = True) -> Notebook:
    """The one cohort of an answer about one; raises UsageError where there are more. `or_by`: by a
    factor the answer would be about several."""
    if len(notebooks) > 1:
        without, say = ("without --by ", ", say by which factor with --by") if or_by else ("", "")
        remedy = f"ask for one{say}, or see “rearlog compare”"
        raise UsageError(f"{without}this is about one cohort", remedy)
    return notebooks[0]


def known_groups(notebooks: Sequence[Notebook], by: str) -> list[Notebook]:
    """The groups of a factor by which life tables can be told apart, of those whose level is known.

    A sex is none, and nothing else parts who shares a cage: its eggs are of all in it. Who is of no
    known level is told.
    """
    from rearlog.records.cages import kept  # start-up time

    if by.strip().casefold() == "sex":
        remedy = "the answer has a life table of females alone"
        raise UsageError("a life table is of both sexes", remedy)
    groups = grouped(notebooks, by)
    parted = by.strip().casefold() in OF_INDIVIDUALS
    if parted and any(each.cage for one in notebooks for each in kept(one.log)):
        remedy = "choose a factor of whole cohorts, such as food"
        raise UsageError("eggs of a cage that several share cannot be parted", remedy)
    others = sum(len(each.log.individuals) for each in groups if each.group.level is None)
    if others:
        from rearlog.sentences.survival_by_group import not_known  # start-up time

        notice(f"Note: {not_known(by, others)}")
    return [each for each in groups if each.group.level is not None]


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
