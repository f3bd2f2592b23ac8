"""What several cohorts are called beside each other, so that no two are called alike."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from typing import Protocol

from msgspec.structs import replace

from rearlog.records.errors import Problem, UsageError
from rearlog.records.log import Cohort

SHORTEST_PIECE = 4
"""So many digits of an identity are shown at least, where nothing else tells cohorts apart."""
_WHOLE = 36


class Labelled(Protocol):
    """What has an identity, a label, and perhaps a site: a cohort, or a summary of one."""

    @property
    def id(self) -> str:
        """Its identity."""

    @property
    def name(self) -> str:
        """Its label."""

    @property
    def site(self) -> str | None:
        """Its site."""


def labels(cohorts: Sequence[Labelled]) -> list[str]:
    """What each of some cohorts is called beside the others: its label, where that is its own.

    Where labels meet, the site stands behind: room (Northfield); where these meet too, a piece of
    the identity, as short as tells them apart: room (Northfield, 3f2a). A cohort that is there
    twice is called the same twice.
    """
    found = [each.name for each in cohorts]
    for told in (_with_site, *map(_with_piece, range(SHORTEST_PIECE, _WHOLE + 1))):
        alike = _alike(found, cohorts)
        if not alike:
            break
        found = [
            told(each) if label in alike else label
            for each, label in zip(cohorts, found, strict=True)
        ]
    return found


def in_line(name: str) -> list[tuple[int, str]]:
    """The key by which names stand in a list as people count: School 2 before School 10."""
    parts = re.split(r"([0-9]+)", name.casefold())
    return [(int(part), "") if part.isdecimal() else (-1, part) for part in parts]


def own_label(called: str) -> str:
    """The label of a cohort, given what it is called beside others."""
    return called.partition(" (")[0]


def called(cohorts: Sequence[Cohort]) -> list[Cohort]:
    """The cohorts, each under what it is called beside the others."""
    return [
        each if each.name == label else replace(each, name=label)
        for each, label in zip(cohorts, labels(cohorts), strict=True)
    ]


def _alike(found: Sequence[str], cohorts: Sequence[Labelled]) -> set[str]:
    """The labels that more than one cohort has."""
    pairs = {(label, each.id) for label, each in zip(found, cohorts, strict=True)}
    return {label for label, times in Counter(label for label, _ in pairs).items() if times > 1}


def _with_site(cohort: Labelled) -> str:
    return f"{cohort.name} ({cohort.site})" if cohort.site else cohort.name


def _with_piece(digits: int) -> Callable[[Labelled], str]:
    def told(cohort: Labelled) -> str:
        piece = cohort.id[:digits].rstrip("-")
        return f"{cohort.name} ({f'{cohort.site}, ' if cohort.site else ''}{piece})"

    return told


def refuse_twice(cohorts: Sequence[Cohort]) -> None:
    """Raise UsageError with every cohort that is there more than once, known by its identity."""
    times = Counter(each.id for each in cohorts)
    twice = {each.id: each for each in cohorts if times[each.id] > 1}
    if twice:
        remedy = "name each cohort once"
        raise UsageError(
            [
                Problem(f"the same cohort is given twice: {each.name}", "", remedy)
                for each in twice.values()
            ]
        )
