"""With whom each one is kept, and since when: with a mate, or in a cage that several share.

A look says it from its moment on (`mate=7`, `mate=cage-1`), until another look says otherwise.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from rearlog.records.columns import columns_of
from rearlog.records.entries import Entry, counted_through, shortened, too_many
from rearlog.records.errors import EntryError, Problem
from rearlog.records.fields import COUNTS
from rearlog.records.log import CohortLog, Observation
from rearlog.records.typed_words import RESERVED

ALONE = "alone"
"""Said of one that is kept by itself from then on."""

_COUNTED = frozenset(each.name for each in COUNTS)


class Keeping(Struct, frozen=True):
    """That an individual was kept `by` a mate or in a cage (`cage` says which) from `since` on,
    until the moment `until` at which another look said otherwise (None: it still is)."""

    individual: str
    by: str
    cage: bool
    since: datetime
    until: datetime | None

    def told_at(self, at: datetime) -> bool:
        """Whether a look at this moment tells of it: of the time just before."""
        return self.since < at and (self.until is None or at <= self.until)

    @property
    def words(self) -> str:
        """Where that is, for a card or a question: in cage-1, or with 7."""
        return f"in {self.by}" if self.cage else f"with {self.by}"


def codes_by_name(log: CohortLog) -> dict[str, str]:
    """The code of each individual, withdrawn ones included, by its name in one case.

    A mate that is not among these, nor ALONE, is a cage.
    """
    return {each.code.casefold(): each.code for each in log.everybody}


def kept(log: CohortLog) -> list[Keeping]:
    """Who was kept with whom and when, by individual and time; the spells when alone left out.

    Cages are called as they were first told, whatever their case later, and mates by their codes.
    """
    names = codes_by_name(log)
    codes = set(names)
    found = []
    for code, checks in log.checks.items():
        spells = _spells(checks)
        for (name, since), after in zip(spells, (*spells[1:], None), strict=False):
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
    return {each.individual: each for each in kept(log) if each.told_at(at)}


def cages_at(log: CohortLog, at: datetime) -> dict[str, tuple[str, ...]]:
    """The living individuals in each cage just before a moment, in the order of the log."""
    alive = set(log.alive_at(at))
    found: dict[str, tuple[str, ...]] = {}
    for code, each in kept_at(log, at).items():
        if each.cage and code in alive:
            found[each.by] = (*found.get(each.by, ()), code)
    return found


def sexes(log: CohortLog) -> dict[str, str]:
    """The sex of each individual of which one was told, as it was told last."""
    return {
        code: told[-1]
        for code, checks in log.checks.items()
        if (told := [check.sex for check in checks if check.sex is not None])
    }


def layer(members: Sequence[str], sex: Mapping[str, str]) -> str | None:
    """At whom the eggs of all in a cage are written: its first female, or where none is known its
    first one that is no known male; None where all are males."""
    females = [code for code in members if sex.get(code) == "f"]
    unknown = [code for code in members if code not in sex]
    return next(iter((*females, *unknown)), None)


def with_cages(entries: Sequence[Entry], log: CohortLog, at: datetime) -> list[Entry]:
    """The entries with those who live in a cage in place of its name.

    What is said of a cage holds for every living one in it that no other part of the line names;
    eggs, and eggs hatched, are told once, of the one that `layer` finds. A name that stands for
    individuals too means these. Raises EntryError where nobody is left to tell of, and for the
    eggs of males alone.
    """
    named = set[str]() if too_many(entries) else _cages_named(entries, log)
    if not named:
        return list(entries)
    living = {name.casefold(): members for name, members in cages_at(log, at).items()}
    others = {
        code.casefold()
        for each in entries
        for item in each.who.split(",")
        if item not in named
        for code in counted_through(item)
    }
    sex, problems = sexes(log), list[Problem]()
    found: list[Entry] = []
    for entry in entries:
        told: list[str] = []
        without: list[str] = []
        for item in entry.who.split(","):
            if item not in named:
                told.append(item)
                continue
            members = living.get(item.casefold(), ())
            left = [code for code in members if code.casefold() not in others]
            first = layer(left, sex) if entry.details.keys() & _COUNTED else next(iter(left), None)
            if first is None:
                problems.append(_nobody(item, entry, members, left))
            else:
                told.append(first)
                without += [code for code in left if code != first]
        if told:
            found.append(replace(entry, who=",".join(told)))
        if without:
            details = {name: each for name, each in entry.details.items() if name not in _COUNTED}
            found.append(replace(entry, who=",".join(without), details=details))
    if problems:
        raise EntryError(problems)
    return found


def _cages_named(entries: Sequence[Entry], log: CohortLog) -> set[str]:
    """What a line names that is a cage, or can be nothing else: it ends in no number before its
    hyphen, so that it is no range of codes."""
    told = {name.casefold() for name in columns_of(log)["mate"].distinct if name is not None}
    codes = {each.code.casefold() for each in log.individuals}
    found = set()
    for item in {item for each in entries for item in each.who.split(",")}:
        name = item.casefold()
        if name in codes or name in (ALONE, *RESERVED):
            continue
        run = counted_through(name)
        first, hyphen, _ = name.partition("-")
        if (name in told and not (run and codes.issuperset(run))) or (
            hyphen and not first[-1:].isdecimal()
        ):
            found.add(item)
    return found


def _nobody(cage: str, entry: Entry, members: Sequence[str], left: Sequence[str]) -> Problem:
    place = f"at character {entry.place + 1}, “{shortened(entry.text)}”"
    if left:
        return Problem(f"there are only males in {cage}", place, "tell eggs of a female")
    if members:
        remedy = f"tell it of them: {shortened(', '.join(members))}"
        return Problem(f"the line names all in {cage} by themselves", place, remedy)
    remedy = "who is in it is said with mate, as in: 3 adult mate=" + cage
    return Problem(f"nobody alive is in {cage}", place, remedy)
