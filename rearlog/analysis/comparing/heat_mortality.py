"""How the part that dies in a stage hangs on the temperature, from cohorts at several of them."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from enum import StrEnum

import numpy as np
import numpy.typing as npt
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.arrays import Floats, mean_of_known
from rearlog.analysis.comparing.cohorts import ComparedCohort
from rearlog.analysis.comparing.rate_models import different_temperatures
from rearlog.analysis.stages.events import EventHistory
from rearlog.analysis.stages.stage_times import StageOutcome, StageTimes, stage_times
from rearlog.analysis.statistics.binomial_fit import binomial_fit, dependence, limit_of
from rearlog.analysis.statistics.life_table import wilson

FEWEST_FOR_LINE, FEWEST_FOR_BEND = 3, 4
"""Different temperatures below which no line, and no curve that bends, is fitted."""


class NoMortalityCurve(StrEnum):
    """Why there is no curve of the mortality."""

    FEW_TEMPERATURES = "few_temperatures"
    """Fewer than FEWEST_FOR_LINE."""
    NOBODY_DIED = "nobody_died"
    ALL_DIED = "all_died"
    NOT_SETTLED = "not_settled"
    """Some temperatures killed nobody (or all), so that any curve steep enough fits."""


class MortalityPoint(Struct, frozen=True):
    """What a cohort shows of a stage: of `n` whose end in it is known, `died` in it.

    `temperature` is the mean (°C) that these had while in it; `mortality` their part, with 95 %
    limits `low` and `high` (Wilson). `open_ended` others were lost, removed, or are still in it,
    and are not counted. `used` is False for a cohort left out by name.
    """

    cohort: str
    temperature: float
    n: int
    died: int
    open_ended: int
    mortality: float
    low: float
    high: float
    used: bool


class MortalityCurve(Struct, frozen=True):
    """logit(mortality) = c0 + c1·x + c2·x², x = T − `centre`; without c2 for three temperatures.

    `coefficients` are c0, c1, c2, and `covariance` is theirs, with the `dispersion` in it: by how
    much cohorts scatter more, in variance, than chance among individuals makes them. `f` and `p`
    test whether the mortality hangs on the temperature at all, on `freedom` degrees of freedom.
    `best` is the temperature (°C) of the least mortality, `least`, with 95 % limits; None where the
    curve has no lowest point among the temperatures measured, from `coldest` to `hottest`, and its
    limits where the bend is not shown.
    """

    coefficients: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    centre: float
    coldest: float
    hottest: float
    dispersion: float
    freedom: int
    f: float
    p: float
    best: float | None
    best_low: float | None
    best_high: float | None
    least: float | None
    least_low: float | None
    least_high: float | None

    def mortality(self, celsius: npt.ArrayLike) -> Floats:
        """The curve at temperatures (k,): parts from 0 to 1."""
        return np.asarray(1 / (1 + np.exp(-self._design(celsius) @ np.array(self.coefficients))))

    def band(self, celsius: npt.ArrayLike) -> tuple[Floats, Floats]:
        """The 95 % limits of the mortality at temperatures (k,), each by itself.

        On the scale of the logit, by the delta method (see `limit_of`).
        """
        design = self._design(celsius)
        logit = design @ np.array(self.coefficients)
        error = np.sqrt(np.sum((design @ np.array(self.covariance)) * design, axis=1))
        reach = limit_of(self.dispersion, self.freedom) * error
        low, high = (1 / (1 + np.exp(-(logit + side * reach))) for side in (-1, 1))
        return low, high

    def _design(self, celsius: npt.ArrayLike) -> Floats:
        return _powers(celsius, self.centre, len(self.coefficients))


class HeatMortality(Struct, frozen=True):
    """The mortality of one stage (or of the whole development) by temperature.

    `curve` is None where `no_curve` says why.
    """

    stage: str
    points: tuple[MortalityPoint, ...]
    curve: MortalityCurve | None
    no_curve: NoMortalityCurve | None


def heat_mortality(
    cohorts: Sequence[ComparedCohort], leave_out: Collection[str] = ()
) -> tuple[HeatMortality, ...]:
    """The mortality of each stage, and from the first to the last, by temperature.

    A point is a cohort: how many died in the stage of those that died in it or came through, at the
    mean temperature that they had meanwhile. Losses must not foretell deaths. Stages that nobody
    ended at a known temperature are left out; so are cohorts without temperatures.
    """
    stages = cohorts[0].history.stages
    asked = [*[(stage, None) for stage in stages[:-1]], (stages[0], stages[-1])]
    found = []
    for first, until in asked:
        points = tuple(
            point
            for each in cohorts
            if (point := _point(each, first, until, each.cohort not in leave_out)) is not None
        )
        if points:
            curve = mortality_curve([point for point in points if point.used])
            found.append(
                HeatMortality(
                    first if until is None else f"{first} to {until}",
                    points,
                    curve if isinstance(curve, MortalityCurve) else None,
                    curve if isinstance(curve, NoMortalityCurve) else None,
                )
            )
    return tuple(found)


def mortality_curve(points: Sequence[MortalityPoint]) -> MortalityCurve | NoMortalityCurve:
    """Mortality by temperature: logistic regression on T and, from four temperatures on, T².

    A mortality that rises to both sides of a best temperature is the usual course of it. Cohorts
    scatter by more than individuals, which the errors count (see `binomial_fit`). The limits of the
    best temperature are those temperatures at which the slope of the curve may be 0.
    Source: quadratic logits of survival on temperature are common practice; limits of the ratio
    −c1/(2·c2): Fieller 1954, J. R. Stat. Soc. B 16:175–185 (cited from memory).
    """
    celsius = np.array([each.temperature for each in points])
    died, n = (np.array([getattr(each, name) for each in points], float) for name in ("died", "n"))
    several = different_temperatures(celsius)
    if several < FEWEST_FOR_LINE:
        return NoMortalityCurve.FEW_TEMPERATURES
    if died.sum() in (0, n.sum()):
        return NoMortalityCurve.ALL_DIED if died.sum() else NoMortalityCurve.NOBODY_DIED
    centre, size = float(celsius.mean()), 3 if several >= FEWEST_FOR_BEND else 2
    fit = binomial_fit(_powers(celsius, centre, size), died, n)
    if fit is None:
        return NoMortalityCurve.NOT_SETTLED
    f, p = dependence(fit, died, n)
    without = MortalityCurve(
        coefficients=tuple(fit.coefficients.tolist()),
        covariance=tuple(tuple(row) for row in fit.covariance.tolist()),
        centre=centre,
        coldest=float(celsius.min()),
        hottest=float(celsius.max()),
        dispersion=fit.dispersion,
        freedom=fit.freedom,
        f=f,
        p=p,
        **dict.fromkeys(_LOWEST),
    )
    return without if size == 2 else _with_lowest(without)


_LOWEST = ("best", "best_low", "best_high", "least", "least_low", "least_high")


def _with_lowest(curve: MortalityCurve) -> MortalityCurve:
    """The curve with its lowest point, where it has one among the temperatures measured."""
    _, slope, bend = curve.coefficients
    best = curve.centre - slope / (2 * bend) if bend > 0 else math.nan
    if not curve.coldest <= best <= curve.hottest:
        return curve
    low, high = _level(curve) or (None, None)
    least_low, least_high = (float(each[0]) for each in curve.band([best]))
    least = float(curve.mortality([best])[0])
    return replace(
        curve,
        best=best,
        best_low=low,
        best_high=high,
        least=least,
        least_low=least_low,
        least_high=least_high,
    )


def _level(curve: MortalityCurve) -> tuple[float, float] | None:
    """Between which temperatures the slope c1 + 2·c2·x may be 0; None where that has no end.

    (c1 + 2·c2·x)² ≤ t²·(v11 + 4·v12·x + 4·v22·x²), x = T − centre.
    """
    _, slope, bend = curve.coefficients
    (_, _, _), (_, v11, v12), (_, _, v22) = curve.covariance
    t2 = limit_of(curve.dispersion, curve.freedom) ** 2
    a, b, c = 4 * (bend**2 - t2 * v22), 4 * (slope * bend - t2 * v12), slope**2 - t2 * v11
    if a <= 0:
        return None
    root = math.sqrt(max(0.0, b * b - 4 * a * c))
    return curve.centre + (-b - root) / (2 * a), curve.centre + (-b + root) / (2 * a)


def _powers(celsius: npt.ArrayLike, centre: float, size: int) -> Floats:
    """1, x, x² … of x = T − centre: shape (k, size)."""
    return np.vander(np.asarray(celsius, dtype=float) - centre, size, increasing=True)


def _point(
    each: ComparedCohort, first: str, until: str | None, used: bool
) -> MortalityPoint | None:
    spans = stage_times(each.history, first, until)
    died = spans.which(StageOutcome.DIED)
    through = spans.which(StageOutcome.COMPLETED) | spans.which(StageOutcome.START_UNKNOWN)
    n = int(died.sum() + through.sum())
    if each.curve is None or not n:
        return None
    begin, end = _while_in(each.history, spans, died)
    warmth = mean_of_known(each.curve.mean_celsius(begin, end)[died | through])
    if warmth is None:
        return None
    limits = wilson(int(died.sum()), n)
    assert limits is not None
    low, high = limits
    return MortalityPoint(
        cohort=each.cohort,
        temperature=warmth,
        n=n,
        died=int(died.sum()),
        open_ended=int(spans.entered.sum()) - n,
        mortality=int(died.sum()) / n,
        low=low,
        high=high,
        used=used,
    )


def _while_in(
    history: EventHistory, spans: StageTimes, died: npt.NDArray[np.bool_]
) -> tuple[Floats, Floats]:
    """From when to when each was in the stage (n,): in the middle between two looks, the dead until
    the middle between the last look at it alive and the one that found it dead. Who came and went
    between the same two looks was somewhere in the time between them."""
    entered = np.where(np.isnan(spans.start[:, 0]), history.entered, spans.start.mean(axis=1))
    dead = (history.end_low + history.end_high) / 2
    with np.errstate(invalid="ignore"):
        end = np.where(died, dead, spans.end.mean(axis=1))
        last = np.where(died, history.end_high, spans.end[:, 1])
    first = np.where(np.isnan(spans.start[:, 0]), history.entered, spans.start[:, 0])
    short = end <= entered
    return np.where(short, first, entered), np.where(short, last, end)
