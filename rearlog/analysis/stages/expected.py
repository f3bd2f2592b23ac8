"""How long a stage should take, by the species profile, at the temperatures that the cohort had.

Of a mean and an SD the range is the usual reference range, mean ± 1.96 SD; heat is turned into days
by the linear heat sum (see `heat.degree_days` for its sources).
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Floats, finite
from rearlog.analysis.heat.heat_curve import HeatCurve, HeatSettings
from rearlog.analysis.stages.profile_values import SPREADS_IN_RANGE, Range, measured_near
from rearlog.analysis.statistics.levels import LEAST_TOLD
from rearlog.records.profile import Profile, Quantity, Source


class Timing(StrEnum):
    """How something lies to the range that is expected of it."""

    SHORTER = "shorter"
    AS_EXPECTED = "as expected"
    LONGER = "longer"
    NOTHING_EXPECTED = "nothing expected"


class OtherThresholds(Struct, frozen=True):
    """The thresholds (°C) that a profile counts its degree-days with, and those in use instead."""

    profile_lower: float | None
    profile_upper: float | None
    lower: float
    upper: float | None


class BasisKind(StrEnum):
    """What an expected number of days may rest on."""

    HEAT = "heat"
    DAYS = "days"
    NOTHING = "nothing"


class Basis(Struct, frozen=True):
    """What an expected number of days rests on.

    HEAT: `degree_days` above the threshold `lower` (°C), at the cohort's own temperatures; DAYS:
    the profile's days. `measured_celsius` are the temperatures (lowest and highest) that the values
    hold for, where known, and `celsius` is the mean that the cohort had in the time expected: heat
    measured at other temperatures than that is `extrapolated`. `other_thresholds` say why the
    profile's degree-days are not used where it has some.
    """

    kind: BasisKind
    degree_days: Range | None = None
    lower: float | None = None
    measured_celsius: Range | None = None
    celsius: float | None = None
    extrapolated: bool = False
    other_thresholds: OtherThresholds | None = None


class Expectation(Struct, frozen=True):
    """What the profile says of the time in a stage, or in a span of several.

    `heat` is a range of degree-days, `days` a range of days; either may be None. `heat_celsius` and
    `days_celsius` are the temperatures that they hold for, where known. `other_thresholds` say
    why the profile's heat is not used where it has one.
    """

    heat: Range | None
    days: Range | None
    heat_celsius: Range | None
    days_celsius: Range | None
    sources: tuple[Source, ...]
    other_thresholds: OtherThresholds | None = None


def expectation(
    profile: Profile, first: str, until: str, how: HeatSettings | None = None
) -> Expectation:
    """The profile's expectation for a stage or a span of stages.

    A span that the profile knows as a whole is taken as such; otherwise the stages' ranges are
    added up (low to low, high to high: an individual slow in one stage is slow in the next).
    Degree-days hold only for the thresholds that they were counted from: where the cohort's are
    counted in another way (`how`), the profile's are left out.
    """
    heat, heat_from = _sum(profile, first, until, "degree_days")
    others = None if heat is None or how is None else _other_thresholds(profile, how)
    if others is not None:
        heat, heat_from = None, ()
    days, days_from = _sum(profile, first, until, "days")
    keys = {quantity.source: None for quantity in (*heat_from, *days_from)}
    return Expectation(
        heat,
        days,
        _common([quantity.at_celsius for quantity in heat_from]),
        _common([quantity.at_celsius for quantity in days_from]),
        tuple(profile.sources[key] for key in keys),
        others,
    )


def _other_thresholds(profile: Profile, how: HeatSettings) -> OtherThresholds | None:
    """How the thresholds in use differ from the profile's; None where they do not."""
    lower, upper = (limit.centre if limit else None for limit in (profile.lower, profile.upper))
    if (lower, upper) == (how.lower, how.upper):
        return None
    return OtherThresholds(lower, upper, how.lower, how.upper)


def range_of(quantity: Quantity) -> Range:
    """The range that a value of a profile stands for."""
    if quantity.low is not None and quantity.high is not None:
        return quantity.low, quantity.high
    spread = SPREADS_IN_RANGE * (quantity.sd or 0.0)
    return max(0.0, quantity.centre - spread), quantity.centre + spread


def quantities(profile: Profile, first: str, until: str, name: str) -> tuple[Quantity, ...]:
    """The values that make up a span: its own where the profile has one, else its stages'.

    Empty where one of the stages has none. Optional stages are left out.
    """
    for span in profile.spans:
        if (span.first, span.until) == (first, until) and (whole := getattr(span, name)):
            return (whole,)
    stages = profile.stages[profile.rank[first] : profile.rank[until]]
    parts = [getattr(stage, name) for stage in stages if not stage.optional]
    return tuple(parts) if all(part is not None for part in parts) else ()


def _sum(
    profile: Profile, first: str, until: str, name: str
) -> tuple[Range | None, tuple[Quantity, ...]]:
    parts = quantities(profile, first, until, name)
    if not parts:
        return None, ()
    ranges = [range_of(part) for part in parts]
    return (sum(low for low, _ in ranges), sum(high for _, high in ranges)), parts


def _common(ranges: list[Range | None]) -> Range | None:
    """The temperatures that all values hold for (None where that is not known of any)."""
    known = [each for each in ranges if each is not None]
    if not known:
        return None
    return max(low for low, _ in known), min(high for _, high in known)


def expected_days(
    hope: Expectation, starts: Floats, curve: HeatCurve | None
) -> tuple[Floats, Floats]:
    """The lowest and the highest number of days expected from each start, both shape (n,).

    `starts` (n,) are days since zero. From heat at the cohort's own temperatures where both are
    known, else the profile's days; NaN where the profile has neither.
    """
    low, high = hope.days or (np.nan, np.nan)
    lows, highs = np.full(starts.shape, low), np.full(starts.shape, high)
    if hope.heat is not None and curve is not None:
        by_heat = [curve.when(starts, needed) - starts for needed in hope.heat]
        known = ~np.isnan(by_heat[0] + by_heat[1])
        lows, highs = np.where(known, by_heat[0], lows), np.where(known, by_heat[1], highs)
    return lows, highs


def basis(hope: Expectation, start: float, curve: HeatCurve | None) -> Basis:
    """What the days expected from a start (day since zero) rest on."""
    if hope.heat is not None and curve is not None and not np.isnan(start):
        end = float(curve.when(start, hope.heat[1]))
        if not np.isnan(end):
            measured, here = hope.heat_celsius, _mean_celsius(curve, start, end)
            return Basis(
                BasisKind.HEAT,
                degree_days=hope.heat,
                lower=curve.settings.lower,
                measured_celsius=measured,
                celsius=here,
                extrapolated=measured is not None
                and here is not None
                and not measured_near(measured, here),
            )
    if hope.days is None:
        return Basis(BasisKind.NOTHING, other_thresholds=hope.other_thresholds)
    return Basis(
        BasisKind.DAYS,
        measured_celsius=hope.days_celsius,
        other_thresholds=hope.other_thresholds,
    )


def _mean_celsius(curve: HeatCurve, start: float, end: float) -> float | None:
    """The mean temperature from a day to another, or to the last that is known; None without."""
    end = min(end, float(curve.knots[-1]))
    return finite(float(curve.mean_celsius(start, end)))


def verdict(value: float, expected: Range | None) -> tuple[Timing, float | None]:
    """How a value lies to an expected range (days both), and how far beyond it; less than
    LEAST_TOLD is as expected."""
    if expected is None:
        return Timing.NOTHING_EXPECTED, None
    low, high = expected
    off = max(low - value, value - high, 0.0)
    if off < LEAST_TOLD:
        return Timing.AS_EXPECTED, off
    return (Timing.SHORTER if value < low else Timing.LONGER), off
