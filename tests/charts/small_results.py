"""Results that are made by hand for charts: grown animals, marked and many ones, a beetle, moths
of which some died."""

from msgspec.structs import replace

from rearlog.analysis.comparing.heat_mortality import (
    HeatMortality,
    MortalityCurve,
    MortalityPoint,
    NoMortalityCurve,
    mortality_curve,
)
from rearlog.analysis.comparing.rate_curves import RateCurve
from rearlog.analysis.comparing.rate_models import LinearRate, linear_rate
from rearlog.analysis.comparing.thermal import RatePoint, StageThermal, Thermal, rate_error
from rearlog.analysis.growth.growth import Growth
from rearlog.analysis.growth.growth import growth as growth_of
from rearlog.analysis.stages.events import event_history
from rearlog.analysis.stages.progress import Group, Progress
from rearlog.records.log import CohortLog
from tests.builders import small_profile, tiny_log
from tests.charts.conftest import only

WIDTHS = {"L1": 0.5, "L2": 0.75, "L3": 1.125}
"""Each 1.5 times the one before."""


def grown(log: CohortLog) -> Growth:
    return growth_of(log, event_history(log), None)


def measured(name: str = "room", *, ratio: bool = True) -> Growth:
    """Two individuals measured once in each instar, and weighed."""
    lives = {"1": "L1 L1 L2 L3 L3", "2": "L1 L1 L2 L3 L3"}
    log_ = tiny_log(lives, profile=small_profile())
    checks = []
    for each in log_.all_observations:
        width = WIDTHS[each.stage] if ratio and each.stage else None
        day = (each.at - log_.cohort.started).days
        mass = 2.0**day if each.individual == "1" else None
        checks.append(replace(each, head_width_mm=width, length_mm=2.0 * day, mass_mg=mass))
    cohort = replace(log_.cohort, name=name)
    return grown(CohortLog(cohort, log_.individuals, tuple(checks)))


def marked(result: Progress) -> Progress:
    """The course with the L1 of individual 1 marked as too long."""
    first = result.individuals[0]
    spans = (first.spans[0], replace(first.spans[1], outside="longer"), *first.spans[2:])
    return replace(result, individuals=(replace(first, spans=spans), *result.individuals[1:]))


def many(result: Progress, times: int) -> Progress:
    """The same cohort with each individual so many times."""
    individuals = tuple(
        replace(each, individual=f"{each.individual}x{copy}")
        for copy in range(times)
        for each in result.individuals
    )
    groups = tuple(
        Group(
            each.name,
            tuple(f"{code}x{copy}" for code in each.individuals for copy in range(times)),
        )
        for each in result.groups
    )
    return replace(result, individuals=individuals, groups=groups)


# Gastrophysa viridula, egg to adult (published: Honěk et al. 2003, Eur. J. Entomol. 100:295–300)
CELSIUS, TOOK = (18.0, 21.5, 25.0, 28.0), (28.2, 21.6, 16.1, 15.0)


def beetle(left_out: int = 0, curves: tuple[RateCurve, ...] = ()) -> Thermal:
    """The published beetle as four cohorts; the first `left_out` of them are not used."""
    line = linear_rate(CELSIUS[left_out:], TOOK[left_out:])
    points = tuple(
        only(
            RatePoint,
            cohort=f"at{celsius:g}",
            temperature=celsius,
            temperature_sd=0.5,
            days=days,
            days_se=0.4,
            rate=1 / days,
            rate_se=rate_error(days, 0.4),
            n=20,
            used=place >= left_out,
        )
        for place, (celsius, days) in enumerate(zip(CELSIUS, TOOK, strict=True))
    )
    names = tuple(point.cohort for point in points)
    fitted = line if isinstance(line, LinearRate) else None
    stage = only(
        StageThermal,
        stage="egg to adult",
        points=points,
        linear=fitted,
        objections=(),
        curves=curves,
    )
    return only(
        Thermal, cohorts=names, left_out=names[:left_out], without_temperatures=(), stages=(stage,)
    )


DIED = {15.0: (14, 30), 20.0: (6, 31), 25.0: (5, 28), 28.0: (9, 30), 31.0: (15, 29), 33.0: (25, 30)}


def died_of(died: dict[float, tuple[int, int]], stage: str = "egg to adult") -> Thermal:
    """Cohorts at temperatures, of which so many of so many died; half as many at the least, and
    half of those that lived besides at the most."""
    points = tuple(
        MortalityPoint(f"t{t:g}", t, n, d, 0, d / n, d / n / 2, (1 + d / n) / 2, used=True)
        for t, (d, n) in died.items()
    )
    curve = mortality_curve(points)
    told = HeatMortality(
        stage,
        points,
        curve if isinstance(curve, MortalityCurve) else None,
        curve if isinstance(curve, NoMortalityCurve) else None,
    )
    return Thermal("Moth test", tuple(each.cohort for each in points), (), (), (), (told,))


def without(told: Thermal, *left_out: str) -> Thermal:
    """The same with cohorts left out of the curve, which stays as it is."""
    (one,) = told.mortality
    points = tuple(replace(each, used=each.cohort not in left_out) for each in one.points)
    return replace(told, mortality=(replace(one, points=points),))
