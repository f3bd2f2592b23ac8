"""Invented cohorts, for lessons, planning and tests."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click
from msgspec.structs import replace

from rearlog.cli.numbers import CELSIUS, SHARE, Finite
from rearlog.cli.options import WHEN, new_cohort_argument, notice
from rearlog.cli.simulation_options import every_option, seed_option
from rearlog.cli.standard import InputFile
from rearlog.cli.which_species import species_option
from rearlog.cli.writing import writing
from rearlog.records import times
from rearlog.records.errors import Problem, UsageError
from rearlog.records.log import Cohort, CohortLog, DayExtremes, Readings, Temperature
from rearlog.records.values import LABEL
from rearlog.records.wording import stamp
from rearlog.species.catalogue import find as find_profile

if TYPE_CHECKING:
    from rearlog.analysis.simulation.invention import Wishes
    from rearlog.analysis.simulation.lives import Mortality


_RISK = re.compile(r"(?P<stage>\w+)=(?P<share>\d*\.?\d+)(?::(?P<causes>.+))?")


@click.command("simulate")
@new_cohort_argument
@species_option(required=True)
@click.option("--eggs", type=click.IntRange(1, 100_000), required=True, help="How many eggs.")
@click.option("--temp", type=CELSIUS, metavar="C", help="A constant temperature, °C …")
@click.option(
    "--temps",
    type=InputFile(),
    metavar="FILE",
    help="… or a file of temperatures, as for “rearlog temps”.",
)
@click.option(
    "--on",
    type=WHEN,
    metavar="DATE",
    help="When it starts (default: so that it has just ended; with a file, on its second day).",
)
@click.option(
    "--laid-within",
    type=Finite(0, 2400),
    default=24.0,
    metavar="HOURS",
    help="The eggs are laid in these last hours before.",
)
@click.option(
    "--mortality",
    multiple=True,
    metavar="STAGE=SHARE[:CAUSES]",
    help="The part that dies in a stage, such as L2=0.1 or L2=0.1:mould,shrivelled.",
)
@click.option("--loss", type=SHARE, default=0.0, metavar="SHARE", help="The part that is lost.")
@every_option
@click.option(
    "--forget", multiple=True, type=WHEN, metavar="DATE", help="A day on which nobody looks."
)
@click.option("--no-weekends", is_flag=True, help="Nobody looks on Saturdays and Sundays.")
@click.option(
    "--measure",
    type=SHARE,
    default=0.0,
    metavar="SHARE",
    help="The part whose heads and lengths are measured.",
)
@click.option(
    "--classes",
    type=click.IntRange(2, 1000),
    metavar="N",
    help="So many cohorts in a new folder COHORT, each at a temperature of its own about --temp, "
    "five at a school.",
)
@seed_option
@click.option("--zone", help="Time zone, such as Europe/London (default: this machine's).")
@click.option("--check-time", default="09:00", help="When somebody looks (HH:MM).")
@writing
def simulate_command(
    cohort: Path,
    species: str,
    eggs: int,
    temp: float | None,
    temps: Path | None,
    on: str | None,
    laid_within: float,
    mortality: Sequence[str],
    loss: float,
    every: int,
    forget: Sequence[str],
    no_weekends: bool,
    measure: float,
    classes: int | None,
    seed: int,
    zone: str | None,
    check_time: str,
) -> None:
    """Invent a cohort, for lessons, planning and tests; it is marked as invented.

    Its stages last as the species profile says at these temperatures, with the differences
    between individuals. The same numbers give the same animals.

    \b
    rearlog simulate demo --species painted-lady --eggs 24 --temp 24
    rearlog simulate hot --species monarch --eggs 12 --temps logger.csv --every 2
    rearlog simulate spring --species monarch --eggs 30 --temp 24 --classes 20
    """
    from rearlog.analysis.simulation.invention import Wishes, invent, invent_ended
    from rearlog.analysis.simulation.lives import Chances
    from rearlog.analysis.simulation.simulate import Schedule
    from rearlog.analysis.simulation.sizes import Measuring
    from rearlog.sentences.heat_needs import assumed
    from rearlog.store.new_cohorts import create_cohorts

    if not LABEL.fullmatch(cohort.stem):
        raise UsageError(f"“{cohort.stem}” is not a cohort name", "use letters, digits, - and _")
    zone = times.check_zone(zone or times.local_zone())
    now = times.now(zone)
    clock = times.read_clock(check_time)
    header = Cohort(cohort.stem, find_profile(species), zone, now, now, clock, planned_celsius=temp)
    forgotten = frozenset(times.read_date(each, now.date()) for each in forget)
    wishes = Wishes(
        eggs,
        _warmth(temp, temps, header, now),
        laid_within,
        seed,
        Chances(_risks(mortality), loss),
        Schedule(every, forgotten, no_weekends=no_weekends),
        Measuring(share=measure),
    )
    first = _first_day(on, wishes.warmth, now.date())
    if classes is not None:
        _season(cohort.with_suffix(""), header, wishes, classes, first, now)
        return
    result = (
        invent_ended(header, wishes, now.date()) if first is None else invent(header, wishes, first)
    )
    _refuse_future(result.last_check, now)
    (path,) = create_cohorts(cohort.parent, [result.log], now)
    notice(
        f"Invented {path}: {eggs} × {header.species.codes[0]} of {header.species.name}, looked at "
        f"until {stamp(result.last_check)} (seed {seed})."
    )
    for text in assumed(result.assumptions):
        notice(f"Note: {text}.")


def _season(
    folder: Path, header: Cohort, wishes: Wishes, count: int, first: date | None, now: datetime
) -> None:
    """Invent many cohorts in a folder of their own, which must not be there."""
    from rearlog.analysis.simulation.invention import invent_season  # start-up time
    from rearlog.store.new_cohorts import create_cohorts

    if os.path.lexists(folder):
        raise UsageError(f"{folder} exists already", "choose another name")
    found = [*invent_season(header, wishes, count, first, now.date())]
    _refuse_future(max(each.last_check for each in found), now)
    folder.mkdir()
    create_cohorts(folder, [each.log for each in found], now)
    notice(f"Invented {count} cohorts of {header.species.name} in {folder} (seed {wishes.seed}).")


def _refuse_future(last_check: datetime, now: datetime) -> None:
    if last_check > now:
        raise UsageError(
            f"its last check would be in the future, on {stamp(last_check)}",
            "start it sooner, with --on",
        )


def _warmth(
    celsius: float | None, file: Path | None, cohort: Cohort, now: datetime
) -> float | tuple[Temperature, ...]:
    """The constant temperature, or the file's; raises UsageError unless one of them is given."""
    from rearlog.exchange.temperature_files import read  # start-up time

    if file is None and celsius is not None:
        return celsius
    if file is None or celsius is not None:
        raise UsageError("say how warm it is: --temp C, or --temps FILE")
    long_ago = datetime.fromtimestamp(0, now.tzinfo)
    return read(file, CohortLog(replace(cohort, started=long_ago), ()), now).records


def _first_day(on: str | None, warmth: float | tuple[Temperature, ...], today: date) -> date | None:
    """The day that was asked for, or the second that a file knows; None where any will do."""
    if on is not None:
        return times.read_date(on, today)
    if isinstance(warmth, float):
        return None
    known = [each.date for each in warmth if isinstance(each, DayExtremes)]
    known += [each.at.date() for each in warmth if isinstance(each, Readings)]
    return min(known) + timedelta(1)


def _risks(written: Iterable[str]) -> dict[str, Mortality]:
    """The deaths by stage; raises UsageError with every part that cannot be read."""
    from rearlog.analysis.simulation.lives import Mortality  # start-up time

    risks: dict[str, Mortality] = {}
    problems = []
    for text in written:
        match = _RISK.fullmatch(text)
        if match is None:
            problems.append(Problem(f"“{text}” is no mortality", remedy="write L2=0.1:mould"))
            continue
        causes = tuple(filter(None, map(str.strip, (match["causes"] or "").split(","))))
        risks[match["stage"]] = Mortality(float(match["share"]), causes)
    if problems:
        raise UsageError(problems)
    return risks
