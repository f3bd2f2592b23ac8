"""Tiny cohorts that differ in one thing, for the tests of comparisons."""

from rearlog.analysis.comparing.cohorts import ComparedCohort
from rearlog.analysis.heat.daily_temperatures import lay_out
from rearlog.analysis.heat.heat_curve import HeatSettings, heat_curve, settings
from rearlog.analysis.stages.events import event_history
from rearlog.records.log import ConstantTemperature
from tests.builders import START, tiny_log


def cohort(
    name: str,
    l1_days: list[int],
    *,
    dead: int = 0,
    together: bool = False,
    celsius: float | None = None,
    species: str = "Moth test",
) -> ComparedCohort:
    """Individuals whose L1 took so many days, from different days on or `together`, and some that
    died on day 2 of an L1."""
    lives = {}
    for n, days in enumerate(l1_days):
        eggs = 1 if together else 1 + n % 6
        lives[f"a{n}"] = "egg " * eggs + "L1 " * days + "L2"
    lives |= {f"d{n}": "egg L1 dead" for n in range(dead)}
    kept = () if celsius is None else (ConstantTemperature(celsius, START.date()),)
    log = tiny_log(lives, temperatures=kept)
    temperatures = lay_out(log)
    curve = heat_curve(temperatures, settings(log.cohort.species, temperatures)) if kept else None
    return ComparedCohort(name, species, event_history(log), curve)


SLOW, FAST = [8, 9, 9, 10, 10, 11, 12, 9], [3, 4, 4, 5, 5, 4, 3, 6]


HOW = HeatSettings(0.0, None, "single-sine", "horizontal")


def kept_at(celsius: float | None, days: int, name: str | None = None) -> ComparedCohort:
    """Three individuals whose L1 took so many days at a temperature (None: not recorded)."""
    records = () if celsius is None else (ConstantTemperature(celsius, START.date()),)
    lives = {str(n): "egg L1! " + "L1 " * (days - 1) + "L2!" for n in range(3)}
    log = tiny_log(lives, temperatures=records)
    curve = None if celsius is None else heat_curve(lay_out(log), HOW)
    return ComparedCohort(name or f"t{celsius}", "Moth test", event_history(log), curve)
