"""What speaks for which stage: measures, answers and the length of the body, one by one."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import StrEnum

from msgspec import Struct

from rearlog.analysis.growth.growth import Growth
from rearlog.analysis.growth.key import Answers
from rearlog.records.command_text import CommandText
from rearlog.records.errors import Problem, UsageError
from rearlog.records.head_widths import BETWEEN_CV, instar_probabilities
from rearlog.records.profile import NOT_THE_ANIMAL, Profile, Quantity

PART_CV = 0.20
"""Spread of the length of other parts (filaments, horns) within an instar, as a share of the mean,
where a profile gives none. From memory: soft parts vary more than the head, and may grow."""

LENGTH_CV = 0.20
"""How far beyond the range of a stage a body may be stretched or shrunk: an assumption."""

LENGTH_FLOOR = 0.05
"""The least that a body length leaves of a stage: a poor guide must not decide."""

FEWEST_OWN = 5
"""Individuals measured in an instar from which on the cohort's own mean width is taken."""

SHARE_FOR = 0.10
"""Evidence speaks for stages that it makes at least this times as likely as the likeliest."""

HEAD, BODY = "head width", "body length"
"""What these parts are called, as others are by their names in the profile."""
_MEASURE = "measure the head" + CommandText(" with --head MM", "")


class Measured(Struct, frozen=True):
    """What was measured on one animal in one instar, all in mm: readings of the head width and of
    other parts by their name in the profile, and the length of the body; `reading_error_mm` is the
    SD of the instrument's readings of a part, where it is known."""

    head_mm: tuple[float, ...] = ()
    parts_mm: Mapping[str, tuple[float, ...]] = {}
    length_mm: float | None = None
    reading_error_mm: float | None = None


class EvidenceKind(StrEnum):
    """What a piece of evidence is: a part that keeps its size through an instar, an answer to a
    question of the profile, or the length of the body."""

    MEASURE = "measure"
    ANSWER = "answer"
    LENGTH = "length"


class ExpectedSize(Struct, frozen=True):
    """The size (mm) that is known of a stage: a mean (`low_mm` and `high_mm` are alike), with the
    number of individuals where it is the cohort's own, or a range."""

    stage: str
    low_mm: float
    high_mm: float
    own_n: int | None = None


class AnswerShare(Struct, frozen=True):
    """The share of a stage that is judged to be as the answer says."""

    stage: str
    share: float


class Evidence(Struct, frozen=True):
    """One thing measured or seen, what it speaks for and what against.

    `what` is the part (or the question), `readings_mm` what was measured of it and `answer` what
    was answered; `reading_error_mm` the SD of a reading, where it was given. `grounds` are what
    the profile (or the cohort) knows of the nearest stages.
    """

    kind: EvidenceKind
    what: str
    readings_mm: tuple[float, ...]
    answer: str | None
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    grounds: tuple[ExpectedSize | AnswerShare, ...]
    reading_error_mm: float | None = None


class Witness(Struct, frozen=True):
    """One piece of evidence and how likely it is in each stage (0 in those not named).

    `fits` is False where it fits no stage, whatever the likelihoods say.
    """

    evidence: Evidence
    likelihood: Mapping[str, float]
    fits: bool = True


def refuse(profile: Profile, measured: Measured, answers: Answers) -> None:
    """Raise UsageError with everything that cannot be weighed."""
    parts = measured.parts_mm
    numbers = [*measured.head_mm, *(each for readings in parts.values() for each in readings)]
    numbers += [measured.length_mm] if measured.length_mm is not None else []
    error = measured.reading_error_mm
    problems = [
        Problem(f"{number:g} mm is not above zero")
        for number in numbers
        if not (math.isfinite(number) and number > 0)
    ]
    if error is not None and not (math.isfinite(error) and error > 0):
        problems.append(Problem(f"a reading error of {error:g} mm is not above zero"))
    if error is not None and not (measured.head_mm or parts):
        problems.append(Problem("a reading error without a reading", remedy=_MEASURE))
    known = {name: None for stage in profile.stages for name in stage.measures_mm}
    remedy = f"it has {', '.join(known)}" if known else "it has none but the head and the body"
    problems += [
        Problem(f"the profile of {profile.name} has no measure “{name}”", remedy=remedy)
        for name in parts
        if name not in known
    ]
    if not numbers and not any(answers.values()):
        problems.append(Problem("nothing is known of it", remedy="measure it, or answer questions"))
    if problems:
        raise UsageError(problems)


def own_widths(growth: Growth | None) -> dict[str, tuple[float, int]]:
    """The cohort's own mean head widths, and of how many individuals, where they are enough."""
    instars = growth.instars if growth else ()
    return {
        each.stage: (each.head_width_mm_mean, each.n) for each in instars if each.n >= FEWEST_OWN
    }


def witnesses(
    profile: Profile,
    measured: Measured,
    answers: Answers,
    own: Mapping[str, tuple[float, int]],
) -> Iterator[Witness]:
    """Each thing that was measured or seen, the length of the body last.

    `own` are the cohort's own mean head widths with their n. Raises UsageError where the profile
    has no values to hold a measure against.
    """
    widths = {each.code: each.head_width_mm for each in profile.stages if each.head_width_mm}
    error = measured.reading_error_mm
    if measured.head_mm:
        yield _of_part(HEAD, measured.head_mm, error, widths, BETWEEN_CV, profile, own)
    for name, readings in measured.parts_mm.items():
        lengths = {
            each.code: each.measures_mm[name] for each in profile.stages if name in each.measures_mm
        }
        if readings:
            what = name.replace("_", " ")
            yield _of_part(what, readings, error, lengths, PART_CV, profile, {})
    everything = (*profile.codes, NOT_THE_ANIMAL)
    for question in profile.questions:
        answer = answers.get(question.key)
        if answer is not None:
            told = sorted(answer.likelihood.items(), key=lambda each: -each[1])[:3]
            speaks = _speaks(answer.likelihood, everything)
            shares = tuple(AnswerShare(code, share) for code, share in told)
            kind = EvidenceKind.ANSWER
            evidence = Evidence(kind, question.text, (), answer.text, *speaks, shares)
            yield Witness(evidence, answer.likelihood)
    if measured.length_mm is not None:
        alone = not measured.head_mm and not measured.parts_mm and not any(answers.values())
        yield _of_length(measured.length_mm, profile, alone)


def _of_part(
    what: str,
    readings: Sequence[float],
    error_mm: float | None,
    known: Mapping[str, Quantity],
    usual_cv: float,
    profile: Profile,
    own: Mapping[str, tuple[float, int]],
) -> Witness:
    """A part that keeps its size through an instar; in stages without a value it cannot be."""
    means = {code: quantity.centre for code, quantity in known.items()}
    means |= {code: mean for code, (mean, _) in own.items()}
    means = {code: means[code] for code in profile.codes if code in means}
    if not means:
        raise UsageError(f"the profile of {profile.name} has no {what}s", _instead(profile))
    spreads = {code: _spread(known.get(code), usual_cv) for code in means}
    result = instar_probabilities(readings, means, spreads, reading_error_mm=error_mm)
    nearest = sorted(means, key=lambda code: abs(math.log(means[code] / readings[0])))[:3]
    sizes = tuple(
        ExpectedSize(code, mean, mean, own[code][1] if code in own else None)
        for code, mean in means.items()
        if code in nearest
    )
    likelihood = result.probabilities
    speaks = _speaks(likelihood if result.fits else {}, means)
    evidence = Evidence(EvidenceKind.MEASURE, what, tuple(readings), None, *speaks, sizes, error_mm)
    return Witness(evidence, likelihood, fits=result.fits)


def _spread(quantity: Quantity | None, usual_cv: float) -> float:
    return usual_cv if quantity is None or not quantity.sd else quantity.sd / quantity.centre


def _of_length(length_mm: float, profile: Profile, alone: bool) -> Witness:
    """The length of the body: within a stage's range it tells nothing, outside it soon a little."""
    likelihood = dict.fromkeys((*profile.codes, NOT_THE_ANIMAL), 0.0 if alone else 1.0)
    ranges = {}
    for stage in profile.stages:
        known = stage.length_mm
        if known is not None:
            low = known.centre if known.low is None else known.low
            high = known.centre if known.high is None else known.high
            beyond = math.log(max(low / length_mm, length_mm / high, 1.0))
            likelihood[stage.code] = max(LENGTH_FLOOR, math.exp(-((beyond / LENGTH_CV) ** 2) / 2))
            ranges[stage.code] = ExpectedSize(stage.code, low, high)
    if not ranges:
        raise UsageError(f"the profile of {profile.name} has no body lengths", _instead(profile))
    best = sorted(ranges, key=lambda code: -likelihood[code])[:3]
    sizes = tuple(size for code, size in ranges.items() if code in best)
    speaks = _speaks(likelihood, list(ranges))
    evidence = Evidence(EvidenceKind.LENGTH, BODY, (length_mm,), None, *speaks, sizes)
    return Witness(evidence, likelihood)


def _instead(profile: Profile) -> str:
    """What else may tell the stage."""
    if any(stage.head_width_mm for stage in profile.stages):
        return _MEASURE
    if profile.questions:
        return "answer its questions"
    return "read its signs" + CommandText(f" with “rearlog species show {profile.id}”", "")


def _speaks(
    likelihood: Mapping[str, float], judged: Iterable[str]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """For which of the stages that are `judged` something speaks, and against which."""
    least = SHARE_FOR * max(likelihood.values(), default=0.0)
    speaks_for = tuple(code for code in judged if likelihood.get(code, 0.0) >= least > 0)
    return speaks_for, tuple(code for code in judged if code not in speaks_for)
