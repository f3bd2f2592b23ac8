"""Which instar a head capsule width points to, and whether it contradicts the stage entered.

The head is as wide as it is until the next molt, so its width tells the instar, as far as widths of
neighbouring instars lie apart. Asked with every entry, hence in plain arithmetic.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct

from rearlog.records.errors import Problem
from rearlog.records.log import Observation
from rearlog.records.profile import Profile, Quantity
from rearlog.records.wording import named

BETWEEN_CV = 0.08
"""Spread of head capsule width between individuals of one instar, as a share of the mean, where a
profile gives none. From memory: series of one instar reared alike vary by some 4 to 10 %."""

READING_CV = 0.10
"""Error of one reading with a hand lens and a millimetre rule, as a share of the width.
From memory: a reading to 0.1 mm, which is 10 % at 1 mm."""

SURE = 0.90
"""Probability from which an instar is named."""

MISFIT = 0.005
"""A width that fewer than this share of an instar's animals would show does not fit the instar.
With the default spreads one reading may be 1.43 times off the mean: halfway between two instars
still fits where the head doubles its width, and an instar too many fits none."""


class InstarProbabilities(Struct, frozen=True):
    """How likely each instar is, given the widths measured on one animal in one instar.

    `probabilities` by instar code sum to 1. `instar` is the code where one reaches `SURE` and fits,
    else None; `fits` is False where the widths fit no instar (or not each other), whatever the
    probabilities say.
    """

    probabilities: dict[str, float]
    instar: str | None
    fits: bool


def instar_probabilities(
    widths_mm: float | Sequence[float],
    means_mm: Mapping[str, float],
    cv: float | Mapping[str, float] = BETWEEN_CV,
    reading_cv: float = READING_CV,
    reading_error_mm: float | None = None,
) -> InstarProbabilities:
    """The probability of each instar under log-normal widths, all instars equally likely before.

    An animal keeps one true width through its instar: ln width is normal about the ln of the
    instar's mean, and its SD between individuals is `cv` (for small spreads the SD of a logarithm
    is the CV). Each of n readings adds an error of its own, of SD `reading_cv`. So their mean
    log is normal with variance cv² + reading_cv²/n: measuring again helps, but never beyond
    the spread between animals.
    With `reading_error_mm`, the SD of the instrument's error, `reading_cv` is that as a share of
    the mean reading (to the first order: it is calibrated to errors of a tenth of the width).
    Readings fit an instar unless χ² on n degrees of freedom (their mean against the instar, and
    each against their mean) says that fewer than `MISFIT` of its animals would give such ones.

    The defaults make 0.13 for one reading. Below 0.12, a width midway between L1 and L2 of the
    silkworm would be called certain; above 0.17, its L4 and L5 would be mistaken at their means.

    `widths_mm`: one head capsule width or several of the same animal in one instar; `means_mm`:
    mean width of each instar by code, in order; `cv` for all or by code.
    Raises ValueError for numbers that are not positive, or where there are no widths or means.
    Source: Bayes' theorem; widths of an instar as a log-normal follow from Dyar's rule.
    """
    widths = [widths_mm] if isinstance(widths_mm, int | float) else list(widths_mm)
    spreads = {code: cv[code] if isinstance(cv, Mapping) else cv for code in means_mm}
    if not (widths and means_mm):
        raise ValueError("at least one width and the mean of at least one instar are needed")
    n = len(widths)
    if reading_error_mm is not None:
        _refuse_unless_positive([*widths, reading_error_mm])
        reading_cv = reading_error_mm / (math.fsum(widths) / n)
    _refuse_unless_positive([*widths, *means_mm.values(), *spreads.values(), reading_cv])
    logs = [math.log(width) for width in widths]
    middle = math.fsum(logs) / n
    distances: dict[str, float] = {}
    log_likelihoods: dict[str, float] = {}
    for code, mean in means_mm.items():
        variance = spreads[code] ** 2 + reading_cv**2 / n
        distances[code] = (middle - math.log(mean)) ** 2 / variance
        log_likelihoods[code] = -(distances[code] + math.log(variance)) / 2
    best = max(log_likelihoods, key=log_likelihoods.__getitem__)
    weights = {
        code: math.exp(each - log_likelihoods[best]) for code, each in log_likelihoods.items()
    }
    total = math.fsum(weights.values())
    probabilities = {code: weight / total for code, weight in weights.items()}
    disagreement = math.fsum((each - middle) ** 2 for each in logs) / reading_cv**2
    fits = chi_square_beyond(min(distances.values()) + disagreement, n) >= MISFIT
    sure = fits and probabilities[best] >= SURE
    return InstarProbabilities(probabilities, best if sure else None, fits)


def chi_square_beyond(x: float, degrees: int) -> float:
    """The probability that χ² on whole `degrees` of freedom lies beyond `x`, at least 0.

    The finite sum for whole degrees: Abramowitz & Stegun 1964, 26.4.4 and 26.4.5.
    """
    half = x / 2
    if half <= 0:
        return 1.0
    first = math.erfc(math.sqrt(half)) if degrees % 2 else math.exp(-half)
    powers = (step + (0.5 if degrees % 2 else 1.0) for step in range((degrees - 1) // 2))
    terms = (math.exp(power * math.log(half) - half - math.lgamma(power + 1)) for power in powers)
    return min(1.0, first + math.fsum(terms))


def _refuse_unless_positive(numbers: Iterable[float]) -> None:
    for number in numbers:
        if not (math.isfinite(number) and number > 0):
            raise ValueError(f"widths, means and spreads must be finite and above 0: {number}")


def spread(width: Quantity) -> float:
    """The spread of a width between individuals, as a share of it."""
    return width.sd / width.centre if width.sd else BETWEEN_CV


def identified(profile: Profile, width_mm: float) -> InstarProbabilities | None:
    """Which instar a head width is of, as far as the profile knows them; None where it does not."""
    known = {each.code: each.head_width_mm for each in profile.stages if each.head_width_mm}
    if not known or not (math.isfinite(width_mm) and width_mm > 0):
        return None
    means = {code: each.centre for code, each in known.items()}
    spreads = {code: spread(each) for code, each in known.items()}
    return instar_probabilities(width_mm, means, spreads)


def contradiction(profile: Profile, check: Observation, stage: str) -> Problem | None:
    """What to warn of where the head width surely is that of another instar than `stage`."""
    width = check.head_width_mm
    if width is None or profile.stage(stage).head_width_mm is None:
        return None
    found = identified(profile, width)
    if found is None or found.instar in (None, stage):
        return None
    return Problem(
        f"a head width of {width:g} mm is that of {found.instar} "
        f"({found.probabilities[found.instar or stage]:.0%}), not of {stage}",
        named(check),
        "measure again, or look at the stage again",
    )
