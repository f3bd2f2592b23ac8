"""Growth from instar to instar. Which instar a width points to is in `records.head_widths`."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from rearlog.analysis.arrays import Floats
from rearlog.analysis.statistics.straight_line import straight_line

MISSED_STEP = 1.75
"""How many times the growth (in ln width) of the other steps makes a step that missed an instar:
2 would be the square of their ratio. Whole series reach 1.66 (monarch, L2 to L3)."""

FOLLOWED_PART = 0.5
"""From this part of the widths on, those of animals followed through instars decide alone."""


class NoDyar(StrEnum):
    """Why there is no ratio of Dyar."""

    NO_WIDTHS = "no widths"
    ONE_INSTAR = "one instar"
    NO_GROWTH = "no growth"


class Dyar(Struct, frozen=True):
    """Growth of head capsule width by a constant ratio from instar to instar.

    `se` is the standard error of `ratio`; it and `r2` are None for two widths. `followed` are the
    animals whose own growth from instar to instar it rests on; where it is None, widths count as
    those of different animals. `missed_after` is the instar after which the series seems to have
    passed over one, or None.
    """

    ratio: float
    se: float | None
    r2: float | None
    n: int
    followed: int | None
    missed_after: int | None


def dyar(
    instars: npt.ArrayLike, widths_mm: npt.ArrayLike, animals: npt.ArrayLike | None = None
) -> Dyar | NoDyar:
    """Dyar's ratio by least squares of ln width on instar number.

    ratio = exp(b), SE(ratio) = ratio · SE_b. `instars` (k,): instar numbers from 1, repeated where
    several animals were measured; `widths_mm` (k,): head capsule widths; `animals` (k,): whose
    each is. Where FOLLOWED_PART of the widths are of animals measured in several instars, and
    there are two of these, b is that within animals (see `_within`): a large animal is large in
    all its instars, which says nothing against the ratio.

    An instar counts as missed in the steepest step between neighbouring instars if its growth, in
    ln of the geometric mean widths per instar number, is at least `MISSED_STEP` times that of the
    other steps together, of which there must be two. Ratios often fall as larvae grow, so a
    late instar can be missed unnoticed: no sign of a miss does not prove a whole series.

    Raises ValueError for arrays that do not match or widths that are not positive.
    Source: Dyar 1890, Psyche 5:420–422.
    """
    numbers = np.asarray(instars, dtype=int)
    widths = np.asarray(widths_mm, dtype=float)
    if numbers.ndim != 1 or numbers.shape != widths.shape or numbers.size == 0:
        raise ValueError(f"instars {numbers.shape} and widths {widths.shape} must be of one length")
    _refuse_below_zero(widths)
    if np.ptp(numbers) == 0:
        return NoDyar.ONE_INSTAR
    line = straight_line(numbers.astype(float), np.log(widths))
    within = None if animals is None else _within(numbers, np.log(widths), np.asarray(animals))
    slope, slope_se = (line.slope, line.slope_se) if within is None else within[:2]
    if slope <= 0 or np.ptp(widths) == 0:
        return NoDyar.NO_GROWTH
    ratio = float(np.exp(slope))
    return Dyar(
        ratio=ratio,
        se=None if slope_se is None else ratio * slope_se,
        r2=line.r2,
        n=numbers.size,
        followed=None if within is None else within[2],
        missed_after=_missed_after(numbers, np.log(widths)),
    )


def _within(
    numbers: npt.NDArray[np.int_], logs: Floats, animals: npt.NDArray[np.generic]
) -> tuple[float, float, int] | None:
    """The slope of ln width on instar within animals, its SE, and the number of animals.

    Numbers and logs less their means of each animal; the SE is that between animals, whatever
    binds the widths of one together: SE² = A/(A − 1) · Σ (Σ x·e)² / (Σ x²)², the inner sums within
    each of A animals. With all animals measured in the same instars it is the standard error of
    the mean of their own slopes. None where too few were followed.
    Source: Liang & Zeger 1986, Biometrika 73:13–22, with the correction A/(A − 1) (cited from
    memory).
    """
    _, place = np.unique(animals, return_inverse=True)
    often = np.bincount(place)
    x = numbers - (np.bincount(place, numbers) / often)[place]
    y = logs - (np.bincount(place, logs) / often)[place]
    spread = np.bincount(place, x**2)
    moved = spread > 0
    followed = int(moved.sum())
    if followed < 2 or moved[place].mean() < FOLLOWED_PART:
        return None
    slope = float(x @ y / spread.sum())
    apart = np.bincount(place, x * (y - slope * x))
    variance = followed / (followed - 1) * float(np.sum(apart**2)) / float(spread.sum()) ** 2
    return slope, variance**0.5, followed


def _missed_after(numbers: npt.NDArray[np.int_], logs: Floats) -> int | None:
    """The instar after which the widths leap by about a ratio too many; see `dyar`."""
    present = np.unique(numbers)
    steps = np.diff(present)
    growth = np.diff([logs[numbers == number].mean() for number in present])
    if growth.size < 3:
        return None
    steepest = int(np.argmax(growth / steps))
    others = np.delete(growth, steepest).sum() / np.delete(steps, steepest).sum()
    if growth[steepest] / steps[steepest] < MISSED_STEP * others or others <= 0:
        return None
    return int(present[steepest])


def growth_ratios(widths_mm: Sequence[float | None]) -> tuple[float | None, ...]:
    """The ratio of each instar's width (mm) to that of the instar before; both of length k.

    None for the first instar and wherever either width is unknown.
    Raises ValueError for widths that are not positive.
    """
    _refuse_below_zero([width for width in widths_mm if width is not None])
    pairs = zip((None, *widths_mm), widths_mm, strict=False)
    return tuple(
        None if before is None or width is None else width / before for before, width in pairs
    )


def relative_growth_rate(m1_mg: float, m2_mg: float, days: float) -> float:
    """ln(m2/m1)/Δt, the growth per day as a share of the mass, from two masses `days` apart.

    Raises ValueError for masses or a time that are not positive.
    Source: Fisher 1921, Ann. Appl. Biol. 7:367–372.
    """
    _refuse_below_zero([days])
    return float(np.log(fold_increase(m1_mg, m2_mg)) / days)


def fold_increase(m1_mg: float, m2_mg: float) -> float:
    """How many times the first mass (mg) the second is. ValueError where one is not positive."""
    _refuse_below_zero([m1_mg, m2_mg])
    return m2_mg / m1_mg


def _refuse_below_zero(numbers: npt.ArrayLike) -> None:
    """Raises ValueError where a number is not finite and above 0."""
    array = np.asarray(numbers, dtype=float)
    if not (np.isfinite(array).all() and (array > 0).all()):
        raise ValueError(f"widths, masses and times must be finite and above 0: {array}")
