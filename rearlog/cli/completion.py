"""What a shell offers when the Tab key is pressed: individuals, stages, species.

Cohorts complete themselves (`options.CohortName`). After a mistake nothing is offered: the command
itself will say what is wrong.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import click
from click.shell_completion import CompletionItem

from rearlog.records.errors import RearlogError
from rearlog.records.log import CohortLog
from rearlog.records.profile import FATES, Profile


def individuals(
    ctx: click.Context, _param: click.Parameter, incomplete: str
) -> list[CompletionItem]:
    """The individuals of the cohort that was named before."""
    log = _log(ctx)
    return [] if log is None else _fitting(log.by_code, incomplete)


def stages(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """The stages of the cohort or of the species that was named before."""
    profile = _profile(ctx)
    return [] if profile is None else _fitting(profile.codes, incomplete)


def entries(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """The words of a line of the notation: individuals, and what may be seen of them."""
    log = _log(ctx)
    if log is None:
        return []
    states = (*log.cohort.species.codes, "same", *FATES)
    return _fitting((*log.by_code, "all", "rest", *states), incomplete)


def species(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """The profiles that come with rearlog, with their names."""
    from rearlog.species.catalogue import bundled  # start-up time

    return [
        CompletionItem(each.id, help=each.name)
        for each in bundled()
        if each.id.startswith(incomplete.casefold())
    ]


def _fitting(words: Iterable[str], incomplete: str) -> list[CompletionItem]:
    begin = incomplete.casefold()
    return [CompletionItem(word) for word in words if word.casefold().startswith(begin)]


def _log(ctx: click.Context) -> CohortLog | None:
    """The first cohort that was named, without its records."""
    from rearlog.store.cohort_file import CohortFile  # start-up time

    named = ctx.params.get("cohort") or next(iter(ctx.params.get("cohorts") or ()), None)
    try:
        return CohortFile(named).outline(()) if isinstance(named, Path) else None
    except RearlogError:
        return None


def _profile(ctx: click.Context) -> Profile | None:
    from rearlog.species.catalogue import find  # start-up time

    chosen = ctx.params.get("species")
    try:
        if isinstance(chosen, str):
            return find(chosen)
    except RearlogError:
        return None
    log = _log(ctx)
    return None if log is None else log.cohort.species
