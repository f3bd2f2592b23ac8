"""Invented cohorts in which people take one instar for another, and what three ways make of them.

The animals and their observers share no code with the package: gamma durations, a look a day at
about the same hour, and people who often only say “no change”.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from msgspec.structs import replace

from rearlog.analysis.stages.events import EventHistory, event_history
from rearlog.analysis.stages.stage_times import completed, stage_times
from rearlog.analysis.statistics.checked_mean import checked_mean
from rearlog.records.log import Cohort, CohortLog, Individual, Observation
from rearlog.records.profile import Profile, Source, StageProfile
from tests.builders import START

STAGES = ("egg", "L1", "L2", "L3", "L4", "L5", "pupa", "adult")
INSTARS = ("L1", "L2", "L3", "L4", "L5")
DAYS = {"egg": 4.0, "L1": 3.0, "L2": 3.0, "L3": 3.0, "L4": 3.5, "L5": 4.5, "pupa": 8.0}
"""Mean days in each stage; the CV of an individual's is 15 %."""
CV = 0.15
COPIED = 0.5
"""So many looks at animals that have not molted are a glance, which says “no change”."""

PROFILE = Profile(
    id="invented",
    name="invented moth",
    scientific_name="Invented moth",
    stages=tuple(StageProfile(code, code) for code in STAGES),
    sources={"test": Source("own", "made for a test")},
)


@dataclass(frozen=True)
class Habits:
    """How people look: `wrong` of the calls of an instar are of the one before or after it.

    `glances` of the looks at what has not molted say “no change” without a look at the stage.
    With `taps`, whoever looks and finds what was said before says “no change” as well.
    """

    wrong: float
    glances: float = COPIED
    taps: bool = False


def cohort(rng: np.random.Generator, habits: Habits, n: int = 40) -> CohortLog:
    """A cohort looked at every day until the last is adult."""
    shape = 1 / CV**2
    means = np.array([DAYS[stage] for stage in STAGES[:-1]])
    laid = rng.uniform(-2.0, 0.0, n)
    into = laid[:, None] + np.cumsum(rng.gamma(shape, means / shape, (n, len(means))), axis=1)
    looks = np.arange(1, int(into.max()) + 2) + rng.uniform(-0.1, 0.1, int(into.max()) + 1)
    observations = [
        observation
        for row in range(n)
        for observation in _told(rng, habits, str(row), into[row], looks)
    ]
    individuals = tuple(
        Individual(str(row), START, STAGES[int((into[row] <= 0).sum())]) for row in range(n)
    )
    return CohortLog(
        Cohort("invented", PROFILE, "UTC", START, START), individuals, tuple(observations)
    )


def _told(
    rng: np.random.Generator, habits: Habits, code: str, into: np.ndarray, looks: np.ndarray
) -> Iterator[Observation]:
    last, before = int((into <= 0).sum()), int((into <= 0).sum())
    for day in looks:
        at = START + timedelta(days=float(day))
        true = int((into <= day).sum())
        said = _call(rng, habits, true)
        glance = true == before and rng.random() < habits.glances
        if glance or (habits.taps and said == last):
            yield Observation(code, at, same=True)
        else:
            yield Observation(code, at, STAGES[said])
            last = said
        before = true
        if true == len(STAGES) - 1:
            return


def _call(rng: np.random.Generator, habits: Habits, true: int) -> int:
    """What is called: an instar may be taken for its neighbour, where that is an instar too."""
    if STAGES[true] in INSTARS and rng.random() < habits.wrong:
        other = true + (1 if rng.random() < 0.5 else -1)
        if STAGES[other] in INSTARS:
            return other
    return true


def believing(log: CohortLog) -> EventHistory:
    """Every call believed: each stage begins with the first call of it or a later one."""
    rank = {each.code: STAGES.index(each.stage) for each in log.individuals}
    looks = []
    for look in log.all_observations:
        if look.stage is not None:
            rank[look.individual] = max(rank[look.individual], STAGES.index(look.stage))
        looks.append(replace(look, stage=STAGES[rank[look.individual]], same=False))
    return event_history(CohortLog(log.cohort, log.individuals, tuple(looks)))


def dropping(log: CohortLog) -> EventHistory:
    """Without the individuals that have a call of a stage before one that was called earlier."""
    highest = {each.code: STAGES.index(each.stage) for each in log.individuals}
    wrong = set()
    for look in log.all_observations:
        if look.stage is not None:
            rank = STAGES.index(look.stage)
            if rank < highest[look.individual]:
                wrong.add(look.individual)
            highest[look.individual] = max(rank, highest[look.individual])
    kept = tuple(each for each in log.individuals if each.code not in wrong)
    looks = tuple(each for each in log.all_observations if each.individual not in wrong)
    return event_history(CohortLog(log.cohort, kept, looks))


WAYS = {"settled": event_history, "believed": believing, "dropped": dropping}


@dataclass
class Held:
    """Of `cohorts` intervals of a mean so many held the truth; one that there is not holds nothing.

    Sums of the bias and the width in days, and of the animals that the means rest on.
    """

    cohorts: int = 0
    held: int = 0
    bias: float = 0.0
    width: float = 0.0
    animals: int = 0

    @property
    def part(self) -> float:
        return self.held / self.cohorts


def trial(seed: int, habits: Habits, cohorts: int, n: int = 40) -> dict[str, dict[str, Held]]:
    """What the 95 % intervals of mean durations hold, by way and instar."""
    rng = np.random.default_rng(seed)
    found = {way: {stage: Held() for stage in INSTARS} for way in WAYS}
    for _ in range(cohorts):
        log = cohort(rng, habits, n)
        for way, derive in WAYS.items():
            history = derive(log)
            for stage in INSTARS:
                values, passages, _ = completed(stage_times(history, stage))
                mean = checked_mean(values, passages)
                tally = found[way][stage]
                tally.cohorts += 1
                if mean is not None:
                    low, high = mean.interval
                    tally.held += low <= DAYS[stage] <= high
                    tally.bias += mean.mean - DAYS[stage]
                    tally.width += high - low
                    tally.animals += mean.n
    return found


def pooled(by_stage: dict[str, Held]) -> Held:
    """All instars together."""
    every = by_stage.values()
    return Held(
        sum(each.cohorts for each in every),
        sum(each.held for each in every),
        sum(each.bias for each in every),
        sum(each.width for each in every),
        sum(each.animals for each in every),
    )
