"""Laws of development rate against temperature, side by side, and which the points prefer."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from enum import StrEnum
from itertools import product

import numpy as np
import numpy.typing as npt
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.arrays import Floats, finite
from rearlog.analysis.comparing.rate_models import (
    FEWEST_FOR_CURVE,
    WARMEST_UPPER,
    NoRate,
    different_temperatures,
)
from rearlog.analysis.statistics.levels import CONFIDENCE, tails
from rearlog.analysis.statistics.many_fits import many_fits

POLISHED = 25
"""Steps of the last search, from the best that the starts have led to."""
_SETTLED = 1e-3
"""A last search that gains less than this part of the sum of squares had little left to gain."""
RESAMPLES = 200
"""Invented experiments behind an interval."""
SEED = 20
GRID = np.arange(-20.0, WARMEST_UPPER + 5.05, 0.1)
"""Temperatures (°C) among which the highest point and the zeros of a curve are looked for."""
_MARGIN = 0.05
"""°C. A threshold this near to the end of its range was set by the range, not by the points."""
_SCALES = ("a", "b2", "psi", "slope")
"""Parameters that are but a factor, in 1/day: however small, above 0 they are no end of a range."""
_SIZES = {"shift": 1.0}
"""Parameters whose range ends at 0, of which a part is nothing: at least how large they are taken
to be. The shift stands beside an exponential that is 1 at 0 °C."""
_EXACT = 1e-9
"""Part of the mean rate; points nearer to a curve than this lie on it."""


class RateLaw(StrEnum):
    """The laws that are tried."""

    LINE = "line"
    BRIERE_1 = "briere_1"
    BRIERE_2 = "briere_2"
    LACTIN_2 = "lactin_2"
    LOGAN_6 = "logan_6"
    RATKOWSKY = "ratkowsky"
    BETA = "beta"


class Law(Struct, frozen=True):
    """A law: its formula of the temperatures and parameters, and where these are looked for.

    Parameters called `lower` and `upper` are the thresholds (°C). `starts` are values to begin
    with beside those of the thresholds, and `ranges` the ends between which each is sought.
    A law with `scaled` has its first parameter as a factor, whose start follows from the others.
    """

    name: RateLaw
    formula: Callable[..., Floats]
    parameters: tuple[str, ...]
    starts: dict[str, tuple[float, ...]]
    ranges: dict[str, tuple[float, float]]
    source: str
    scaled: bool = True

    def rate(self, celsius: npt.ArrayLike, parameters: npt.ArrayLike) -> Floats:
        """The rates (…, n) in 1/day at temperatures (n,) by parameters (…, p), not below 0."""
        return np.maximum(self.raw(np.asarray(celsius, dtype=float), np.asarray(parameters)), 0.0)

    def raw(self, celsius: Floats, parameters: Floats) -> Floats:
        """The formula itself, which may be below 0 beyond a threshold."""
        with np.errstate(over="ignore"):
            rates = self.formula(celsius, *np.moveaxis(parameters[..., None], -2, 0))
        return np.asarray(rates, dtype=float)


def _line(t: Floats, slope: Floats, lower: Floats) -> Floats:
    return slope * (t - lower)


def _briere_1(t: Floats, a: Floats, lower: Floats, upper: Floats) -> Floats:
    return a * t * (t - lower) * np.sqrt(np.maximum(upper - t, 0.0))


def _briere_2(t: Floats, a: Floats, lower: Floats, upper: Floats, m: Floats) -> Floats:
    return a * t * (t - lower) * np.maximum(upper - t, 0.0) ** (1 / m)


def _lactin_2(t: Floats, rho: Floats, upper: Floats, delta: Floats, shift: Floats) -> Floats:
    return _falling(t, rho, upper, delta) + shift


def _logan_6(t: Floats, psi: Floats, rho: Floats, upper: Floats, delta: Floats) -> Floats:
    return psi * _falling(t, rho, upper, delta)


def _falling(t: Floats, rho: Floats, upper: Floats, delta: Floats) -> Floats:
    """The exponential that breaks down towards the upper threshold."""
    return np.exp(rho * t) - np.exp(np.minimum(rho * upper - (upper - t) / delta, 300.0))


def _ratkowsky(t: Floats, b2: Floats, lower: Floats, upper: Floats, c: Floats) -> Floats:
    fall = 1 - np.exp(np.minimum(c * (t - upper), 0.0))
    root: Floats = np.maximum(t - lower, 0.0) * fall
    return b2 * root * root


def _beta(t: Floats, a: Floats, lower: Floats, upper: Floats, shape: Floats) -> Floats:
    return a * np.maximum(t - lower, 0.0) ** shape * np.maximum(upper - t, 0.0)


_ANY = (0.0, np.inf)

LAWS = (
    Law(
        RateLaw.LINE,
        _line,
        ("slope", "lower"),
        {},
        {"slope": _ANY, "lower": (-60.0, np.inf)},
        "Campbell et al. 1974, J. Appl. Ecol. 11:431–438",
    ),
    Law(
        RateLaw.BRIERE_1,
        _briere_1,
        ("a", "lower", "upper"),
        {},
        {"a": _ANY},
        "Brière et al. 1999, Environ. Entomol. 28:22–29",
    ),
    Law(
        RateLaw.BRIERE_2,
        _briere_2,
        ("a", "lower", "upper", "m"),
        {"m": (1.5, 4.0)},
        {"a": _ANY, "m": (0.5, 30.0)},
        "Brière et al. 1999, Environ. Entomol. 28:22–29",
    ),
    Law(
        RateLaw.LACTIN_2,
        _lactin_2,
        ("rho", "upper", "delta", "shift"),
        {"rho": (0.003, 0.01, 0.03), "delta": (0.5, 2.0, 5.0), "shift": (-1.05,)},
        {"rho": (1e-5, 0.5), "delta": (0.05, 30.0), "shift": (-20.0, 0.0)},
        "Lactin et al. 1995, Environ. Entomol. 24:68–75",
        scaled=False,
    ),
    Law(
        RateLaw.LOGAN_6,
        _logan_6,
        ("psi", "rho", "upper", "delta"),
        {"rho": (0.05, 0.15), "delta": (1.0, 4.0)},
        {"psi": _ANY, "rho": (1e-3, 1.0), "delta": (0.05, 30.0)},
        "Logan et al. 1976, Environ. Entomol. 5:1133–1140",
    ),
    Law(
        RateLaw.RATKOWSKY,
        _ratkowsky,
        ("b2", "lower", "upper", "c"),
        {"c": (0.1, 0.5)},
        {"b2": _ANY, "lower": (-30.0, np.inf), "c": (1e-3, 5.0)},
        "Ratkowsky et al. 1983, J. Bacteriol. 154:1222–1226",
    ),
    Law(
        RateLaw.BETA,
        _beta,
        ("a", "lower", "upper", "shape"),
        {"shape": (1.0, 3.0)},
        {"a": _ANY, "shape": (0.1, 20.0)},
        "Yin et al. 1995, Agric. For. Meteorol. 77:1–16, the fall being straight",
    ),
)
"""Formulas cited from memory; c and b² of Ratkowsky's square root law, the beta law with an upper
exponent of 1: with few cohorts a fifth parameter cannot be found."""

LAW = {law.name: law for law in LAWS}


class Limits(Struct, frozen=True):
    """95 % limits in °C."""

    low: float
    high: float


class RateCurve(Struct, frozen=True):
    """One law fitted to the n points of a stage; `names` those of its `parameters`.

    `threshold`, `optimum` and `upper` are where it is 0, highest, and 0 again (°C). The latter two
    are None unless a cohort lies past the optimum: without, they are made by the formula alone.
    `aicc` compares laws on the same points, less being better; `delta` is how much more than the
    least it is, and `weight` the part of the evidence (0 to 1). The limits, of the best law alone,
    are those of invented experiments; None where many of these have no such value.
    """

    law: RateLaw
    names: tuple[str, ...]
    parameters: tuple[float, ...]
    threshold: float | None
    threshold_limits: Limits | None
    optimum: float | None
    optimum_limits: Limits | None
    upper: float | None
    upper_limits: Limits | None
    aicc: float
    delta: float
    weight: float
    n: int

    def rate(self, celsius: npt.ArrayLike) -> Floats:
        """The curve at temperatures (k,): rates in 1/day, 0 beyond its thresholds."""
        return LAW[self.law].rate(celsius, self.parameters)


def best_bent(curves: Sequence[RateCurve]) -> RateCurve | None:
    """The first of the laws, which is the best, unless that is the straight line."""
    best = curves[0] if curves else None
    return None if best is None or best.law is RateLaw.LINE else best


def rate_curves(
    celsius: npt.ArrayLike, rates: npt.ArrayLike, se: npt.ArrayLike | None = None
) -> tuple[RateCurve, ...]:
    """The laws that these points allow, the best first; all (k,), rates and their errors in 1/day.

    Weighted least squares (1/SE²; all alike without `se`). A law is left out where there are not
    three points more than it has parameters (two more than its errors need), where its thresholds
    are not between the points and 0 or WARMEST_UPPER °C, or where it does not settle. The
    scatter about the curve is taken to be unknown: AICc = n·ln(Σ w·residual²/n) + 2K +
    2K(K + 1)/(n − K − 1) with K = parameters + 1.
    Source: Burnham & Anderson 2002, Model Selection and Multimodel Inference, 2nd ed., section 2.4.
    """
    x, y = np.asarray(celsius, dtype=float), np.asarray(rates, dtype=float)
    weights = np.ones_like(y) if se is None else np.mean(np.square(se)) / np.square(se)
    fits = [
        (law, *found)
        for law in LAWS
        if (found := _fitted(law, x, y, np.asarray(weights, dtype=float))) is not None
    ]
    if not fits:
        return ()
    least = min(aicc for _, _, aicc in fits)
    total = sum(np.exp((least - aicc) / 2) for _, _, aicc in fits)
    curves = sorted(
        (
            _curve(law, at, aicc, aicc - least, float(np.exp((least - aicc) / 2) / total), x)
            for law, at, aicc in fits
        ),
        key=lambda each: each.aicc,
    )
    known = None if se is None else np.asarray(se, dtype=float)
    return _with_limits(curves[0], x, y, known), *curves[1:]


def why_no_bend(
    celsius: npt.ArrayLike, rates: npt.ArrayLike, curves: Sequence[RateCurve]
) -> NoRate | None:
    """Why there is no law that bends among the `curves` of these points (k,); None if there is."""
    x = np.asarray(celsius, dtype=float)
    if any(each.law is not RateLaw.LINE for each in curves):
        return None
    if different_temperatures(x) < FEWEST_FOR_CURVE:
        return NoRate.FEW_FOR_CURVE
    if _beyond(x):
        return NoRate.BEYOND_CURVE
    return NoRate.EQUALLY_LONG if np.ptp(rates) == 0 else NoRate.NOT_SETTLED


def _beyond(x: Floats) -> bool:
    """Whether no thresholds can lie between the points and the ends of what is possible."""
    return bool(x.min() <= 2 * _MARGIN or x.max() >= WARMEST_UPPER - 2 * _MARGIN)


def _fitted(law: Law, x: Floats, y: Floats, weights: Floats) -> tuple[Floats, float] | None:
    """The parameters of a law and its AICc; None where the points do not show them."""
    from scipy.optimize import least_squares  # start-up time

    size = len(law.parameters)
    if different_temperatures(x) < size + 3 or _beyond(x):
        return None
    low, high = _ends(law, x)
    starts = np.array(list(_starts(law, x, y, weights)))
    at, square = many_fits(lambda p: law.raw(x, p), y, weights, starts, low, high)
    best = at[np.argmin(square)]
    found = least_squares(
        lambda p: (law.raw(x, p) - y) * np.sqrt(weights),
        best,
        bounds=(low, high),
        x_scale=np.maximum(np.abs(best), 1e-9),
        max_nfev=POLISHED,
        xtol=1e-9,
        ftol=1e-10,
        gtol=None,
    )
    nearer = (float(square.min()) - 2 * float(found.cost)) / float(square.min() or 1.0)
    settled = found.success or abs(nearer) < _SETTLED
    if not settled or _set_by_range(law, found.x, low, high):
        return None
    k = size + 1
    square_left = max(2 * float(found.cost), x.size * (_EXACT * float(y.mean())) ** 2)
    aicc = x.size * np.log(square_left / x.size) + 2 * k + 2 * k * (k + 1) / (x.size - k - 1)
    return np.asarray(found.x), float(aicc)


def _ends(law: Law, x: Floats) -> tuple[Floats, Floats]:
    thresholds = {
        "lower": (0.0, float(x.min()) - _MARGIN),
        "upper": (float(x.max()) + _MARGIN, WARMEST_UPPER),
    }
    ends = []
    for name in law.parameters:
        low, high = law.ranges.get(name, thresholds.get(name, _ANY))
        if name == "lower":
            high = min(high, thresholds["lower"][1])
        ends.append((low, high))
    return np.array(ends)[:, 0], np.array(ends)[:, 1]


def _starts(law: Law, x: Floats, y: Floats, weights: Floats) -> Iterator[Floats]:
    """Where to begin: all combinations of a few values of each parameter."""
    coldest, hottest = float(x.min()), float(x.max())
    near = {
        "lower": (coldest - 2.0, coldest - 7.0),
        "upper": (hottest + 0.5, hottest + 3.0, hottest + 8.0),
    }
    free = law.parameters[1:] if law.scaled else law.parameters
    for values in product(*(law.starts.get(name, near.get(name, ())) for name in free)):
        if not law.scaled:
            yield np.array(values)
            continue
        shape = law.raw(x, np.array([1.0, *values]))
        factor = float((weights * shape) @ y) / float((weights * shape) @ shape)
        yield np.array([max(factor, 1e-12), *values])


def _set_by_range(law: Law, at: Floats, low: Floats, high: Floats) -> bool:
    """Whether a threshold or a shape lies where the range of it ends: the points do not show it."""
    for name, value, first, last in zip(law.parameters, at, low, high, strict=True):
        size = max(abs(value), _SIZES.get(name, 0.0))
        margin = _MARGIN if name in ("lower", "upper") else 1e-3 * size
        if name in _SCALES:
            if value <= 0:
                return True
        elif min(value - first, last - value) < margin:
            return True
    return False


def _curve(law: Law, at: Floats, aicc: float, delta: float, weight: float, x: Floats) -> RateCurve:
    lower, optimum, upper = (finite(float(each[0])) for each in landmarks(law, at[None]))
    past = optimum is not None and float(x.max()) > optimum
    return RateCurve(
        law=law.name,
        names=law.parameters,
        parameters=tuple(at.tolist()),
        threshold=lower,
        threshold_limits=None,
        optimum=optimum if past else None,
        optimum_limits=None,
        upper=upper if past else None,
        upper_limits=None,
        aicc=aicc,
        delta=delta,
        weight=weight,
        n=x.size,
    )


def landmarks(law: Law, at: Floats) -> tuple[Floats, Floats, Floats]:
    """Lower threshold, optimum and upper threshold (°C), each (b,), by parameters (b, p).

    NaN where a law has none. The optimum is the highest of GRID, moved to the top of the parabola
    through it and its neighbours; zeros that are no parameter lie where straight lines between
    neighbours cross 0.
    """
    place = {name: at[:, k] for k, name in enumerate(law.parameters)}
    none = np.full(len(at), np.nan)
    if law.name is RateLaw.LINE:
        return place["lower"], none, none
    heights = law.raw(GRID, at)
    if "lower" in place:
        heights = np.where(place["lower"][:, None] > GRID, 0.0, heights)
    heights = np.where(place["upper"][:, None] < GRID, -np.inf, heights)
    rows = np.arange(len(at))
    top = np.clip(heights.argmax(axis=1), 1, len(GRID) - 2)
    before, here, after = (heights[rows, top + side] for side in (-1, 0, 1))
    bend = before - 2 * here + after
    with np.errstate(invalid="ignore", divide="ignore"):
        shift = np.where(np.isfinite(bend) & (bend < 0), (before - after) / (2 * bend), 0.0)
    optimum = GRID[top] + 0.1 * shift
    if law.name is RateLaw.LACTIN_2:
        lower = np.array(
            [_crossing(h[t::-1], GRID[t::-1]) for h, t in zip(heights, top, strict=True)]
        )
        finite = np.where(np.isfinite(heights), heights, -1.0)
        upper = np.array([_crossing(h[t:], GRID[t:]) for h, t in zip(finite, top, strict=True)])
        return lower, optimum, np.minimum(upper, place["upper"])
    return place.get("lower", none), optimum, place["upper"]


def _crossing(heights: Floats, celsius: Floats) -> float:
    """Where heights that begin above 0 first cross it; NaN where they do not."""
    below = np.flatnonzero(heights <= 0)
    if not below.size or below[0] == 0:
        return float("nan")
    k = int(below[0])
    part = heights[k - 1] / (heights[k - 1] - heights[k])
    return float(celsius[k - 1] + part * (celsius[k] - celsius[k - 1]))


def _with_limits(curve: RateCurve, x: Floats, y: Floats, se: Floats | None) -> RateCurve:
    """The curve with limits from experiments invented by it (parametric bootstrap).

    Mean rates scatter about the curve by their standard errors, or by as much more as the points
    lie off it; where no errors are known, by Student's t of what they lie off.
    Source: Efron & Tibshirani 1993, An Introduction to the Bootstrap, sections 6.5 and 13.3.
    """
    law, at = LAW[curve.law], np.array(curve.parameters)
    rng = np.random.default_rng(SEED)
    expected, freedom = law.raw(x, at), x.size - at.size
    size = np.ones_like(y) if se is None else se
    scale = float(np.sum(((y - expected) / size) ** 2)) / freedom
    noise = rng.standard_normal((RESAMPLES, x.size)) * size
    if se is None:
        noise *= np.sqrt(scale * freedom / rng.chisquare(freedom, RESAMPLES))[:, None]
    else:
        noise *= np.sqrt(max(1.0, scale))
    weights = np.mean(size**2) / size**2
    start = np.tile(at, (RESAMPLES, 1))
    drawn, _ = many_fits(lambda p: law.raw(x, p), expected + noise, weights, start, *_ends(law, x))
    lower, optimum, upper = (_limits(each) for each in landmarks(law, drawn))
    return replace(
        curve,
        threshold_limits=lower if curve.threshold is not None else None,
        optimum_limits=optimum if curve.optimum is not None else None,
        upper_limits=upper if curve.upper is not None else None,
    )


def _limits(values: Floats) -> Limits | None:
    known = values[np.isfinite(values)]
    if len(known) < CONFIDENCE * len(values):
        return None
    low, high = np.quantile(known, tails(CONFIDENCE))
    return Limits(float(low), float(high))
