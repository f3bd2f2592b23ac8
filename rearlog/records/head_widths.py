"""Whether a head capsule width contradicts the stage that was entered with it.

The head is as wide as it is until the next molt, so one width tells the instar, as far as widths of
neighbouring instars lie apart. Asked with every entry, hence in plain arithmetic; the same model as
`rearlog.analysis.growth.instars`, for one reading.
"""

from __future__ import annotations

import math

from rearlog.records.errors import Problem
from rearlog.records.log import Observation
from rearlog.records.profile import Profile, Quantity
from rearlog.records.wording import named

BETWEEN_CV = 0.08
"""Spread of head width between individuals of one instar, as a share of the mean, where a profile
gives none. From memory."""

READING_CV = 0.10
"""Error of one reading with a lens and a millimetre rule, as a share of the width. From memory."""

SURE = 0.90
"""Probability from which an instar is named."""

FARTHEST = 2.81
"""A width that lies more SD than this from an instar's mean fits it not: one in 200 would."""


def probabilities(profile: Profile, width_mm: float) -> dict[str, float]:
    """The probability of each instar that the profile has a head width of, given one reading.

    Log-normal widths, all instars equally likely before. Empty where the width fits none, or the
    profile knows none.
    """
    log_likelihoods = {}
    distances = []
    for stage in profile.stages:
        known = stage.head_width_mm
        if known is not None:
            sd = math.hypot(spread(known), READING_CV)
            distance = math.log(width_mm / known.centre) / sd
            distances.append(abs(distance))
            log_likelihoods[stage.code] = -(distance**2) / 2 - math.log(sd)
    if not distances or min(distances) > FARTHEST:
        return {}
    best = max(log_likelihoods.values())
    weights = {code: math.exp(value - best) for code, value in log_likelihoods.items()}
    total = sum(weights.values())
    return {code: weight / total for code, weight in weights.items()}


def spread(width: Quantity) -> float:
    """The spread of a width between individuals, as a share of it."""
    return width.sd / width.centre if width.sd else BETWEEN_CV


def contradiction(profile: Profile, check: Observation, stage: str) -> Problem | None:
    """What to warn of where the head width surely is that of another instar than `stage`."""
    width = check.head_width_mm
    if width is None or not width > 0 or profile.stage(stage).head_width_mm is None:
        return None
    likely = probabilities(profile, width)
    instar = max(likely, key=likely.__getitem__, default=stage)
    if instar == stage or likely[instar] < SURE:
        return None
    return Problem(
        f"a head width of {width:g} mm is that of {instar} ({likely[instar]:.0%}), not of {stage}",
        named(check),
        "measure again, or look at the stage again",
    )
