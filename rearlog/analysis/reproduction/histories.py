"""From what was written down of a cohort to the lives of its individuals by age."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import datetime

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Booleans, Floats, Integers
from rearlog.analysis.reproduction.lives_by_age import FEMALE, MALE, UNKNOWN, EggCounts, LivesByAge
from rearlog.analysis.stages.events import DEAD, REMOVED, EventHistory
from rearlog.analysis.statistics.turnbull import DECIMALS
from rearlog.analysis.survival.sexes import sexes_of
from rearlog.analysis.survival.survival import Sex
from rearlog.records.cages import Keeping, kept
from rearlog.records.log import CohortLog

SEXES = {Sex.FEMALE: FEMALE, Sex.MALE: MALE, Sex.NOT_KNOWN: UNKNOWN}


class Histories(Struct, frozen=True, eq=False):
    """The lives of those whose age is known, and which of all individuals they are, `who` (N,).

    Of `since_entry` it is not known when the egg was laid: their age counts from when they came
    under watch. `caged` says whether some shared a cage or a container, and so count as one. Of
    `cages_unsexed` cages eggs were shared among animals of unknown sex. `males_records` are records
    of eggs that only males can have laid: in doubt, and their `males_eggs` not counted. The
    `later_eggs` were told of individuals that entered later than as an egg, of whatever sex.
    """

    lives: LivesByAge
    who: Booleans
    since_entry: int
    caged: bool
    cages_unsexed: int
    males_records: int
    males_eggs: int
    later_eggs: int


class _Count(Struct, frozen=True):
    """Eggs counted at a look at an individual: since the look before, in days; of its cage, if it
    was in one. `hatched` is None where nobody counted those."""

    row: int
    after: float
    by: float
    eggs: int
    hatched: int | None
    cage: str | None


def histories(log: CohortLog, history: EventHistory) -> Histories:
    """The lives of a cohort by age in days, from the looks at it.

    The age counts from the middle of the time in which the egg was laid, or from entry where that
    is not known; who entered later than as an egg is of no known age and is left out. A passage or
    a death is dated to the middle of the time between the looks around it. Eggs counted at a look
    were laid since the look before, or since its mother became adult or came into the cage, and
    until she died. Where eggs are not told, none were laid. Of a female or cage of which somebody
    counted hatched eggs, all eggs count as followed.

    Of which sex each one is, `sexes_of` says, and eggs change nothing of it here: they go to whom
    may have laid them. Eggs of one's own are hers, unless it is known to be male. Those of a cage,
    of whomever in it they are told, are shared equally among those in it that had not been found
    dead by an earlier look: the females, or, where none is known, all that are not known to be
    male. These lay them as animals of unknown sex, so that no part of females rests on them. Where
    all who may have laid eggs are males, a record is in doubt: its counts are left out.
    """
    laid_low, laid_high = history.into_low[:, 0], history.into_high[:, 0]
    as_egg = history.entry_rank == 0
    laid = (laid_low + laid_high) / 2
    zero = np.where(np.isnan(laid), history.entered, laid)
    end = np.where(
        history.fate == DEAD,
        (history.end_low + history.end_high) / 2,
        np.where(history.fate == REMOVED, history.end_high, history.last_alive),
    )
    became = history.into[:, -1]
    gone = np.where(history.fate == DEAD, end, np.inf)
    keepings = kept(log)
    sex = np.array([SEXES[each] for each in sexes_of(log)], dtype=np.int64)
    cages = _cages(log, keepings)
    counts, of_males = list[_Count](), list[_Count]()
    shared, unsexed = list[tuple[int, float, float, float]](), set[str]()
    for each in _counts(log, history, keepings):
        mothers = _mothers(each, history, sex, cages)
        (counts if mothers else of_males).append(each)
        if mothers and each.eggs:
            shared += [(row, each.after, each.by, each.eggs / len(mothers)) for row in mothers]
            if each.cage is not None and sex[mothers[0]] == UNKNOWN:
                unsexed.add(each.cage)
    in_doubt = [each for each in of_males if as_egg[each.row]]
    later_eggs = sum(eggs for row, _, _, eggs in shared if not as_egg[row])
    later_eggs += sum(each.eggs for each in of_males if not as_egg[each.row])
    followed, hatched = _hatching(counts, len(zero))
    units, caged = _units(log, cages)
    return Histories(
        lives=LivesByAge(
            stages=history.stages,
            entered=_ages(history.entered, zero)[as_egg],
            until=_ages(end, zero)[as_egg],
            died=(history.fate == DEAD)[as_egg],
            sex=sex[as_egg],
            into=_stages(history, zero)[as_egg],
            units=units[as_egg],
            laid=_egg_counts(shared, zero, became, gone, as_egg),
            followed=followed[as_egg],
            hatched=hatched[as_egg],
        ),
        who=as_egg,
        since_entry=int((as_egg & np.isnan(laid)).sum()),
        caged=caged,
        cages_unsexed=len(unsexed),
        males_records=len(in_doubt),
        males_eggs=sum(each.eggs for each in in_doubt),
        later_eggs=round(later_eggs),
    )


def _ages(days: Floats, zero: Floats) -> Floats:
    return np.asarray(np.maximum(0.0, days - zero).round(DECIMALS))


def _stages(history: EventHistory, zero: Floats) -> Floats:
    """The ages at the passages, (n, S): −inf for the egg, in which all of them began."""
    into = (history.into - zero[:, None]).round(DECIMALS)
    into[:, 0] = -np.inf
    return np.asarray(into)


def _counts(log: CohortLog, history: EventHistory, keepings: list[Keeping]) -> Iterator[_Count]:
    """Every count of eggs laid or hatched, by individual and time."""
    clock = log.cohort.clock
    rows = {code: row for row, code in enumerate(history.codes)}
    spells = defaultdict[str, list[Keeping]](list)
    for each in keepings:
        if each.cage:
            spells[each.individual].append(each)
    for code, checks in log.checks.items():
        before = last = log.by_code[code].entered_at
        for check in checks:
            if check.at > last:
                before, last = last, check.at
            if check.eggs is not None or check.hatched is not None:
                spell = _spell(spells[code], check.at)
                since = before if spell is None else max(before, spell.since)
                yield _Count(
                    rows[code],
                    clock.days(since),
                    clock.days(check.at),
                    check.eggs or 0,
                    check.hatched,
                    None if spell is None else spell.by,
                )


def _spell(spells: list[Keeping], at: datetime) -> Keeping | None:
    """The spell in a cage that a look at this moment tells of: that of the time before it."""
    return next((each for each in spells if each.told_at(at)), None)


_Cages = dict[str, list[tuple[int, float, float]]]
"""Who was in each cage: the row, and from which day until which."""


def _cages(log: CohortLog, keepings: list[Keeping]) -> _Cages:
    clock = log.cohort.clock
    rows = {each.code: row for row, each in enumerate(log.individuals)}
    found: _Cages = defaultdict(list)
    for each in keepings:
        if each.cage:
            until = np.inf if each.until is None else clock.days(each.until)
            found[each.by].append((rows[each.individual], clock.days(each.since), until))
    return found


def _mothers(count: _Count, history: EventHistory, sex: Integers, cages: _Cages) -> list[int]:
    """The rows of those who may have laid the eggs of a count; none where all there are males."""
    there = [
        row
        for row, since, until in ([] if count.cage is None else cages[count.cage])
        if since < count.by <= until and not history.end_high[row] <= count.after
    ] or [count.row]
    females = [row for row in there if sex[row] == FEMALE]
    return females or [row for row in there if sex[row] != MALE]


def _egg_counts(
    shared: list[tuple[int, float, float, float]],
    zero: Floats,
    became: Floats,
    gone: Floats,
    known: Booleans,
) -> EggCounts:
    """The shares as ages of those that are `known`, from when they `became` adult (NaN: unknown)
    until they were `gone`."""
    place = np.cumsum(known) - 1
    told = np.array([each for each in shared if known[each[0]]], dtype=float).reshape(-1, 4)
    row = told[:, 0].astype(np.int64)
    by = np.minimum(told[:, 2], gone[row])
    adult = np.where(np.isnan(became[row]), -np.inf, became[row])
    after = np.minimum(np.maximum(told[:, 1], adult), by)
    return EggCounts(place[row], _ages(after, zero[row]), _ages(by, zero[row]), told[:, 3])


def _hatching(counts: list[_Count], n: int) -> tuple[Floats, Floats]:
    """The eggs followed, and those of them that hatched, by the individual of whom it was told."""
    of_whom = defaultdict[object, list[_Count]](list)
    for each in counts:
        of_whom[each.row if each.cage is None else each.cage].append(each)
    followed, hatched = np.zeros(n), np.zeros(n)
    for theirs in of_whom.values():
        if any(each.hatched is not None for each in theirs):
            for each in theirs:
                followed[each.row] += each.eggs
                hatched[each.row] += each.hatched or 0
    return followed, hatched


def _units(log: CohortLog, cages: _Cages) -> tuple[Integers, bool]:
    """A label for each individual, the same for those that shared a container or a cage, be it
    with others between them; and whether any did."""
    label = [*range(len(log.individuals))]

    def first(row: int) -> int:
        while label[row] != row:
            label[row] = row = label[label[row]]
        return row

    groups = defaultdict[str, list[int]](list)
    for row, each in enumerate(log.individuals):
        if each.container is not None:
            groups[each.container].append(row)
    for rows in (*groups.values(), *([row for row, *_ in each] for each in cages.values())):
        for row in rows:
            one, other = sorted((first(rows[0]), first(row)))
            label[other] = one
    found = np.array([first(row) for row in label], dtype=np.int64)
    return found, len(np.unique(found)) < len(found)
