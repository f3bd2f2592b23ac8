"""Heat that is made up, with round numbers: how much there was, and what stages needed of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from msgspec.structs import replace

from rearlog.analysis.stages.expected import OtherThresholds, Timing
from rearlog.analysis.stages.left_open import MeanOf
from rearlog.analysis.stages.stage_heat import (
    Coverage,
    ExpectedTotal,
    Heat,
    HeatDay,
    StageHeat,
)

TODAY = date(2026, 3, 9)


def stage(
    name: str,
    mean: float | None = None,
    expected: tuple[float, float] | None = None,
    *,
    reach: float | None = 1.0,
    of: MeanOf = MeanOf.EVERYBODY,
) -> StageHeat:
    """A stage that needed so much on average, with limits of the mean so far to both sides."""
    verdict = None
    if mean is not None and expected is not None:
        least, most = expected
        away = Timing.SHORTER if mean < least else Timing.LONGER
        verdict = Timing.AS_EXPECTED if least <= mean <= most else away
    known = mean is not None and reach is not None
    low, high = (mean - reach, mean + reach) if known else (None, None)
    return StageHeat(name, 8, mean, 0.5, 0.25, mean, mean, expected, low, high, of, verdict)


def heat(
    *stages: StageHeat,
    cohort: str = "a",
    totals: Sequence[float | None] = (10.0, 60.54),
    **more: object,
) -> Heat:
    """So many days that end today, each with its total (None: not known any more)."""
    first = TODAY - timedelta(len(totals) - 1)
    daily = tuple(
        HeatDay(first + timedelta(place), None, total, filled=False)
        for place, total in enumerate(totals)
    )
    made = Heat(
        cohort, 10.25, None, "single-sine", "horizontal", "degree-days",
        Coverage(len(totals), len(totals), 0, 0), (), None, daily, stages, None, (), (), None,
    )  # fmt: skip
    return replace(made, **more)  # type: ignore[arg-type]


def heats() -> Iterator[tuple[str, list[Heat]]]:
    """What there is to say of heat, in one cohort or beside each other."""
    egg, l1 = stage("egg", 30.4, (28.0, 33.0)), stage("L1", 22.0, (20.0, 25.0))
    much, more = stage("L1", 40.0, (20.0, 30.0)), stage("pupa", 60.0, (30.0, 48.0))
    little = stage("L2", 10.0, (19.6, 25.4))
    unknown = stage("L2", 12.0)
    yield "as expected", [heat(egg, l1)]
    yield "one stage as expected", [heat(egg, stage("L1"))]
    yield "of one nothing is expected", [heat(egg, l1, unknown)]
    yield "of none anything is expected", [heat(unknown)]
    yield "no stage is over", [heat(stage("egg"))]
    yield "one needed more", [heat(egg, much)]
    # the pupa lies 12 beyond of 60, L1 10 of 40: by its share the latter is farther off
    yield "two needed more", [heat(egg, more, much)]
    yield "the other way round", [heat(much, more)]
    yield "one needed less", [heat(egg, little)]
    yield "less, and more", [heat(more, little)]
    yield "none at all", [heat(egg, stage("L1", 0.0, (20.0, 25.0)), much)]
    chance = stage("L1", 31.0, (20.0, 30.0), reach=2.0)
    yield "more by chance", [heat(egg, chance)]
    yield "two by chance", [heat(stage("egg", 27.0, (28.0, 33.0), reach=2.0), chance)]
    yield "less by the early ones", [heat(replace(little, mean_of=MeanOf.EARLY))]
    yield "not known any more", [heat(egg, totals=[10.0, 20.4, None])]
    yield "not known from the first day on", [heat(egg, totals=[None, None])]
    yield "not known any more, one needed more", [heat(much, totals=[10.0, None])]
    b = heat(l1, cohort="b", totals=[9.0, 50.46])
    yield "two", [heat(egg), b]
    yield "two, of which one is not known any more", [heat(egg, totals=[10.0, None]), b]
    yield "two, of which one is not known", [heat(egg, totals=[None]), b]
    yield "two, none of which is known", [heat(egg, totals=[None]), heat(cohort="b", totals=[None])]
    five = [heat(cohort=name, totals=[place + 20.0]) for place, name in enumerate("abcde")]
    yield "five", five
    gaps = Coverage(9, 5, 3, 1)
    totals = (ExpectedTotal("L1", 20.0, 30.0),)
    marked = heat(
        egg, coverage=gaps, expected_totals=totals, clock_changes=(date(2026, 3, 29),), upper=33.0,
        celsius=20.04, other_thresholds=OtherThresholds(6.9, None, 10.25, 33.0),
    )  # fmt: skip
    yield "with gaps, clocks changed and an upper threshold", [marked]
    yield "beside one without", [marked, replace(b, lower=6.9, coverage=Coverage(9, 8, 0, 1))]
