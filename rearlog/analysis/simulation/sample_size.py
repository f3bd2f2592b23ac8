"""How large two cohorts must be for a comparison to show a difference that is there."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

import numpy as np
from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.arrays import Floats
from rearlog.analysis.simulation.simulate import LONGEST_DAYS
from rearlog.analysis.stages.heat_needs import Assumption, Needs, needs
from rearlog.analysis.stages.profile_values import USUAL_PACE, beyond_measured
from rearlog.analysis.statistics.checked_mean import CheckedMean, checked_mean
from rearlog.analysis.statistics.differences import FEWEST_FOR_TEST, mean_test
from rearlog.analysis.statistics.levels import DIFFERENT
from rearlog.analysis.statistics.life_table import wilson
from rearlog.analysis.statistics.log_normal import log_normal, related
from rearlog.records.errors import Problem, UsageError
from rearlog.records.profile import Profile

WANTED_POWER = 0.8
LARGEST = 2_000
"""The largest cohorts that are tried."""
FINE = 0.05
"""Sizes that differ by less than this share are not told apart: the power is not known so well."""
RUNS = 1_000
"""Comparisons simulated for each size: a power near 0.8 is then known to ± 0.025."""


class PowerAt(Struct, frozen=True):
    """The share of simulated comparisons with n individuals a cohort that showed the difference,
    with its 95 % limits (Wilson)."""

    n: int
    power: float
    low: float
    high: float


class SampleSize(Answer, frozen=True):
    """How many individuals must complete a span of stages in each of two cohorts.

    `days` and `other_days` are the mean times from entering `stage` to entering `until`, at
    `celsius` and `other_celsius`. `n` is the smallest size tried of which the share `wanted` of
    comparisons shows the difference at the `level`, None where LARGEST is not enough. `table` has
    every size tried. `false_alarms` is the share of comparisons that show one where there is none:
    less than the `level` where the checks are rare. `in_step`: they are so rare that most pass
    between the same two. `assumptions` are what the profile did not say.
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
    in_step: bool
    assumptions: tuple[Assumption, ...]


def sample_size(
    profile: Profile,
    first: str,
    until: str | None = None,
    *,
    celsius: float,
    difference_days: float | None = None,
    other_celsius: float | None = None,
    every: int = 1,
    wanted: float = WANTED_POWER,
    runs: int = RUNS,
    seed: int = 1,
    progress: Callable[[PowerAt], None] | None = None,
) -> SampleSize:
    """How many must complete a span in each of two cohorts for their difference to be shown.

    One cohort is kept at `celsius` (°C), the other at `other_celsius`, or as much cooler as makes
    the mean time from entering `first` to entering `until` (default: the next stage)
    `difference_days` longer. Both are looked at every `every` days, and compared by the test that
    `compare` uses: shown is a difference whose p is below DIFFERENT. Development is that of
    `rearlog.analysis.simulation.lives`.

    For each size `runs` comparisons are simulated. The size is doubled until it is enough, then
    the gap is halved until it is below FINE; `progress` is called with each size tried. The same
    arguments give the same result.

    Raises UsageError for what makes no sense or cannot be simulated.
    """
    needed = needs(profile)
    watch = _watch(needed, first, until, every)
    heat = float(needed.mean[watch.begin : watch.end].sum())
    rate, other_rate = _rates(needed, heat, celsius, difference_days, other_celsius)
    _refuse(
        {
            "give either the difference in days, or the other temperature": (
                (difference_days is None) == (other_celsius is None)
            ),
            "a temperature is not above the lower developmental threshold": (
                min(rate, other_rate) <= 0
            ),
            "there is no difference to show, it must be above 0 days": rate == other_rate > 0,
            f"it would take more than {LONGEST_DAYS:.0f} days": (
                0 < min(rate, other_rate) < heat / LONGEST_DAYS
            ),
            "the cohorts must be looked at every day, or every few days": every < 1,
            "the power must be between 0 and 1": not 0 < wanted < 1,
            "there must be a comparison or more": runs < 1,
        }
    )
    tried: dict[int, PowerAt] = {}

    def shown(n: int, *rates: float) -> PowerAt:
        rng = np.random.default_rng((seed, n))
        one, other = (watch.cohorts(each, (runs, n), rng) for each in rates)
        count = sum(_is_shown(*pair) for pair in zip(one, other, strict=True))
        return PowerAt(n, count / runs, *(wilson(count, runs) or (0.0, 1.0)))

    def enough(n: int) -> bool:
        if n not in tried:
            tried[n] = shown(n, rate, other_rate)
            if progress is not None:
                progress(tried[n])
        return tried[n].power >= wanted

    n = _smallest(enough)
    stages = profile.stages[watch.begin : watch.end]
    if other_celsius is None:
        other_celsius = needed.lower + other_rate
    difference = heat / other_rate - heat / rate
    assumptions = dict.fromkeys(
        (
            *needed.assumptions,
            *beyond_measured(stages, celsius),
            *beyond_measured(stages, other_celsius),
        )
    )
    return SampleSize(
        stage=first,
        until=needed.stages[watch.end],
        unit="days",
        celsius=celsius,
        other_celsius=other_celsius,
        days=heat / rate,
        other_days=heat / other_rate,
        difference_days=difference,
        every=every,
        level=DIFFERENT,
        wanted=wanted,
        runs=runs,
        n=n,
        table=tuple(tried[size] for size in sorted(tried)),
        false_alarms=shown(n or LARGEST, rate, rate),
        in_step=watch.in_step(rate),
        assumptions=tuple(assumptions),
    )


def _rates(
    needed: Needs,
    heat: float,
    celsius: float,
    difference_days: float | None,
    other_celsius: float | None,
) -> tuple[float, float]:
    """The degree-days a day that either cohort gets; not above 0 where nothing develops."""
    rate = needed.rate(celsius)
    if other_celsius is not None:
        return rate, needed.rate(other_celsius)
    if rate <= 0 or difference_days is None or difference_days <= 0:
        return rate, rate
    return rate, heat / (heat / rate + difference_days)


def _refuse(wrong: Mapping[str, bool]) -> None:
    """Raise UsageError with everything that is wrong, if anything is."""
    problems = [Problem(message) for message, is_so in wrong.items() if is_so]
    if problems:
        raise UsageError(problems)


class _Watch(Struct, frozen=True):
    """Cohorts that are looked at every `every` days, from entering the stage at rank `begin` until
    entering that at `end`."""

    needed: Needs
    begin: int
    end: int
    every: int

    def cohorts(
        self, rate: float, shape: tuple[int, int], rng: np.random.Generator
    ) -> Iterator[CheckedMean]:
        """Mean days of cohorts of n individuals at `rate` degree-days a day, as checks show them:
        `shape` is (cohorts, n).

        The eggs of a cohort are laid within a day, which is known, and the rounds stand anyhow to
        that.
        """
        cohorts, n = shape
        deviates = related(rng, (cohorts * n, len(self.needed.mean)), USUAL_PACE)
        days = log_normal(self.needed.mean, self.needed.sd, deviates) / rate
        night = self.every * rng.random((cohorts, 1))
        laid = (rng.random((cohorts, n)) + night).ravel()
        entered = laid + days[:, : self.begin].sum(axis=1)
        left = entered + days[:, self.begin : self.end].sum(axis=1)
        begun, ended = (self._found(each).reshape(*shape, 2) for each in (entered, left))
        if self.begin == 0:
            begun = np.broadcast_to((night + np.arange(2))[:, None, :], begun.shape)
        values = ended.mean(axis=2) - begun.mean(axis=2)
        for cohort in range(cohorts):
            looked_for = [ended[cohort]] if self.begin == 0 else [begun[cohort], ended[cohort]]
            mean = checked_mean(values[cohort], looked_for)
            assert mean is not None  # no size is below FEWEST_FOR_TEST
            yield mean

    def _found(self, days: Floats) -> Floats:
        """The bounds (n, 2) of passages on these days (n,)."""
        seen = self.every * np.ceil(days / self.every)
        return np.column_stack((seen - self.every, seen))

    def in_step(self, rate: float) -> bool:
        """Whether the checks are too far apart for most cohorts, however large."""
        cohorts = list(self.cohorts(rate, (20, LARGEST), np.random.default_rng(1)))
        return sum(mean.in_step for mean in cohorts) > len(cohorts) / 2


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


def _is_shown(one: CheckedMean, other: CheckedMean) -> bool:
    p = mean_test([one, other]).p
    return p is not None and p < DIFFERENT


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
