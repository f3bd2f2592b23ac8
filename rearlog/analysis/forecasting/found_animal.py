"""An animal of which only the stage is known: how old it is, when it was laid, what comes when."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np
from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.arrays import Floats
from rearlog.analysis.forecasting.forecast_model import FARTHEST_DAYS
from rearlog.analysis.forecasting.phases import Phases, phases
from rearlog.analysis.stages.events import event_names
from rearlog.analysis.stages.profile_values import (
    USUAL_PACE,
    Extrapolation,
    measured_near,
    steady_rate,
)
from rearlog.analysis.statistics.levels import WINDOW, tails
from rearlog.records.profile import SOURCE_KINDS, Profile

_MOMENTS = 400
"""Moments within a stage at which an animal may be found, each as likely as any other."""
_HALVINGS = 60


class Wait(Struct, frozen=True):
    """How many days something takes or took: half the animals less than `likely`, and the part
    WINDOW of them between `low` and `high`."""

    low: float
    likely: float
    high: float


class Days(Struct, frozen=True):
    """Calendar days, from the earliest to the latest of the part WINDOW."""

    earliest: date
    likely: date
    latest: date


class Coming(Struct, frozen=True):
    """A passage to come, `event`, into a stage: in how many days, and on which."""

    event: str
    into: str
    wait: Wait
    on: Days


class FoundAnimal(Answer, frozen=True):
    """What follows from the stage in which an animal was found, at one temperature all its life.

    `known` is the stage, or those that the profile knows only together (`L1 to L22`). `age` and
    `laid` are None where the profile does not tell; `coming` ends where it does not tell, and
    `untold` are the stages of which it does not. `lower` and `upper` are the thresholds (°C) that
    its degree-days are counted with; `lower` is None where its days were taken as they stand.
    `grows` is False where nothing develops. `kinds` say how the values are known; `beyond` names
    stages with values that were measured at other temperatures.
    """

    species: str
    stage: str
    found_on: date
    celsius: float
    known: str
    grows: bool
    lower: float | None
    upper: float | None
    age: Wait | None
    laid: Days | None
    coming: tuple[Coming, ...]
    untold: tuple[str, ...]
    beyond: tuple[Extrapolation, ...]
    kinds: tuple[str, ...]
    window: float


def found_animal(profile: Profile, stage: str, celsius: float, found_on: date) -> FoundAnimal:
    """Reckon from the stage of an animal to its age and to what is to come.

    Method: it may be at any moment of its stage, all alike; the stages before and after take what
    the profile says, in degree-days above its threshold at a constant temperature (°C), or in its
    days where it has no threshold. Individuals differ as the profile says, and one that is slow in
    a stage is slow in others (USUAL_PACE). The ranges are the exact quantiles of that mixture of
    normal distributions. That a slow animal is met with more often in a stage than a quick one is
    left out of account: it makes the stage longer by its SD squared over its mean, a hundredth of
    it at an SD of a tenth. Stages that may be passed over are not counted on. KeyError where the
    profile has no such stage.
    """
    lower = profile.lower.centre if profile.lower else None
    upper = profile.upper.centre if profile.upper else None
    rate = 1.0 if lower is None else steady_rate(celsius, lower, upper)
    expected = phases(profile, "days" if lower is None else "degree-days", rate)
    place = int(expected.of_stage[profile.rank[stage]])
    is_last = place == len(expected.phases)
    known = profile.codes[-1] if is_last else expected.name(place)
    age, coming = None, list[Coming]()
    if rate > 0 and not is_last:
        age = _age(expected, place, rate)
        coming = list(_coming(profile, expected, place, rate, found_on))
    return FoundAnimal(
        species=profile.scientific_name,
        stage=stage,
        found_on=found_on,
        celsius=celsius,
        known=known,
        grows=rate > 0,
        lower=lower,
        upper=upper,
        age=age,
        laid=None if age is None else _on(found_on, Wait(-age.high, -age.likely, -age.low)),
        coming=tuple(coming),
        untold=tuple(_untold(expected)),
        beyond=tuple(_beyond(expected, celsius)),
        kinds=_kinds(profile, expected),
        window=WINDOW,
    )


def _counted(expected: Phases, first: int, until: int) -> list[int]:
    """The phases from one place to another, but those that may be passed over."""
    return [place for place in range(first, until) if not expected.phases[place].optional]


def _age(expected: Phases, place: int, rate: float) -> Wait | None:
    """Days since it was laid; None where a profile does not begin with the egg."""
    if expected.stages[0] != "egg":
        return None
    return _wait(expected, place, _counted(expected, 0, place), rate)


def _coming(
    profile: Profile, expected: Phases, place: int, rate: float, found_on: date
) -> Iterator[Coming]:
    names = event_names(profile.codes)
    for after in range(place, len(expected.phases)):
        if after > place and expected.phases[after].optional:
            continue
        wait = _wait(expected, place, _counted(expected, place + 1, after + 1), rate)
        if wait is None:
            return
        into = profile.codes[expected.next_stage(after)]
        on = _on(found_on, wait)
        yield Coming(names[into], into, wait, on)


def _wait(expected: Phases, place: int, others: list[int], rate: float) -> Wait | None:
    """A share of one stage and the whole of others, in days; None where one is not known, or where
    it takes longer than FARTHEST_DAYS.

    What is left of a stage is distributed as what is over of it, so that this serves for both.
    """
    share = (np.arange(_MOMENTS) + 0.5) / _MOMENTS
    mean = expected.mean[others].sum() + share * expected.mean[place]
    spreads = expected.sd[others].sum() + share * expected.sd[place]
    own = (expected.sd[others] ** 2).sum() + (share * expected.sd[place]) ** 2
    sd = np.sqrt(USUAL_PACE * spreads**2 + (1 - USUAL_PACE) * own)
    if np.isnan(mean).any():
        return None
    below, above = tails(WINDOW)
    low, likely, high = (
        max(0.0, _quantile(mean / rate, np.maximum(sd / rate, 1e-9), p))
        for p in (below, 0.5, above)
    )
    return Wait(low, likely, high) if high < FARTHEST_DAYS else None


def _quantile(mean: Floats, sd: Floats, p: float) -> float:
    """Where a mixture of normal distributions, equally weighted, has the share p below it."""
    from scipy.special import ndtr  # start-up time

    low, high = float((mean - 9 * sd).min()), float((mean + 9 * sd).max())
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if ndtr((middle - mean) / sd).mean() < p:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _on(found_on: date, wait: Wait) -> Days:
    """The calendar days of a wait that begins at noon."""
    days = (
        found_on + timedelta(days=int(np.floor(each + 0.5)))
        for each in (wait.low, wait.likely, wait.high)
    )
    return Days(*days)


def _untold(expected: Phases) -> Iterator[str]:
    for place, phase in enumerate(expected.phases):
        if phase.mean is None and not phase.optional:
            yield expected.name(place)


def _beyond(expected: Phases, celsius: float) -> Iterator[Extrapolation]:
    found: dict[tuple[float, float], list[str]] = {}
    for place, phase in enumerate(expected.phases):
        measured = phase.celsius
        if measured is not None and not phase.optional and not measured_near(measured, celsius):
            found.setdefault(measured, []).append(expected.name(place))
    for measured, stages in found.items():
        yield Extrapolation(tuple(stages), measured, celsius)


def _kinds(profile: Profile, expected: Phases) -> tuple[str, ...]:
    """How the values that were used are known, the best first."""
    found = set()
    for phase in expected.phases:
        ends = profile.codes[phase.first], profile.codes[phase.until]
        spans = [each for each in profile.spans if (each.first, each.until) == ends]
        stage = profile.stages[phase.first]
        for each in [stage] if phase.until == phase.first + 1 else spans[:1]:
            value = each.degree_days if profile.lower and each.degree_days else each.days
            if value is not None and not phase.optional:
                found.add(profile.sources[value.source].kind)
    return tuple(kind for kind in SOURCE_KINDS if kind in found)
