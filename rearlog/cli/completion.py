"""What a shell offers when the Tab key is pressed: individuals, stages, species, pages.

Cohorts complete themselves (`options.CohortName`). After a mistake nothing is offered: the command
itself will say what is wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

import click
from click.shell_completion import CompletionItem

from rearlog.records.errors import RearlogError, UsageError
from rearlog.records.factors import OF_COHORTS, OF_INDIVIDUALS
from rearlog.records.fates import FATES
from rearlog.records.log import CohortLog

Offer = Callable[[click.Context, click.Parameter, str], list[CompletionItem]]


def offering(words: Callable[[click.Context], Iterable[str]]) -> Offer:
    """Offer those of some words that begin with what was typed, whatever its case."""

    def offer(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
        begin = incomplete.casefold()
        try:
            return [
                CompletionItem(each) for each in words(ctx) if each.casefold().startswith(begin)
            ]
        except RearlogError:
            return []

    return offer


def _individuals(ctx: click.Context) -> Iterable[str]:
    return _log(ctx).by_code


def _stages(ctx: click.Context) -> Iterable[str]:
    from rearlog.species.catalogue import find  # start-up time

    chosen = ctx.params.get("species")
    profile = find(chosen) if chosen else _log(ctx).cohort.species
    return profile.codes


def _factors(ctx: click.Context) -> Iterable[str]:
    return (*OF_INDIVIDUALS, *OF_COHORTS, *_log(ctx).cohort.factors)


def _entries(ctx: click.Context) -> Iterable[str]:
    log = _log(ctx)
    return (*log.by_code, "all", "rest", *log.cohort.species.codes, "same", *FATES)


def _pages(_ctx: click.Context) -> Iterable[str]:
    from rearlog.present.documents import NAMES  # start-up time

    return NAMES


def _species(_ctx: click.Context) -> Iterable[str]:
    from rearlog.species.catalogue import bundled  # start-up time

    return (each.id for each in bundled())


def _log(ctx: click.Context) -> CohortLog:
    """The first cohort that was named, without its records; raises RearlogError."""
    from rearlog.store.cohort_file import CohortFile  # start-up time
    from rearlog.store.opening import find

    # behind an option whose value is still to come, click has not assigned the arguments yet
    named = (ctx.params.get("cohort"), *(ctx.params.get("cohorts") or ()), *map(find, ctx.args))
    path = next(filter(None, named), None)
    if path is None:
        raise UsageError("no cohort was named")
    return CohortFile(path).outline(())


individuals = offering(_individuals)
stages = offering(_stages)
factors = offering(_factors)
entries = offering(_entries)
pages = offering(_pages)
species_ids = offering(_species)
