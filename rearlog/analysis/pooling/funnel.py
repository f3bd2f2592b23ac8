"""Parts of many groups beside each other: how far each lies from all, for how large it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Floats
from rearlog.analysis.statistics.differences import holm
from rearlog.analysis.statistics.levels import DIFFERENT

FEWEST_GROUPS = 3
"""Groups below which none is held against the others."""
WINSORISED = 0.1
"""The part at either end whose distances are taken to be no larger than those beside them."""

LEAST_SHOWN = 0.1
"""By this part at least the variance must be larger than by chance: so far the normal law holds."""


class FunnelPoint(Struct, frozen=True):
    """One group: `reached` of `n`, which is the part `fraction`; how often chance alone would take
    it so far from that of all (`p`), and corrected for the number of groups (`p_holm`)."""

    reached: int
    n: int
    fraction: float
    p: float
    p_holm: float


class Funnel(Struct, frozen=True):
    """Groups about the part `centre` that all of them together reached.

    `dispersion` is how many times as large as by chance the variance of the parts is; 1 where no
    more than chance is shown.
    """

    centre: float
    reached: int
    n: int
    dispersion: float
    points: tuple[FunnelPoint, ...]


def funnel(reached: Sequence[int], n: Sequence[int]) -> Funnel | None:
    """Hold the parts `reached`/`n` of k groups against that of all; None for fewer than three
    groups.

    p is two-sided: twice the smaller tail of the binomial distribution; where groups scatter by
    more than chance, that of z/√φ by the normal one, z = (part − centre)/√(centre·(1 − centre)/n).
    The dispersion φ is the mean of z², the tenth at either end drawn in, divided by what that mean
    is for the normal law, and counts where it is above 1 + 2·√(2/k) and 1.1 (of binomial parts the
    divisor is right to a few hundredths). p is corrected for k groups
    (Holm 1979).
    Source: Spiegelhalter 2005, Stat. Med. 24:1185–1202, cited from memory; the divisor is derived.
    """
    k = len(reached)
    if k < FEWEST_GROUPS:
        return None
    from scipy.special import bdtr, ndtr  # start-up time

    counts, sizes = np.asarray(reached, dtype=float), np.asarray(n, dtype=float)
    centre = float(counts.sum() / sizes.sum())
    parts = counts / sizes
    dispersion = 1.0
    if not 0 < centre < 1:
        tail = np.ones(k)
    else:
        z = (parts - centre) / np.sqrt(centre * (1 - centre) / sizes)
        dispersion = _dispersion(z)
        if dispersion > 1:
            tail = ndtr(-np.abs(z) / dispersion**0.5)
        else:
            below = bdtr(counts, sizes.astype(int), centre)
            above = 1 - np.where(counts > 0, bdtr(counts - 1, sizes.astype(int), centre), 0.0)
            tail = np.minimum(below, above)
    p = np.minimum(1.0, 2 * tail).tolist()
    rows = zip(reached, n, parts.tolist(), p, holm(p), strict=True)
    points = tuple(
        FunnelPoint(came, size, part, own, 1.0 if adjusted is None else adjusted)
        for came, size, part, own, adjusted in rows
    )
    return Funnel(centre, int(counts.sum()), int(sizes.sum()), dispersion, points)


def limits(found: Funnel, sizes: Sequence[int], groups: int = 1) -> tuple[Floats, Floats]:
    """Between which parts chance leaves groups of these `sizes` (m,) 95 times in 100; both (m,).

    With `groups` above 1 so often for that many groups at once (Bonferroni). Binomial limits,
    interpolated between the counts beside them; where groups scatter by more than chance, normal
    ones, widened by √φ. Source: Spiegelhalter 2005, Stat. Med. 24:1185–1202, appendix A (cited from
    memory).
    """
    from scipy.special import bdtr  # start-up time

    tail, centre = DIFFERENT / groups / 2, found.centre
    if found.dispersion > 1 or not 0 < centre < 1:
        spread = np.sqrt(found.dispersion * centre * (1 - centre) / np.asarray(sizes, dtype=float))
        reach = -NormalDist().inv_cdf(tail) * spread
        return np.maximum(0.0, centre - reach), np.minimum(1.0, centre + reach)

    def limit(size: int, part: float) -> float:
        up_to = bdtr(np.arange(size + 1.0), size, centre)
        count = int(np.argmax(up_to > part))
        before = float(up_to[count - 1]) if count else 0.0
        place = count - (float(up_to[count]) - part) / (float(up_to[count]) - before)
        return min(1.0, max(0.0, place / size))

    ends = [[limit(size, part) for size in sizes] for part in (tail, 1 - tail)]
    return np.array(ends[0]), np.array(ends[1])


def _dispersion(z: Floats) -> float:
    """The mean of z², its ends drawn in, as a multiple of that of a normal law; 1 unless larger by
    more than chance."""
    cut = math.floor(WINSORISED * z.size)
    ranked = np.sort(z)
    drawn_in = np.clip(z, ranked[cut], ranked[z.size - 1 - cut])
    of_normal = 1.0
    if cut:
        normal = NormalDist()
        end = -normal.inv_cdf(cut / z.size)
        of_normal = 1 - 2 * cut / z.size * (1 - end**2) - 2 * end * normal.pdf(end)
    found = float(np.mean(drawn_in**2)) / of_normal
    return found if found > 1 + max(LEAST_SHOWN, 2 * (2 / z.size) ** 0.5) else 1.0
