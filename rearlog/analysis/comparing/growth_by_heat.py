"""How fast populations grow at different temperatures, and at which they grow fastest."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

import numpy as np
from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.arrays import mean_of_known
from rearlog.analysis.comparing.cohorts import ComparedCohort, at_several_temperatures
from rearlog.analysis.comparing.rate_curves import RateCurve, best_bent, rate_curves, why_no_bend
from rearlog.analysis.comparing.rate_models import NoRate
from rearlog.analysis.reproduction.estimates import Measure
from rearlog.analysis.reproduction.reproduction import Reproduction
from rearlog.records.errors import UsageError


class GrowthPoint(Struct, frozen=True):
    """The intrinsic rate `r` (a day) of a cohort at its mean temperature (°C), with its error.

    `n` individuals entered as eggs; `se`, `low` and `high` are by the bootstrap over them, None
    where they are too few. `r` is None where no eggs were counted: where nobody is among the
    `adults` either, such a population dies out. `used` are the points of the fit: those that grow,
    and were not left out by name.
    """

    cohort: str
    temperature: float
    n: int
    adults: int
    r: float | None
    se: float | None
    low: float | None
    high: float | None
    used: bool


class GrowthByHeat(Answer, frozen=True):
    """The growth of populations by temperature.

    `curves` are the laws that the points allow, the best first, and `no_curve` says why none of
    them bends. `fastest` is the r of the best curve at its optimum; None where no cohort lies past
    that. Of the cohorts, some may have been `left_out` by name; those `without_temperatures` give
    no points.
    """

    species: str
    cohorts: tuple[str, ...]
    left_out: tuple[str, ...]
    without_temperatures: tuple[str, ...]
    points: tuple[GrowthPoint, ...]
    curves: tuple[RateCurve, ...]
    no_curve: NoRate | None
    fastest: float | None

    @property
    def best_curve(self) -> RateCurve | None:
        """The law that the points prefer, unless that is the straight line."""
        return best_bent(self.curves)


LifeTableOf = Callable[[int], Reproduction | None]
"""For the place of a cohort its life table; None where no eggs were counted in it."""


def growth_by_heat(
    cohorts: Sequence[ComparedCohort], life_table: LifeTableOf, leave_out: Collection[str] = ()
) -> GrowthByHeat:
    """Fit the intrinsic rate of increase against temperature by the laws of the development rate.

    A point is a cohort: its r at the mean temperature that its individuals had all their lives.
    The laws are 0 at their thresholds and have no rates below 0, so a population that shrinks, or
    leaves no eggs, is shown and not fitted. Weights, limits and the temperatures that a law needs
    are those of `rate_curves`. Raises UsageError for fewer than two cohorts, one given twice,
    different species, an unknown name to leave out, or where none has eggs and temperatures.
    Source: see `rate_curves`; the laws for r as for development: Huey & Berrigan 2001, Am. Nat.
    158:204–210 (cited from memory).
    """
    species, names = at_several_temperatures(
        cohorts, leave_out, "growth by temperature needs cohorts at two, better six"
    )
    warm = {place: _celsius(each) for place, each in enumerate(cohorts)}
    points = tuple(
        _point(cohorts[place], celsius, life_table(place), leave_out)
        for place, celsius in warm.items()
        if celsius is not None
    )
    if all(each.r is None for each in points):
        raise UsageError(
            "in none of these cohorts were eggs and temperatures told",
            "note the eggs at a look, such as “3 same eggs=34”",
        )
    used = [each for each in points if each.used]
    x, y = (np.array([getattr(each, of) for each in used]) for of in ("temperature", "r"))
    errors = [each.se for each in used if each.se]
    curves = rate_curves(x, y, errors if len(errors) == len(used) else None) if used else ()
    return GrowthByHeat(
        species=species,
        cohorts=names,
        left_out=tuple(sorted(leave_out)),
        without_temperatures=tuple(names[place] for place, at in warm.items() if at is None),
        points=points,
        curves=curves,
        no_curve=why_no_bend(x, y, curves) if used else NoRate.FEW_FOR_CURVE,
        fastest=_fastest(curves),
    )


def _point(
    each: ComparedCohort, celsius: float, table: Reproduction | None, leave_out: Collection[str]
) -> GrowthPoint:
    adults = int(each.history.reached(len(each.history.stages) - 1).sum())
    rate = None if table is None else table.of(Measure.RATE)
    r = None if rate is None else rate.estimate
    return GrowthPoint(
        cohort=each.cohort,
        temperature=celsius,
        n=len(each.history.codes) if table is None else table.n,
        adults=adults,
        r=r,
        se=None if rate is None else rate.se,
        low=None if rate is None else rate.low,
        high=None if rate is None else rate.high,
        used=r is not None and r > 0 and each.cohort not in leave_out,
    )


def _celsius(each: ComparedCohort) -> float | None:
    """The mean over individuals of the temperature (°C) from entry to the end of their watch."""
    if each.curve is None:
        return None
    return mean_of_known(each.curve.mean_celsius(each.history.entered, each.history.watched_until))


def _fastest(curves: Sequence[RateCurve]) -> float | None:
    if not curves or curves[0].optimum is None:
        return None
    return float(curves[0].rate([curves[0].optimum])[0])
