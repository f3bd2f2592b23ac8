"""Survival, eggs, life to come and reproductive value by age, and by age and stage."""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Floats
from rearlog.analysis.reproduction.euler_lotka import EggAge
from rearlog.analysis.reproduction.lives_by_age import LivesByAge, class_at, watched_days
from rearlog.analysis.reproduction.schedules import ByAge, UnitSums, ratio


class AgeStage(Struct, frozen=True, eq=False):
    """The life table of both sexes by X days of age and K classes (see `classes`).

    By age, each (X,): `n` watched through the day, `l` alive at age x, `m` eggs on the day for each
    of them, `e` days still to live, `v` the reproductive value, `c` the part of age x in a
    population of stable ages. By age and class, each (X, K): `number`, the part `s` of the eggs at
    the start that is alive in the class, and `f`, `e_of`, `v_of`, `c_of` accordingly. `v` and `c`
    are NaN without eggs.
    """

    n: Floats
    l: Floats  # noqa: E741 - the column's standard name
    m: Floats
    e: Floats
    v: Floats
    c: Floats
    number: Floats
    s: Floats
    f: Floats
    e_of: Floats
    v_of: Floats
    c_of: Floats


def age_stage(lives: LivesByAge, sums: UnitSums, r: float, age: EggAge) -> AgeStage:
    """The life table by age and stage, given the intrinsic rate r a day (−inf without eggs).

    s_xj is l_x times the part of those watched at age x that is in class j, f_xj the eggs of the
    day for each of these, by the class in which they were at its start. What is to come for one in
    class j at age x, e_xj days and v_xj eggs discounted by r, is the sum over this day and the
    classes in which those come into the next that live on. A day on which one dies counts as far as
    it lived: tables that count whole days begun have half a day more. v of an egg at age 0 is 1.
    Where all of a class were lost on a day, nothing is to come for it in the table.
    Source: Chi & Liu 1985, Bull. Inst. Zool. Acad. Sin. 24:225–240; e_xj Chi & Su 2006, Environ.
    Entomol. 35:10–21; v_xj Tuan et al. 2014, Pest Manag. Sci. 70:805–813 (the last two cited from
    memory); v_x Fisher 1930, The Genetical Theory of Natural Selection; c_x Birch 1948.
    """
    count, days = len(lives.units), lives.days
    everybody = np.ones((1, sums.units))
    total = sums.everybody.of(everybody)
    both = sums.both_sexes(everybody)
    watch = watched_days(lives.entered, lives.until, lives.died, days)
    place, size = class_at(lives, days), len(lives.stages) + 2
    member = (place[:, :, None] == np.arange(size)) * watch.watched[:, :, None].astype(np.float64)
    number = member.sum(axis=0)
    eggs = np.einsum("ix,ixk->xk", lives.laid.by_day(count, days), member)
    lived = ratio(np.einsum("ix,ixk->xk", watch.lived, member), number)
    deaths = np.einsum("ix,ixk->xk", watch.dies, member)
    f, alive = ratio(eggs, number), both.alive[0, :-1]
    stays = 1 - ratio(deaths, number)
    discount, within = _discounts(r, age)
    e_of, v_of = np.zeros((days + 1, size)), np.zeros((days + 1, size))
    for x in range(days - 1, -1, -1):
        into = np.zeros((size, size))
        if x + 1 < days:
            on = watch.watched[:, x] & watch.watched[:, x + 1]
            np.add.at(into, (place[on, x], place[on, x + 1]), 1.0)
        going = into.sum(axis=1, keepdims=True)
        chance = ratio(into, np.broadcast_to(going, into.shape)) * stays[x][:, None]
        e_of[x] = lived[x] + chance @ e_of[x + 1]
        v_of[x] = within * f[x] + discount * (chance @ v_of[x + 1])
    here = ratio(number, np.broadcast_to(total.watched[0][:, None], number.shape))
    c = _stable(alive, r)
    return AgeStage(
        n=total.watched[0],
        l=alive,
        m=both.laid[0],
        e=total.expectation()[0, :-1],
        v=_reproductive_value(both, discount, within),
        c=c,
        number=number,
        s=alive[:, None] * here,
        f=f,
        e_of=e_of[:-1],
        v_of=v_of[:-1],
        c_of=c[:, None] * here,
    )


def _discounts(r: float, age: EggAge) -> tuple[float, float]:
    """What an egg is worth a day later, and what one of this day is; NaN without r."""
    if not math.isfinite(r):
        return math.nan, math.nan
    return math.exp(-r), math.exp(-r * age.days)


def _reproductive_value(both: ByAge, discount: float, within: float) -> Floats:
    """v_x = exp(r·x)/l_x · Σ exp(−r·(y + h))·l_y·m_y over the ages y from x on, shape (X,)."""
    born, alive = both.born[0], both.alive[0]
    value = np.zeros(len(born) + 1)
    for x in range(len(born) - 1, -1, -1):
        value[x] = within * born[x] + discount * value[x + 1]
    return ratio(value[:-1], alive[:-1])


def _stable(alive: Floats, r: float) -> Floats:
    """c_x = exp(−r·x)·l_x, as parts of their sum, shape (X,)."""
    if not math.isfinite(r):
        return np.full(len(alive), np.nan)
    logs = np.where(alive > 0, -r * np.arange(len(alive)), -np.inf)
    share = alive * np.exp(logs - logs.max())
    return np.asarray(share / share.sum())
