"""Invented lives, and a life table worked out from them with plain loops."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rearlog.analysis.reproduction.lives_by_age import FEMALE, MALE, UNKNOWN, EggCounts, LivesByAge

STAGES = ("egg", "larva", "adult")


@dataclass
class Life:
    """One life: when it became larva and adult, and when its watch ended how; eggs as
    (after, by, number); eggs followed, and hatched of them."""

    larva: float | None = None
    adult: float | None = None
    end: float = 0.0
    died: bool = True
    sex: int = UNKNOWN
    eggs: tuple[tuple[float, float, float], ...] = ()
    entered: float = 0.0
    unit: int | None = None
    hatch: tuple[int, int] = (0, 0)


def lives(*told: Life) -> LivesByAge:
    nan = math.nan
    counts = [(row, *each) for row, life in enumerate(told) for each in life.eggs]
    row, after, by, eggs = zip(*counts, strict=True) if counts else ((), (), (), ())
    return LivesByAge(
        stages=STAGES,
        entered=np.array([each.entered for each in told]),
        until=np.array([each.end for each in told]),
        died=np.array([each.died for each in told]),
        sex=np.array([each.sex for each in told]),
        into=np.array(
            [(-math.inf, nan if one.larva is None else one.larva, one.adult or nan) for one in told]
        ),
        units=np.array([n if each.unit is None else each.unit for n, each in enumerate(told)]),
        laid=EggCounts(
            np.array(row, dtype=np.int64), *(np.array(each, float) for each in (after, by, eggs))
        ),
        followed=np.array([float(each.hatch[0]) for each in told]),
        hatched=np.array([float(each.hatch[1]) for each in told]),
    )


def drawn_lives(n: int, seed: int, *, censored: float = 0.0, eggs_a_day: float = 6.0) -> LivesByAge:
    """`n` lives of about a month; a part `censored` are lost at some age."""
    rng = np.random.default_rng(seed)
    told = []
    for _ in range(n):
        larva, adult = rng.uniform(2, 4), rng.uniform(9, 14)
        end = rng.uniform(0, adult) if rng.random() < 0.3 else adult + rng.uniform(2, 15)
        died = True
        if rng.random() < censored:
            end, died = rng.uniform(0, end), False
        grown = end > adult
        sex = int(rng.choice([FEMALE, MALE])) if grown else UNKNOWN
        eggs = []
        after = adult + 1.5
        while sex == FEMALE and after < end:
            by = min(after + 1, end)
            eggs.append((after, by, float(rng.poisson(eggs_a_day * (by - after)))))
            after = by
        told.append(
            Life(
                larva if end > larva else None,
                adult if grown else None,
                end,
                died,
                sex,
                tuple(eggs),
                hatch=(10, int(rng.binomial(10, 0.8))) if eggs else (0, 0),
            )
        )
    return lives(*told)


def known_lives(
    n: int, seed: int, stay: float, adult: int, eggs: float
) -> tuple[LivesByAge, float]:
    """Lives that each day end with probability 1 − `stay`, of females that on each whole day from
    the age `adult` on lay `eggs` on average: and the r that these numbers give in the long run.

    Per egg stay^x·eggs are laid on day x, so that Σ exp(−r(x + ½))·stay^x·eggs is a geometric sum.
    """
    rng = np.random.default_rng(seed)
    days = rng.geometric(1 - stay, n) - 1
    told = []
    for alive in days.tolist():
        counts = rng.poisson(eggs, max(0, alive + 1 - adult)).tolist()
        told.append(
            Life(
                1.0 if alive >= 1 else None,
                float(adult) if alive >= adult else None,
                alive + 1.0,
                sex=FEMALE,
                eggs=tuple((adult + x, adult + x + 1.0, float(n)) for x, n in enumerate(counts)),
            )
        )
    low, high = math.log(stay), 5.0
    for _ in range(200):
        r = (low + high) / 2
        q = stay * math.exp(-r)
        total = eggs * math.exp(-r / 2) * q**adult / (1 - q) if q < 1 else math.inf
        low, high = (r, high) if total > 1 else (low, r)
    return lives(*told), r


def by_loops(found: LivesByAge) -> tuple[list[float], list[float]]:
    """l_x and l_x·m_x of both sexes, life by life and day by day."""
    last = int(max([*found.until, *found.laid.by, 0])) + 1
    alive, survival, born = 1.0, [], []
    for x in range(last):
        at_risk = dead = 0
        eggs = 0.0
        for i, end in enumerate(found.until):
            start = 0 if found.entered[i] < 1 else math.ceil(found.entered[i])
            day = max(0, math.ceil(end) - 1)
            here = start <= x and (x <= day if found.died[i] else x + 1 <= end)
            if not here:
                continue
            at_risk += 1
            dead += bool(found.died[i]) and x == day
            for k, row in enumerate(found.laid.row):
                if row == i:
                    after, by = found.laid.after[k], found.laid.by[k]
                    part = max(0.0, min(by, x + 1) - max(after, x)) / (by - after)
                    eggs += found.laid.eggs[k] * part
        survival.append(alive)
        born.append(alive * eggs / at_risk if at_risk else 0.0)
        alive *= 1 - dead / at_risk if at_risk else 1.0
    return survival, born
