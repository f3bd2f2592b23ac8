"""Life tables that are made up, with round numbers, in one cohort or in several."""

from msgspec.structs import replace

from rearlog.analysis.reproduction.estimates import Estimate, Measure
from rearlog.analysis.reproduction.euler_lotka import EggAge
from rearlog.analysis.reproduction.pairs_of_cohorts import PairOfCohorts
from rearlog.analysis.reproduction.reproduction import (
    LifeTableDay,
    Reproduction,
    ReproductionComparison,
)
from rearlog.analysis.statistics.differences import Difference


def estimate(measure: Measure, value: float | None, low: float | None, high: float | None):
    return Estimate(measure, 40, value, None if value is None else 0.1, low, high)


def result(
    cohort: str = "warm",
    r0: tuple[float, float | None, float | None] = (71.45, 41.3, 115.6),
    r: tuple[float | None, float | None, float | None] = (0.128, 0.11, 0.145),
    factor: float | None = 1.137,
    **more: object,
) -> Reproduction:
    told = {
        Measure.R0: r0,
        Measure.RATE: r,
        Measure.FINITE_RATE: (factor, 1.0, 1.2),
        Measure.GENERATION: (None if r[0] is None else 33.27, 30.0, 35.0),
    }
    found = Reproduction(
        cohort=cohort,
        egg_age=EggAge.MIDDLE,
        n=40,
        left_out=0,
        since_entry=0,
        females=14,
        males=14,
        unsexed=0,
        layers=14,
        eggs=2858,
        cages_unsexed=0,
        males_records=0,
        males_eggs=0,
        dead=40,
        alive=0,
        units=None,
        resamples=10_000,
        childless=0,
        estimates=tuple(
            estimate(each, *told.get(each, (1.0, 0.5, 1.5)))  # type: ignore[misc]
            for each in Measure
        ),
        females_only=(),
        life_table=(LifeTableDay(61, 1, 0.1, None, None, 0.0, None, None, 0, 0, 0, 0, 0, 0),),
        age_stage=(),
        stable_stages=(),
    )
    return replace(found, **more)  # type: ignore[arg-type]


def pair(measure: Measure, first: int, second: int, p: float | None) -> PairOfCohorts:
    return PairOfCohorts(measure, first, second, Difference(-0.05, -0.08, -0.02), p)


def compared(*ps: float | None, factors: tuple[float | None, ...] = (1.083, 1.137, 1.158)):
    cohorts = tuple(
        result(name, r=(None if one is None else one - 1, 0.1, 0.2), factor=one)
        for name, one in zip(("cool", "room", "warm", "hot"), factors, strict=False)
    )
    places = [(a, b) for a in range(len(cohorts)) for b in range(a + 1, len(cohorts))]
    pairs = [
        pair(measure, *place, p)
        for measure in (Measure.RATE, Measure.R0)
        for place, p in zip(places, ps, strict=True)
    ]
    return ReproductionComparison(cohorts, tuple(pairs))
