"""With whom each one is kept, and since when: with a mate, or in a cage that several share.

A look says it from its moment on (`mate=7`, `mate=cage-1`), until another look says otherwise.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from rearlog.records.log import CohortLog, Observation

ALONE = "alone"
"""Said of one that is kept by itself from then on."""


@dataclass(frozen=True, slots=True)
class Keeping:
    """That an individual was kept `by` a mate or in a cage (`cage` says which) from `since` on,
    until the moment `until` at which another look said otherwise (None: it still is)."""

    individual: str
    by: str
    cage: bool
    since: datetime
    until: datetime | None


def codes_by_name(log: CohortLog) -> dict[str, str]:
    """The code of each individual, withdrawn ones included, by its name in one case.

    A mate that is not among these, nor ALONE, is a cage.
    """
    return {each.code.casefold(): each.code for each in (*log.individuals, *log.withdrawn)}


def kept(log: CohortLog) -> list[Keeping]:
    """Who was kept with whom and when, by individual and time; the spells when alone left out.

    Cages are called as they were first told, whatever their case later, and mates by their codes.
    """
    names = codes_by_name(log)
    codes = set(names)
    found = []
    for code, checks in log.checks.items():
        spells = _spells(checks)
        for (name, since), after in zip(spells, [*spells[1:], None], strict=True):
            folded = name.casefold()
            if folded != ALONE:
                by = names.setdefault(folded, name)
                until = None if after is None else after[1]
                found.append(Keeping(code, by, folded not in codes, since, until))
    return found


def _spells(checks: Iterable[Observation]) -> list[tuple[str, datetime]]:
    """The names told one after the other, and since when; one that was told again stands once."""
    spells: list[tuple[str, datetime]] = []
    for check in checks:
        if check.mate and (not spells or spells[-1][0].casefold() != check.mate.casefold()):
            spells.append((check.mate, check.at))
    return spells


def kept_at(log: CohortLog, at: datetime) -> dict[str, Keeping]:
    """With whom each one was kept just before a moment, by its code; those alone left out.

    So what a look at that moment counts, as eggs since the look before, is of these, and who is
    moved by it is still where it was.
    """
    return {
        each.individual: each
        for each in kept(log)
        if each.since < at and (each.until is None or at <= each.until)
    }


def cages_at(log: CohortLog, at: datetime) -> dict[str, tuple[str, ...]]:
    """The living individuals in each cage just before a moment, in the order of the log."""
    alive = set(log.alive_at(at))
    found: dict[str, tuple[str, ...]] = {}
    for code, each in kept_at(log, at).items():
        if each.cage and code in alive:
            found[each.by] = (*found.get(each.by, ()), code)
    return found
