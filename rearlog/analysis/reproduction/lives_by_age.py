"""The lives of individuals by age, as a life table needs them, and how many days each was watched.

Ages are days since the egg was laid. A day of age x is the time from age x to x + 1.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Booleans, Floats, Integers

FEMALE, MALE, UNKNOWN = 0, 1, 2
"""The sex of an individual, as the place of its adults behind the stages before them."""


class EggCounts(Struct, frozen=True, eq=False):
    """The k counts of eggs: of which individual (`row`), and laid between which of its ages
    (`after`, `by`), all (k,). Of a cage it is the share of each that lived in it."""

    row: Integers
    after: Floats
    by: Floats
    eggs: Floats

    def by_day(self, n: int, days: int, since: Floats | None = None) -> Floats:
        """The eggs of n individuals on each day of age, spread evenly over the time in which they
        were laid, (n, days); or on each day from the ages `since` (n,) on."""
        start = 0.0 if since is None else since[self.row]
        after, by = np.maximum(self.after - start, 0.0), np.maximum(self.by - start, 0.0)
        first, width = np.floor(after), by - after
        laid = np.zeros((n, days))
        for more in range(int((np.floor(by) - first).max(initial=-1)) + 1):
            day = first + more
            within = np.maximum(np.minimum(by, day + 1) - np.maximum(after, day), 0.0)
            at_once = np.full(len(day), float(more == 0))
            part = np.divide(within, width, out=at_once, where=width > 0)
            here = part > 0
            np.add.at(laid, (self.row[here], day[here].astype(np.intp)), (self.eggs * part)[here])
        return laid


class LivesByAge(Struct, frozen=True, eq=False):
    """n individuals of S stages, the last of which is the adult.

    `entered` and `until` (n,) are the ages between which each was watched, the latter at its death
    where it `died` (n,), else when it was last known to live. `sex` (n,) is FEMALE, MALE or
    UNKNOWN. `into` (n, S) is the age at which it came into each stage: −inf for the one in which it
    was first seen, NaN for others that it was not seen to come into. `units` (n,) labels those
    that are alike in more than chance, since they shared a cage. `laid` are the eggs that were
    counted; of `followed` (n,) of them it was counted how many `hatched` (n,).
    """

    stages: tuple[str, ...]
    entered: Floats
    until: Floats
    died: Booleans
    sex: Integers
    into: Floats
    units: Integers
    laid: EggCounts
    followed: Floats
    hatched: Floats

    @property
    def days(self) -> int:
        """How many days of age there are, X: to the end of the last life."""
        last = max(self.until.max(initial=0.0), self.laid.by.max(initial=0.0))
        return int(last) + 1

    @property
    def adult_from(self) -> Floats:
        """The age at which each became adult, shape (n,): inf where it did not, −inf where it was
        first seen as one."""
        into = self.into[:, -1]
        return np.where(np.isnan(into), np.inf, into)


class WatchedDays(Struct, frozen=True, eq=False):
    """Which of n individuals were watched through which of X days, and how these days ended.

    `watched` (n, X) says who was alive at age x and was watched until x + 1 or until it died
    before; `dies` (n, X) who died on that day, `lived` (n, X) which part of the day it lived.
    """

    watched: Booleans
    dies: Booleans
    lived: Floats


def watched_days(entered: Floats, until: Floats, died: Booleans, days: int) -> WatchedDays:
    """The whole days through which individuals were watched, by age; arguments (n,), in days.

    Who was lost, removed or still lives counts through its last whole day, and no more: nobody
    knows how the day ended on which it went. Who came under watch later than on its first day
    counts from its next birthday on, since it could not be found dead before. That is right as long
    as those who go are neither more nor less likely to die than those who stay, as in the estimate
    of Kaplan & Meier 1958, J. Am. Stat. Assoc. 53:457–481. On the first day everybody counts: eggs
    come under watch some hours after they are laid. A death at age d, be it a whole day, is one of
    the day before d.
    """
    x = np.arange(days)
    first = np.where(entered < 1, 0.0, np.ceil(entered))
    last = np.where(died, np.maximum(np.ceil(until) - 1, 0), np.floor(until) - 1)
    watched = (first[:, None] <= x) & (x <= last[:, None])
    dies = watched & died[:, None] & (x == last[:, None])
    lived = np.where(watched, np.clip(until[:, None] - x, 0.0, 1.0), 0.0)
    return WatchedDays(watched, dies, lived)


def classes(lives: LivesByAge) -> tuple[tuple[str, int | None], ...]:
    """The stage and (of adults alone) the sex of each of the S + 2 classes of `class_at`."""
    young = tuple((stage, None) for stage in lives.stages[:-1])
    return *young, *((lives.stages[-1], sex) for sex in (FEMALE, MALE, UNKNOWN))


def class_at(lives: LivesByAge, days: int) -> Integers:
    """The class in which each individual is at the ages 0, 1 … days − 1, shape (n, days)."""
    x = np.arange(days)
    place = np.zeros((len(lives.until), days), dtype=np.int64)
    for stage in range(len(lives.stages)):
        place = np.where(lives.into[:, [stage]] <= x, stage, place)
    adult = len(lives.stages) - 1
    return np.where(place == adult, adult + lives.sex[:, None], place)
