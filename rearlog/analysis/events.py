"""From checks to events: when each individual passed from stage to stage, as intervals.

A daily look does not see an event, it brackets it: the passage into a stage lies after the last
check that showed an earlier stage and no later than the first that showed it or a later one.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np
import numpy.typing as npt

from rearlog.records.log import CohortLog, Individual, Observation
from rearlog.records.profile import Profile

SECONDS_PER_DAY = 86_400.0
ALIVE, DEAD, LOST, REMOVED = range(4)
FATE_NAMES = (None, "dead", "lost", "removed")
_FATE_NUMBER = {name: number for number, name in enumerate(FATE_NAMES)}

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Development:
    """What the checks of a cohort say of n individuals and S stages, in days since its zero.

    `into_low[i, s]` and `into_high[i, s]`, shape (n, S), bound the passage of individual i into
    stage s: it lies in (low, high], or is known exactly where they are equal. Both are NaN where
    the passage did not happen, was not seen because the individual entered in or after that
    stage, or where an optional stage was passed over. `entry_rank` and `last_rank` (n,) are the
    places of the first and the last known stage; `last_rank` counts the stage at death. `end_low`
    and `end_high` (n,) bound the fate; a loss has happened some time after `end_low`. `last_alive`
    (n,) is the last day on which it was seen alive and `last_check` that of the last record.
    """

    stages: tuple[str, ...]
    optional: npt.NDArray[np.bool_]
    codes: tuple[str, ...]
    entered: Floats
    entry_rank: Integers
    last_rank: Integers
    into_low: Floats
    into_high: Floats
    fate: Integers
    end_low: Floats
    end_high: Floats
    last_alive: Floats
    last_check: Floats
    causes: tuple[str | None, ...]

    @property
    def into(self) -> Floats:
        """Midpoints of the passages, shape (n, S)."""
        return (self.into_low + self.into_high) / 2

    def reached(self, stage: int) -> npt.NDArray[np.bool_]:
        """Who was in this stage or is known to have passed through it, shape (n,)."""
        return np.asarray(~np.isnan(self.into_high[:, stage]) | (self.entry_rank == stage))

    def next_stage(self, stage: int) -> Integers:
        """For each individual the next stage that it passed into after `stage`; -1 for none."""
        seen = ~np.isnan(self.into_high[:, stage + 1 :])
        if seen.shape[1] == 0:
            return np.full(len(self.codes), -1)
        return np.where(seen.any(axis=1), seen.argmax(axis=1) + stage + 1, -1)


def develop(log: CohortLog) -> Development:
    """Derive the event intervals of every individual from the checks that stand in a log."""
    profile = log.cohort.species
    n, stages = len(log.individuals), len(profile.codes)
    into = np.full((2, n, stages), np.nan)
    ranks = np.zeros((2, n), dtype=np.int64)
    fates = np.zeros(n, dtype=np.int64)
    days = np.full((5, n), np.nan)
    causes: list[str | None] = []
    zero = log.cohort.started.timestamp()
    for place, individual in enumerate(log.individuals):
        life = _Life(profile, individual, zero)
        for check in log.checks[individual.code]:
            life.see(check)
        for rank, (low, high) in life.passages.items():
            into[:, place, rank] = low, high
        ranks[:, place] = life.entry_rank, life.rank
        fates[place] = _FATE_NUMBER[life.fate]
        days[:, place] = life.entered, life.end_low, life.end_high, life.last_alive, life.last_check
        causes.append(life.cause)
    return Development(
        stages=profile.codes,
        optional=np.array([stage.optional for stage in profile.stages]),
        codes=tuple(each.code for each in log.individuals),
        entered=days[0],
        entry_rank=ranks[0],
        last_rank=ranks[1],
        into_low=into[0],
        into_high=into[1],
        fate=fates,
        end_low=days[1],
        end_high=days[2],
        last_alive=days[3],
        last_check=days[4],
        causes=tuple(causes),
    )


class _Life:
    """What is known of one individual while its checks are read in time order."""

    __slots__ = (
        "cause",
        "end_high",
        "end_low",
        "entered",
        "entry_rank",
        "fate",
        "last_alive",
        "last_check",
        "passages",
        "profile",
        "rank",
        "zero",
    )

    def __init__(self, profile: Profile, individual: Individual, zero: float) -> None:
        self.profile, self.zero = profile, zero
        self.entered = self._day(individual.entered_at)
        self.rank = self.entry_rank = profile.rank[individual.stage]
        self.passages: dict[int, tuple[float, float]] = {}
        if self.rank == 0 and individual.laid_by is not None:
            earliest = individual.laid_after or individual.laid_by
            self.passages[0] = self._day(earliest), self._day(individual.laid_by)
        self.fate: str | None = None
        self.cause: str | None = None
        self.end_low = self.end_high = np.nan
        self.last_alive = self.last_check = self.entered

    def _day(self, instant: datetime) -> float:
        return (instant.timestamp() - self.zero) / SECONDS_PER_DAY

    def see(self, check: Observation) -> None:
        day = self._day(check.at)
        if check.stage is not None and (rank := self.profile.rank[check.stage]) > self.rank:
            self._pass_into(rank, day, exact=check.witnessed and check.fate is None)
        self.last_check = day
        if check.fate is None:
            self.last_alive = day
            return
        self.fate, self.cause = check.fate, check.cause
        exact = check.witnessed or check.fate == "removed"
        self.end_low, self.end_high = day if exact else self.last_alive, day

    def _pass_into(self, rank: int, day: float, *, exact: bool) -> None:
        for between in range(self.rank + 1, rank):
            if not self.profile.stages[between].optional:
                self.passages[between] = self.last_alive, day
        self.passages[rank] = day if exact else self.last_alive, day
        self.rank = rank
