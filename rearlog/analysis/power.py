"""How large two cohorts must be for a comparison to show a difference that is there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from rearlog.analysis.compare import DIFFERENT
from rearlog.analysis.differences import FEWEST_FOR_TEST, location_test
from rearlog.analysis.events import Floats
from rearlog.analysis.heat_needs import Needs, extrapolations, needs
from rearlog.analysis.life_table import wilson
from rearlog.analysis.lives import USUAL_PACE, log_normal, related
from rearlog.records.errors import Problem, UsageError
from rearlog.records.profile import Profile

WANTED_POWER = 0.8
LARGEST = 2_000
"""The largest cohorts that are tried."""
FINE = 0.05
"""Sizes that differ by less than this share are not told apart: the power is not known so well."""
RUNS = 1_000
"""Comparisons simulated for each size: a power near 0.8 is then known to ± 0.025."""


@dataclass(frozen=True, slots=True)
class PowerAt:
    """The share of simulated comparisons with n individuals a cohort that showed the difference,
    with its 95 % limits (Wilson)."""

    n: int
    power: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class SampleSize:
    """How many individuals must complete a span of stages in each of two cohorts.

    `days` and `other_days` are the mean times from entering `stage` to entering `until`, at
    `celsius` and `other_celsius`. `n` is the smallest size tried of which the share `wanted` of
    comparisons shows the difference at the `level`, None where LARGEST is not enough. `table` has
    every size tried. `false_alarms` is the share of comparisons that show one where there is none:
    more than the `level` where the checks are too rare for cohorts that develop in step. `words`
    say it in plain English, `assumptions` what the profile did not.
    """

    stage: str
    until: str
    unit: str
    celsius: float
    other_celsius: float
    days: float
    other_days: float
    difference_days: float
    every: int
    level: float
    wanted: float
    runs: int
    n: int | None
    table: tuple[PowerAt, ...]
    false_alarms: PowerAt
    words: str
    assumptions: tuple[str, ...]


def sample_size(
    profile: Profile,
    first: str,
    until: str | None = None,
    *,
    celsius: float,
    difference_days: float,
    every: int = 1,
    level: float = DIFFERENT,
    wanted: float = WANTED_POWER,
    runs: int = RUNS,
    seed: int = 1,
    progress: Callable[[PowerAt], None] | None = None,
) -> SampleSize:
    """How many must complete a span in each of two cohorts for their difference to be shown.

    One cohort is kept at `celsius` (°C), the other as much cooler as makes the mean time from
    entering `first` to entering `until` (default: the next stage) `difference_days` longer. Both
    are looked at every `every` days, and compared by the test that `compare` uses: shown is a
    difference whose p is below `level`. (A comparison of several stages corrects p for their
    number, which asks for a smaller level.) Development is that of `rearlog.analysis.lives`.

    For each size `runs` comparisons are simulated. The size is doubled until it is enough, then
    the gap is halved until it is below FINE; `progress` is called with each size tried. The same
    arguments give the same result.

    Raises UsageError for what makes no sense or cannot be simulated.
    """
    needed = needs(profile)
    watch = _watch(needed, first, until, every)
    _refuse_impossible(needed.rate(celsius), difference_days, every, level, wanted, runs)
    heat = float(needed.mean[watch.begin : watch.end].sum())
    rate = needed.rate(celsius)
    other_rate = heat / (heat / rate + difference_days)
    tried: dict[int, PowerAt] = {}

    def shown(n: int, *rates: float) -> PowerAt:
        rng = np.random.default_rng((seed, n))
        one, other = (watch.days(each, (runs, n), rng) for each in rates)
        count = sum(_is_shown(*pair, level) for pair in zip(one, other, strict=True))
        return PowerAt(n, count / runs, *(wilson(count, runs) or (0.0, 1.0)))

    def enough(n: int) -> bool:
        if n not in tried:
            tried[n] = shown(n, rate, other_rate)
            if progress is not None:
                progress(tried[n])
        return tried[n].power >= wanted

    n = _smallest(enough)
    false_alarms = shown(n or LARGEST, rate, rate)
    stages = profile.stages[watch.begin : watch.end]
    other_celsius = needed.lower + other_rate
    return SampleSize(
        stage=first,
        until=needed.stages[watch.end],
        unit="days",
        celsius=celsius,
        other_celsius=other_celsius,
        days=heat / rate,
        other_days=heat / other_rate,
        difference_days=difference_days,
        every=every,
        level=level,
        wanted=wanted,
        runs=runs,
        n=n,
        table=tuple(tried[size] for size in sorted(tried)),
        false_alarms=false_alarms,
        words=_words(n, difference_days, wanted, false_alarms, level),
        assumptions=tuple(
            dict.fromkeys(
                (
                    *needed.assumptions,
                    *extrapolations(stages, celsius),
                    *extrapolations(stages, other_celsius),
                )
            )
        ),
    )


def _words(
    n: int | None, difference_days: float, wanted: float, false_alarms: PowerAt, level: float
) -> str:
    shows = f"show a difference of {difference_days:g} days in {wanted:.0%} of comparisons"
    text = f"{n} individuals that complete it in each cohort {shows}."
    if n is None:
        text = f"Not even {LARGEST} individuals in each cohort would {shows}."
    if false_alarms.low > level:
        text += (
            f" But a difference that is not there would show in {false_alarms.power:.0%} of them, "
            "because the animals develop in step and the checks are too far apart: look more often."
        )
    return text


@dataclass(frozen=True, eq=False)
class _Watch:
    """Cohorts that are looked at every `every` days, from entering the stage at rank `begin` until
    entering that at `end`."""

    needed: Needs
    begin: int
    end: int
    every: int

    def days(self, rate: float, shape: tuple[int, int], rng: np.random.Generator) -> Floats:
        """Durations as the midpoints of passages show them, at `rate` degree-days a day, for a
        number of cohorts of n individuals: both shapes are (cohorts, n).

        The eggs of a cohort are laid within a day, and the rounds stand anyhow to that. A passage
        is seen in the next round, so two midpoints are as far apart as the rounds are.
        """
        cohorts, n = shape
        deviates = related(rng, (cohorts * n, len(self.needed.mean)), USUAL_PACE)
        days = log_normal(self.needed.mean, self.needed.sd, deviates) / rate
        laid = rng.random((cohorts, n)) + self.every * rng.random((cohorts, 1))
        entered = laid.ravel() + days[:, : self.begin].sum(axis=1)
        left = entered + days[:, self.begin : self.end].sum(axis=1)
        rounds = np.ceil(left / self.every) - np.ceil(entered / self.every)
        return np.asarray(self.every * rounds.reshape(shape))


def _watch(needed: Needs, first: str, until: str | None, every: int) -> _Watch:
    """The span that is watched; raises UsageError where there is none such."""
    passed = [
        code for code, left_out in zip(needed.stages, needed.optional, strict=True) if not left_out
    ]
    for stage in filter(None, (first, until)):
        if stage not in passed:
            raise UsageError(f"there is no stage {stage} to compare", f"use {', '.join(passed)}")
    following = passed[passed.index(first) + 1 :]
    if not following:
        raise UsageError(f"{first} is the last stage, and has no end")
    if until is not None and until not in following:
        raise UsageError(f"{until} does not come after {first}")
    end = needed.stages.index(until or following[0])
    return _Watch(needed, needed.stages.index(first), end, every)


def _refuse_impossible(
    rate: float, difference_days: float, every: int, level: float, wanted: float, runs: int
) -> None:
    """Raise UsageError with everything in the arguments that makes no sense."""
    wrong = {
        "the temperature is not above the lower developmental threshold": rate <= 0,
        "the difference must be above 0 days": not difference_days > 0,
        "the cohorts must be looked at every day, or every few days": every < 1,
        "the level must be between 0 and 1": not 0 < level < 1,
        "the power must be between 0 and 1": not 0 < wanted < 1,
        "there must be a comparison or more": runs < 1,
    }
    if any(wrong.values()):
        raise UsageError(Problem(message) for message, is_so in wrong.items() if is_so)


def _is_shown(one: Floats, other: Floats, level: float) -> bool:
    p = location_test((one, other)).p
    return p is not None and p < level


def _smallest(enough: Callable[[int], bool]) -> int | None:
    """The smallest size that is enough, None if LARGEST is not."""
    low = high = FEWEST_FOR_TEST
    while not enough(high):
        if high == LARGEST:
            return None
        low, high = high, min(2 * high, LARGEST)
    while high - low > max(1.0, FINE * high):
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high
