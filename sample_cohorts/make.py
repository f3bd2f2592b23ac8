"""Make the Fernhill cohorts, which are invented: raw files by simulation, cohort files from these.

    python sample_cohorts/make.py

writes `raw/` and the cohort files beside this script anew, the same each time.
"""

from __future__ import annotations

import csv
import shutil
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
from msgspec.structs import replace

from rearlog.analysis.simulation.lives import Chances, Mortality
from rearlog.analysis.simulation.simulate import Schedule, Simulation, simulate
from rearlog.analysis.simulation.sizes import Measuring
from rearlog.exchange import observations_csv, temperature_files
from rearlog.records.incoming import telling
from rearlog.records.log import (
    Cohort,
    CohortLog,
    ConstantTemperature,
    DayExtremes,
    Individual,
    Mark,
    Observation,
    Readings,
    Temperature,
)
from rearlog.records.times import at_clock
from rearlog.species.catalogue import find
from rearlog.store.cohort_file import CohortFile

HERE = Path(__file__).parent
ZONE, CHECK_TIME = "Europe/London", "08:40"
LAID, START = date(2026, 3, 8), date(2026, 3, 9)
ENTERED = at_clock(date(2026, 4, 27), "16:00", ZONE)
"""When the records were written down: a fixed moment, so that the files are the same each time."""


@dataclass(frozen=True)
class Shelf:
    """One shelf: the name of its cohort, the seed of its random numbers, and what befell it."""

    name: str
    celsius: float
    seed: int
    loss: float = 0.0
    forgotten: tuple[date, ...] = ()
    temperatures_file: str | None = None

    @property
    def observations_file(self) -> str:
        """The raw file of its checks."""
        return f"{self.name}-observations.csv"


COOL = Shelf(
    "cool",
    18.0,
    seed=14,
    forgotten=(date(2026, 3, 21), date(2026, 3, 22)),
    temperatures_file="cool-min-max.csv",
)
ROOM = Shelf("room", 22.0, seed=4, loss=0.05)
WARM = Shelf("warm", 27.0, seed=19, temperatures_file="warm-logger.csv")
SHELVES = (COOL, ROOM, WARM)

# a record of the room's cohort that is in no raw file: typed in by hand, and struck out
MISTAKE = Observation(
    "9", at_clock(date(2026, 3, 24), "15:10", ZONE), stage="L5", length_mm=31.5, by="JL"
)
STRUCK = Mark(ENTERED, because="that was cup 9 of the warm shelf", by="KT")


def start_of(shelf: Shelf) -> CohortLog:
    """The shelf's cohort as it starts: 24 eggs, and nothing recorded yet."""
    started = at_clock(START, CHECK_TIME, ZONE)
    laid = at_clock(LAID, "00:00", ZONE), at_clock(START, "00:00", ZONE)
    cohort = Cohort(
        name=shelf.name,
        species=find("painted-lady"),
        zone=ZONE,
        started=started,
        created=ENTERED,
        check_time=CHECK_TIME,
        place=f"Fernhill, {shelf.name} shelf",
        food="mallow leaves",
        planned_celsius=shelf.celsius,
        invented=True,
    )
    return CohortLog(
        cohort, tuple(Individual(str(code), started, "egg", *laid) for code in range(1, 25))
    )


# --- from raw files to cohort files ---------------------------------------------------------------


def build(raw: Path, folder: Path) -> None:
    """Write the cohort files into a folder, from the raw files, as an import does."""
    for shelf in SHELVES:
        start, file = start_of(shelf), CohortFile(folder / f"{shelf.name}.json")
        file.create(start.cohort, start.individuals)
        source = partial(observations_csv.read, raw / shelf.observations_file, now=ENTERED)
        checks = file.record([source], ENTERED).checks
        if shelf.temperatures_file is None:
            last = max(check.at for check in checks).date()
            file.add_temperatures([ConstantTemperature(shelf.celsius, LAID, last)], ENTERED)
        else:
            path = raw / shelf.temperatures_file
            file.add_temperatures(temperature_files.read(path, start, ENTERED).records, ENTERED)
    room = CohortFile(folder / f"{ROOM.name}.json")
    mistake = room.record([telling([MISTAKE])], ENTERED).checks
    room.strike([each.number for each in mistake if each.number], [], STRUCK)


# --- the raw files, by simulation -----------------------------------------------------------------

DAYS = 60
"""Temperatures are drawn for so many days; the cohorts are done before that."""

CHANCES = Chances(
    {
        "egg": Mortality(0.06, ("shrivelled",)),
        "L1": Mortality(0.08, ("shrivelled", "drowned")),
        "L3": Mortality(0.04, ("stuck in molt",)),
        "L5": Mortality(0.04, ("limp and dark",)),
        "pupa": Mortality(0.06, ("fell from the lid", "stuck in the shell")),
    }
)
OBSERVERS = ("JL", "KT", "MB", "RS")
LESSON_DAYS, LESSON_HOURS = range(5), range(9, 15)


def write_raw(folder: Path) -> None:
    """Write down what thermometers and observers noted of simulated cohorts."""
    for shelf in SHELVES:
        kept = true_temperatures(shelf)
        simulation = simulate(
            replace(start_of(shelf), all_temperatures=kept),
            shelf.seed,
            chances=replace(CHANCES, loss=shelf.loss),
            schedule=Schedule(forgotten=frozenset(shelf.forgotten), observers=OBSERVERS),
            measuring=Measuring(share=1 / 3),
        )
        checks = sorted(noted(simulation), key=lambda check: check.at)
        with (folder / shelf.observations_file).open("w", newline="", encoding="utf-8") as stream:
            observations_csv.write(checks, stream)
        if shelf.temperatures_file is not None:
            rows = temperature_rows(kept, shelf, last=checks[-1].at.date())
            path = folder / shelf.temperatures_file
            with path.open("w", newline="", encoding="utf-8") as stream:
                csv.writer(stream).writerows(rows)


def true_temperatures(shelf: Shelf) -> tuple[Temperature, ...]:
    """What the shelf was like: by a window, steady, or above a heater and warmest past noon."""
    rng = np.random.default_rng(shelf.seed)
    if shelf is COOL:
        middle, half = rng.normal(shelf.celsius, 0.7, DAYS), rng.normal(2.0, 0.3, DAYS)
        lowest, highest = (middle - half).round(1).tolist(), (middle + half).round(1).tolist()
        return tuple(
            DayExtremes(LAID + timedelta(day), lowest[day], highest[day]) for day in range(DAYS)
        )
    if shelf is ROOM:
        return (ConstantTemperature(shelf.celsius, LAID),)
    quarters = np.arange(96 * DAYS)
    daily = 1.2 * np.sin(2 * np.pi * (quarters / 96 - 0.375))
    celsius = (shelf.celsius + daily + rng.normal(0.0, 0.15, len(quarters))).round(1)
    begin = at_clock(LAID, "00:00", ZONE)
    return (Readings(begin, tuple((900 * quarters).tolist()), tuple(celsius.tolist())),)


def noted(simulation: Simulation) -> Iterator[Observation]:
    """The checks with what the simulation does not know: who watched an eclosion, an open lid, and
    that each adult was taken out on the day after it was found."""
    for check in simulation.log.all_observations:
        if check.fate == "lost":
            yield replace(check, note="the lid was open")
        elif check.stage != "adult":
            yield check
        else:
            yield in_a_lesson(check, simulation) or check
            yield Observation(
                check.individual,
                at_clock(check.at.date() + timedelta(1), CHECK_TIME, ZONE),
                fate="removed",
                cause="kept for breeding",
                by=check.by,
            )


def in_a_lesson(check: Observation, simulation: Simulation) -> Observation | None:
    """The eclosion of an adult as a class saw it, if it fell into school hours."""
    day = float(simulation.lives.into[int(check.individual) - 1, -1])
    moment = (simulation.log.cohort.started + timedelta(day)).astimezone(ZoneInfo(ZONE))
    if moment.weekday() not in LESSON_DAYS or moment.hour not in LESSON_HOURS:
        return None
    at = at_clock(moment.date(), f"{moment:%H:%M}", ZONE)
    return replace(check, at=at, witnessed=True, note="the class watched")


def temperature_rows(
    kept: Sequence[Temperature], shelf: Shelf, last: date
) -> Iterator[Sequence[object]]:
    """The titles and lines of the file of a thermometer or of a logger, through the day `last`.

    Nobody read the thermometer on the days that were forgotten. The logger keeps UTC.
    """
    known = {DayExtremes: ("date", "min_c", "max_c"), Readings: ("time (UTC)", "temperature (°C)")}
    yield known[type(kept[0])]
    for record in kept:
        if isinstance(record, DayExtremes):
            if record.date <= last and record.date not in shelf.forgotten:
                yield record.date, record.min_c, record.max_c
        elif isinstance(record, Readings):
            for second, celsius in zip(record.seconds, record.celsius, strict=True):
                moment = record.at + timedelta(seconds=second)
                if moment.date() <= last:
                    yield f"{moment:%Y-%m-%d %H:%M}", celsius


def main() -> None:
    """Write everything anew."""
    raw = HERE / "raw"
    raw.mkdir(exist_ok=True)
    write_raw(raw)
    with tempfile.TemporaryDirectory() as folder:
        build(raw, Path(folder))
        for shelf in SHELVES:
            shutil.copy(Path(folder) / f"{shelf.name}.json", HERE)


if __name__ == "__main__":
    main()
