"""Tiny logs for tests: what was seen of each individual, day by day."""

from datetime import UTC, datetime, timedelta
from typing import Any

from rearlog.notebook import Notebook
from rearlog.records.fates import FATES
from rearlog.records.log import (
    Cohort,
    CohortLog,
    Individual,
    Observation,
    Temperature,
)
from rearlog.records.profile import Profile, Quantity, Source, StageProfile

START = datetime(2026, 3, 9, 9, tzinfo=UTC)


def small_profile(*, heat: dict[str, float] | None = None, lower: float | None = 10.0) -> Profile:
    """Egg, three instars (the last one optional), pupa, adult; `heat` in degree-days by stage."""
    heat = heat or {}
    stages = tuple(
        StageProfile(
            code,
            code,
            optional=code == "L3",
            degree_days=Quantity("test", value=heat[code], sd=0.1 * heat[code])
            if code in heat
            else None,
        )
        for code in ("egg", "L1", "L2", "L3", "pupa", "adult")
    )
    return Profile(
        id="test-moth",
        name="test moth",
        scientific_name="Moth test",
        stages=stages,
        sources={"test": Source("own", "made for a test")},
        lower=None if lower is None else Quantity("test", value=lower),
    )


def moment(day: float) -> datetime:
    """The instant this many days after the start."""
    return START + timedelta(days=day)


def seen(individual: str, day: float, state: str, **measured: Any) -> Observation:
    """A check: `L1`, `L1!` (the passage itself was seen), `dead`, `dead:mould`, `lost`…, with what
    was measured, as `head_width_mm=0.5`."""
    state, _, cause = state.partition(":")
    witnessed = state.endswith("!")
    state = state.removesuffix("!")
    fate = state if state in FATES else None
    return Observation(
        individual,
        moment(day),
        stage=None if fate else state,
        fate=fate,
        cause=cause or None,
        witnessed=witnessed,
        **measured,
    )


def tiny_log(
    lives: dict[str, str],
    *,
    profile: Profile | None = None,
    laid: tuple[float, float] | None = None,
    temperatures: tuple[Temperature, ...] = (),
    zone: str = "UTC",
    name: str = "tiny",
) -> CohortLog:
    """A log from one line an individual, `egg egg L1 - L2 dead:mould`: a word a day, - for none.

    The first word is the stage at entry, on day 0.
    """
    individuals, observations = [], []
    for code, line in lives.items():
        first, *later = line.split()
        bounds = (None, None) if laid is None else (moment(laid[0]), moment(laid[1]))
        individuals.append(Individual(code, START, first, *bounds))
        observations += [
            seen(code, day, state) for day, state in enumerate(later, start=1) if state != "-"
        ]
    header = Cohort(name, profile or small_profile(), zone, START, START)
    return CohortLog(header, tuple(individuals), tuple(observations), temperatures)


def notebook_of(log: CohortLog) -> Notebook:
    """A log opened for its answers, without a file."""
    return Notebook(f"{log.cohort.name}.json").with_log(log)
