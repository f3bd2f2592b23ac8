"""Make the cohorts of an invented life-table study: green dock beetles at three temperatures.

    python sample_cohorts/life_table/make.py

writes `dock-19.json`, `dock-22.json` and `dock-25.json` beside this script anew, the same each
time. Development is simulated from the species profile; how adults live and lay is made up here.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
from msgspec.structs import replace

from rearlog.analysis.simulation.lives import Chances, Mortality
from rearlog.analysis.simulation.simulate import Schedule, Simulation, simulate
from rearlog.records.incoming import telling
from rearlog.records.log import Cohort, CohortLog, ConstantTemperature, Individual, Observation
from rearlog.records.times import at_clock
from rearlog.species.catalogue import find
from rearlog.store.cohort_file import CohortFile

HERE = Path(__file__).parent
ZONE, CHECK_TIME = "Europe/London", "09:00"
LAID, START = date(2026, 4, 19), date(2026, 4, 20)
ENTERED = at_clock(date(2026, 8, 10), "16:00", ZONE)
"""When the records were written down: a fixed moment, so that the files are the same each time."""
EGGS = 40
CHANCES = Chances(
    {
        "egg": Mortality(0.1, ("shrivelled",)),
        "L1": Mortality(0.1, ("shrivelled",)),
        "L3": Mortality(0.05),
        "pupa": Mortality(0.08, ("stuck in the shell",)),
    }
)
BETWEEN_LOOKS = 2
"""Days between looks at an adult."""


@dataclass(frozen=True)
class Regime:
    """One temperature, and how adults live and lay at it, on average: all of it made up."""

    celsius: int
    seed: int
    adult_days: float
    days_to_first_eggs: float
    eggs_a_day: float
    hatch: float
    loss: float = 0.0

    @property
    def name(self) -> str:
        """The name of its cohort."""
        return f"dock-{self.celsius}"


REGIMES = (
    Regime(19, 5, adult_days=31, days_to_first_eggs=9, eggs_a_day=9, hatch=0.86),
    Regime(22, 11, adult_days=27, days_to_first_eggs=7, eggs_a_day=13, hatch=0.88, loss=0.12),
    Regime(25, 8, adult_days=19, days_to_first_eggs=5, eggs_a_day=17, hatch=0.74),
)


def start_of(regime: Regime) -> CohortLog:
    """The cohort as it starts: its eggs, and nothing recorded yet."""
    started = at_clock(START, CHECK_TIME, ZONE)
    laid = at_clock(LAID, "09:00", ZONE), started
    cohort = Cohort(
        name=regime.name,
        species=find("green-dock-beetle"),
        zone=ZONE,
        started=started,
        created=ENTERED,
        check_time=CHECK_TIME,
        place=f"cabinet at {regime.celsius} °C",
        food="broad-leaved dock",
        planned_celsius=float(regime.celsius),
        invented=True,
    )
    eggs = (Individual(str(code), started, "egg", *laid) for code in range(1, EGGS + 1))
    return CohortLog(cohort, tuple(eggs))


def looks(regime: Regime) -> Iterator[Observation]:
    """Every look at a cohort, until all are dead or lost."""
    warmth = ConstantTemperature(float(regime.celsius), LAID)
    simulation = simulate(
        replace(start_of(regime), all_temperatures=(warmth,)),
        regime.seed,
        chances=replace(CHANCES, loss=regime.loss),
        schedule=Schedule(observers=("KT", "MB")),
    )
    yield from simulation.log.all_observations
    rng = np.random.default_rng([regime.seed, 1])
    for place in range(EGGS):
        yield from _adult_looks(regime, simulation, place, rng)


def _adult_looks(
    regime: Regime, simulation: Simulation, place: int, rng: np.random.Generator
) -> Iterator[Observation]:
    """The looks at one adult from the second on: its sex, its eggs, those that hatched, its death.

    A female lays batches of about ten eggs, fewer as she ages; those that hatch do so within the
    eight days after they were counted.
    """
    code = simulation.log.individuals[place].code
    first = [
        each.at
        for each in simulation.log.all_observations
        if (each.individual, each.stage, each.fate) == (code, "adult", None)
    ]
    if not first:
        return
    female = bool(rng.random() < 0.52)
    emerged = float(simulation.lives.into[place, -1])
    lasts = float(rng.gamma(9.0, regime.adult_days / 9.0))
    begins = emerged + float(rng.gamma(12.0, regime.days_to_first_eggs / 12.0))
    vigour = float(rng.gamma(8.0, 1 / 8.0))
    clock = simulation.log.cohort.clock
    hatching: list[tuple[datetime, int]] = []
    number, before, at = 0, clock.days(first[0]), first[0]
    over = False
    while not over or hatching:
        at = at_clock(at.date() + timedelta(BETWEEN_LOOKS), CHECK_TIME, ZONE)
        number, day = number + 1, clock.days(at)
        ended, over = over, emerged + lasts <= day
        laying = max(0.0, min(day, emerged + lasts) - max(before, begins))
        age = max(0.0, (day - begins) / regime.adult_days)
        mean = laying * regime.eggs_a_day * vigour * float(np.exp(-0.6 * age))
        eggs = int(10 * rng.poisson(mean / 10) + rng.integers(-1, 2)) if female and laying else 0
        eggs = max(0, eggs)
        hatched = sum(n for due, n in hatching if due <= at)
        told = any(due <= at for due, _ in hatching)
        hatching = [(due, n) for due, n in hatching if due > at]
        if eggs:
            hatching.append((at + timedelta(8), int(rng.binomial(eggs, regime.hatch))))
        before = day
        if ended and not told:
            continue
        yield Observation(
            code,
            at,
            stage=None if over else "adult",
            fate="dead" if over else None,
            cause="of age" if over and not ended else None,
            sex=("f" if female else "m") if number == 1 else None,
            eggs=eggs if female and not ended else None,
            hatched=hatched if told else None,
            by=("KT", "MB")[number % 2],
        )


def build(folder: Path) -> None:
    """Write the cohort files into a folder."""
    for regime in REGIMES:
        start, file = start_of(regime), CohortFile(folder / f"{regime.name}.json")
        file.create(start.cohort, start.individuals)
        told = sorted(looks(regime), key=lambda look: (look.at, int(look.individual)))
        file.record([telling(told)], ENTERED)
        last = max(look.at for look in told).date()
        kept = ConstantTemperature(float(regime.celsius), LAID, last)
        file.add_temperatures([kept], ENTERED)


def main() -> None:
    """Write everything anew."""
    with tempfile.TemporaryDirectory() as folder:
        build(Path(folder))
        for regime in REGIMES:
            shutil.copy(Path(folder) / f"{regime.name}.json", HERE)


if __name__ == "__main__":
    main()
