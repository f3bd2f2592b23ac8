"""Invented sizes: how large each individual of a simulation is, and what a ruler says of it."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Booleans, Floats, Integers
from rearlog.analysis.stages.profile_values import spread_of
from rearlog.analysis.statistics.log_normal import log_normal, related
from rearlog.records.profile import Profile

SIZE_SPREAD = 0.06
"""SD of sizes between individuals, as a share of the mean: an assumption (for head widths only
where the profile gives no spread)."""

SHARED_SIZE = 0.5
"""Correlation of an individual's size in one instar with that in another: an assumption."""

HEAD_STEP_MM, LENGTH_STEP_MM = 0.01, 0.5
"""The steps in which head widths (under a lens) and lengths (beside a ruler) are read."""


class Measuring(Struct, frozen=True):
    """Who is measured, and how well: the `share` of individuals, and the SD of a reading's error.

    The length is read at each check in an instar, the head width when an instar is first seen.
    """

    share: float = 1.0
    head_error_mm: float = 0.02
    length_error_mm: float = 0.3


class Sizes(Struct, frozen=True, eq=False):
    """True sizes of n individuals in S stages, NaN save in the instars of which they are known.

    `head_width_mm` (n, S) is fixed within an instar; `length_mm` (n, S, 2) is that of an animal
    that has just molted and of one about to molt. `measured` (n,) says who is measured.
    """

    head_width_mm: Floats
    length_mm: Floats
    measured: Booleans


def sizes(profile: Profile, n: int, share: float, rng: np.random.Generator) -> Sizes:
    """Draw the sizes of n individuals, and which share of them is measured.

    Log-normal between individuals; who is large in one instar tends to be large in the others.
    """
    stages = profile.stages
    deviates = related(rng, (n, len(stages)), SHARED_SIZE)
    heads, lengths = np.full((2, len(stages)), np.nan), np.full((2, len(stages)), np.nan)
    for rank, stage in enumerate(stages):
        if stage.code[0] not in "LN":
            continue
        if (head := stage.head_width_mm) is not None:
            heads[:, rank] = head.centre, spread_of(head) or SIZE_SPREAD * head.centre
        if (length := stage.length_mm) is not None:
            centre = length.centre
            lengths[:, rank] = length.low or centre, length.high or centre
    spread = np.full(len(stages), SIZE_SPREAD)
    factor = log_normal(np.ones(len(stages)), spread, deviates)
    return Sizes(
        log_normal(heads[0], heads[1], deviates),
        factor[:, :, None] * lengths.T,
        rng.permutation(n) < round(share * n),
    )


def measure(
    true: Sizes, ranks: Integers, grown: Floats, how: Measuring, rng: np.random.Generator
) -> tuple[Floats, Floats]:
    """Read the length and the head width of each individual, both (n,) in mm, NaN where not.

    `ranks` (n,) are the stages that they are in, `grown` (n,) the part of the stage's heat, 0 to 1,
    that they have had: lengths grow with it.
    """
    rows = np.arange(len(ranks))
    short, long = true.length_mm[rows, ranks].T
    return (
        _read(short + (long - short) * grown, how.length_error_mm, LENGTH_STEP_MM, true, rng),
        _read(true.head_width_mm[rows, ranks], how.head_error_mm, HEAD_STEP_MM, true, rng),
    )


def _read(
    size_mm: Floats, error_mm: float, step_mm: float, true: Sizes, rng: np.random.Generator
) -> Floats:
    steps = np.round((size_mm + rng.normal(0.0, error_mm, len(size_mm))) / step_mm)
    reading = np.round(np.maximum(steps, 1.0) * step_mm, 2)
    return np.where(true.measured, reading, np.nan)
