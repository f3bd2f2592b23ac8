"""How fast a population grows in which so many eggs follow each egg, at such ages.

The equation of Euler and Lotka: Σ exp(−r·a)·φ = 1, where φ eggs are laid at the age a for each egg
at the start. Source: Lotka 1907, Science 26:21–22 (cited from memory); Birch 1948, J. Anim. Ecol.
17:15–26.
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np

from rearlog.analysis.arrays import Floats

STEPS = 100
"""More steps than Newton's method ever needs here: seven or so, each with twice the digits."""
NEAR_ENOUGH = 1e-13
"""A step this small against 1 + |r| ends the search."""
NEAR_ZERO = 1e-6
"""Below this r, T is taken as Tc: their difference, of the order of r, is then lost in rounding."""


class EggAge(StrEnum):
    """At what age the eggs of the day from age x to age x + 1 count as laid.

    They were laid all through it, hence on average at `MIDDLE`, which is the usual choice here and
    that of Birch 1948 (“pivotal age”). `START` makes r a little larger: it is what tables give that
    know ages in whole days alone.
    """

    MIDDLE = "x + 0.5"
    START = "x"

    @property
    def days(self) -> float:
        """How long after age x that is, in days."""
        return 0.5 if self is EggAge.MIDDLE else 0.0


def intrinsic_rate(born: Floats, ages: Floats) -> Floats:
    """The intrinsic rate of increase r, of each of b populations, shape (b,), per unit of age.

    `born` (b, X): eggs laid at each age for one egg at the start, l_x·m_x; `ages` (X,). It is −inf
    where none are laid. Raises ValueError where eggs are laid at an age that is not above 0.

    ln Σ exp(−r·a)·φ falls with r and is convex, so Newton's steps cannot miss its only root:
    wherever they begin, they come from below from the second on.
    """
    laid = (born > 0).any(axis=0)
    if (ages[laid] <= 0).any():
        raise ValueError("no egg can be laid at age 0 or before")
    rate = np.full(len(born), -np.inf)
    some = (born > 0).any(axis=1)
    if not some.any():
        return rate
    at = ages[laid]
    with np.errstate(divide="ignore"):
        logs = np.log(born[np.ix_(some, laid)])
    r = np.zeros(len(logs))
    for _ in range(STEPS):
        terms = logs - r[:, None] * at
        largest = terms.max(axis=1)
        weights = np.exp(terms - largest[:, None])
        total = weights.sum(axis=1)
        step = (np.log(total) + largest) * total / (weights @ at)
        r += step
        if (np.abs(step) <= NEAR_ENOUGH * (1 + np.abs(r))).all():
            break
    rate[some] = r
    return rate


def generation_times(born: Floats, ages: Floats, rate: Floats) -> tuple[Floats, Floats]:
    """T and Tc of each of b populations, both (b,), in units of age; NaN where none are laid.

    T = ln R0 / r is the time in which a population that grows by r becomes R0 times as large; Tc =
    Σ a·φ / Σ φ is the mean age at which the eggs of a cohort are laid. Where r is 0 both are one.
    Source: Birch 1948, J. Anim. Ecol. 17:15–26; the names as in May 1976, Am. Nat. 110:496–499
    (cited from memory).
    """
    total = born.sum(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        cohort = born @ ages / total
        growing = np.log(total) / rate
    same = np.isnan(cohort) | (np.abs(rate) < NEAR_ZERO)
    return np.where(same, cohort, growing), cohort
