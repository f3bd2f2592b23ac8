"""How many instars there are by head widths alone, where one ends and the next begins."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from rearlog.analysis.arrays import Floats

FEWEST_WIDTHS = 20
"""Widths below which no groups are sought."""
MOST_GROUPS = 10
LEAST_SPREAD = 1e-4
"""Of ln width; less would be the steps of an instrument, and let the likelihood go to infinity."""
ROUNDS = 300
"""Rounds after which a search ends where it stands."""
_SETTLED = 1e-9


class NoGroups(StrEnum):
    """Why widths are not divided into groups."""

    FEW_WIDTHS = "few_widths"
    """Fewer than FEWEST_WIDTHS, or all alike."""
    COARSE = "coarse"
    """Groups would be narrower than the steps in which widths were read."""


class WidthGroup(Struct, frozen=True):
    """One group: its geometric mean width (mm), the `share` of all widths that is of it, the width
    (mm) from which on the next group is likelier (None for the last), and `mistaken`, the part of
    it that the limits give to another group."""

    mean_mm: float
    share: float
    limit_mm: float | None
    mistaken: float


class WidthGroups(Struct, frozen=True):
    """Groups of n widths in order; `spread` is the SD of ln width in each, about its CV. `mistaken`
    is the part of all widths that the limits give to another group; `bic` that of 1 group, 2 …"""

    groups: tuple[WidthGroup, ...]
    spread: float
    mistaken: float
    bic: tuple[float, ...]
    n: int


def width_groups(widths_mm: npt.ArrayLike) -> WidthGroups | NoGroups:
    """Groups among head widths (n,) in mm, of no known instar, or why there are none.

    A mixture of log-normals with one spread for all, by maximum likelihood; of 1 to MOST_GROUPS
    the number with the least BIC = −2·ln L + 2k·ln n (k means, k − 1 shares, a spread). Widths of
    one animal in one instar should be one width, their mean: else they make a group of their own.
    Raises ValueError for widths that are not positive.
    Source: McLachlan & Peel 2000, Finite Mixture Models, sections 3.2 and 6.9; Schwarz 1978, Ann.
    Stat. 6:461–464 (cited from memory).
    """
    widths = np.asarray(widths_mm, dtype=float)
    if not (np.isfinite(widths).all() and (widths > 0).all()):
        raise ValueError("widths must be finite and above 0")
    x = np.sort(np.log(widths))
    different = np.unique(widths)
    if x.size < FEWEST_WIDTHS or different.size < 2:
        return NoGroups.FEW_WIDTHS
    most = min(MOST_GROUPS, different.size - 1, x.size // 4)
    fits = [_mixture(x, k) for k in range(1, most + 1)]
    bic = [-2 * fit[0] + 2 * k * np.log(x.size) for k, fit in enumerate(fits, start=1)]
    _, means, shares, spread = fits[int(np.argmin(bic))]
    if spread * np.exp(means[0]) < np.diff(different).min():
        return NoGroups.COARSE
    limits = (means[:-1] + means[1:]) / 2 + spread**2 * np.log(shares[:-1] / shares[1:]) / np.diff(
        means
    )
    mistaken = _mistaken(means, spread, limits)
    groups = tuple(
        WidthGroup(float(np.exp(mean)), float(share), limit, float(wrong))
        for mean, share, limit, wrong in zip(
            means, shares, [*np.exp(limits).tolist(), None], mistaken, strict=True
        )
    )
    return WidthGroups(
        groups, spread, float(shares @ mistaken), tuple(float(each) for each in bic), x.size
    )


def _mistaken(means: Floats, spread: float, limits: Floats) -> Floats:
    """The part of each group (k,) that lies beyond its limits (k − 1,), in ln mm."""
    from scipy.special import ndtr  # start-up time

    ends = np.concatenate(([-np.inf], limits, [np.inf]))
    below, above = ndtr((ends[:-1] - means) / spread), ndtr((means - ends[1:]) / spread)
    return np.asarray(np.minimum(1.0, below + above))


def _mixture(x: Floats, k: int) -> tuple[float, Floats, Floats, float]:
    """The likeliest k groups of x (n,), sorted: ln L, means (k,), shares (k,), and the spread."""
    found = max((_search(x, start) for start in _starts(x, k)), key=lambda each: each[0])
    likelihood, means, shares, spread = found
    order = np.argsort(means)
    return likelihood, means[order], shares[order], spread


def _starts(x: Floats, k: int) -> Iterator[Floats]:
    """Means (k,) to begin with: of the parts between the widest gaps, at even steps, at even
    shares."""
    cuts = np.sort(np.argsort(np.diff(x))[::-1][: k - 1]) + 1
    yield np.array([part.mean() for part in np.split(x, cuts)])
    yield x[0] + (x[-1] - x[0]) * (np.arange(k) + 0.5) / k
    yield np.quantile(x, (np.arange(k) + 0.5) / k)


def _search(x: Floats, means: Floats) -> tuple[float, Floats, Floats, float]:
    """Expectation and maximisation in turn (Dempster, Laird & Rubin 1977) from these means."""
    k = means.size
    shares, spread = np.full(k, 1 / k), max(float(np.ptp(x)) / (4 * k), LEAST_SPREAD)
    before = -np.inf
    for _ in range(ROUNDS):
        logs = np.log(shares) - ((x[:, None] - means) / spread) ** 2 / 2
        top = logs.max(axis=1, keepdims=True)
        parts = np.exp(logs - top)
        total = parts.sum(axis=1, keepdims=True)
        likelihood = float(np.sum(top + np.log(total)))
        likelihood -= x.size * (np.log(spread) + np.log(2 * np.pi) / 2)
        if likelihood - before < _SETTLED * abs(likelihood):
            break
        before = likelihood
        parts /= total
        weight = np.maximum(parts.sum(axis=0), 1e-9)
        shares = weight / weight.sum()
        means = parts.T @ x / weight
        variance = float(np.sum(parts * (x[:, None] - means) ** 2)) / x.size
        spread = max(variance**0.5, LEAST_SPREAD)
    return likelihood, means, shares, spread
