"""A made-up moth, and cohorts of its eggs, for the tests of the simulation."""

from datetime import date, timedelta

from rearlog.analysis.heat.daily_temperatures import lay_out
from rearlog.analysis.heat.heat_curve import HeatCurve, heat_curve, settings
from rearlog.records.log import Cohort, CohortLog, ConstantTemperature, Individual, Temperature
from rearlog.records.profile import Profile, Quantity, Source, StageProfile
from rearlog.records.times import at_clock

LOWER = 8.0
MEAN_DD = {"egg": 60.0, "L1": 45.0, "L2": 35.0, "L3": 75.0, "pupa": 130.0}
SD_DD = {"egg": 8.0, "L1": 5.0, "L2": 4.0, "L3": 8.0, "pupa": 13.0}
HEAD_MM = {"L1": (0.4, 0.02), "L2": (0.8, 0.05), "L3": (1.6, 0.1)}
LENGTH_MM = {"L1": (2.0, 4.0), "L2": (4.0, 9.0), "L3": (9.0, 30.0)}
LAID = date(2026, 3, 8)


def number(value=None, **more):
    return Quantity("invented", value, **more)


def stage(code, **more):
    known = {"degree_days": number(MEAN_DD[code], sd=SD_DD[code])} if code in MEAN_DD else {}
    if code in HEAD_MM:
        mean, sd = HEAD_MM[code]
        low, high = LENGTH_MM[code]
        known |= {"head_width_mm": number(mean, sd=sd), "length_mm": number(low=low, high=high)}
    return StageProfile(code, code, **(known | more))


def moth(*stages, **more):
    """The profile of the moth; stages that are given replace those of the same code."""
    given = {each.code: each for each in stages}
    usual = [stage(code) for code in (*MEAN_DD, "adult")]
    return Profile(
        id="moth",
        name="moth",
        scientific_name="Fictus fictus",
        stages=tuple(given.get(each.code, each) for each in usual),
        sources={"invented": Source("own", "invented for the tests")},
        **({"lower": number(LOWER)} | more),
    )


def eggs(
    n: int,
    *temperatures: Temperature,
    celsius: float = 20.0,
    profile: Profile | None = None,
    zone: str = "Europe/London",
    laid_on: date | None = LAID,
) -> CohortLog:
    """A cohort that starts on 9 March at 09:00 with n eggs, laid on a day or nobody knows when."""
    start = at_clock(LAID + timedelta(1), "09:00", zone)
    laid = (
        (None, None)
        if laid_on is None
        else (at_clock(laid_on, "00:00", zone), at_clock(laid_on + timedelta(1), "00:00", zone))
    )
    return CohortLog(
        Cohort("moths", profile or moth(), zone, start, start),
        tuple(Individual(str(code), start, "egg", *laid) for code in range(1, n + 1)),
        all_temperatures=temperatures or (ConstantTemperature(celsius, LAID),),
    )


def curve_of(start: CohortLog) -> HeatCurve:
    temperatures = lay_out(start)
    return heat_curve(temperatures, settings(start.cohort.species, temperatures))
