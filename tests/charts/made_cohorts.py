"""Invented cohorts of any size and number, and their charts: each answer worked out once a process.

The answers are worked out under short names; long ones are put into the results afterwards.
"""

from __future__ import annotations

import importlib
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import Any

from matplotlib.figure import Figure
from msgspec.structs import replace

from rearlog.analysis.pooling.cohort_summary import CohortSummary, cohort_summary
from rearlog.analysis.pooling.season import season
from rearlog.analysis.simulation.invention import Wishes, invent
from rearlog.analysis.simulation.lives import Chances, Mortality
from rearlog.analysis.simulation.simulate import Schedule
from rearlog.analysis.simulation.sizes import Measuring
from rearlog.charts.names import renamed
from rearlog.charts.style import Style
from rearlog.notebook import Notebook
from rearlog.present.pictures import OF_ALL, OF_EACH, OF_SEASON, draw_season
from rearlog.records.log import Cohort, CohortLog
from rearlog.records.profile import Quantity
from rearlog.species.catalogue import find
from tests.builders import notebook_of

START = datetime(2026, 3, 9, 9, tzinfo=UTC)
ANSWERED = Chances({"L2": Mortality(0.08, ("mould",)), "pupa": Mortality(0.06)}, loss=0.04)
WARMTHS = (18.0, 24.0, 28.0, 20.0, 26.0, 22.0)
SPECIES, OTHER_SPECIES = "painted-lady", "mealworm"
"""The second has instars under other names, and nothing after the pupa but adults."""


@cache
def notebook(place: int, individuals: int, species: str = SPECIES) -> Notebook:
    """One invented cohort, with a temperature of its own."""
    profile = find(species)
    if profile.lower is None:  # lives are drawn by heat, of which this one says too little
        profile = replace(profile, lower=Quantity("memory", value=10.0))
    name = f"c{place:02d}"
    header = Cohort(name, profile, "UTC", START, START)
    stages = set(profile.codes)
    wishes = Wishes(
        individuals,
        WARMTHS[place % len(WARMTHS)],
        seed=100 * place + individuals,
        chances=replace(
            ANSWERED, mortality={k: v for k, v in ANSWERED.mortality.items() if k in stages}
        ),
        schedule=Schedule(every=1 if len(stages) < 15 else 4, observers=("KT", "MB")),
        measuring=Measuring(share=min(1.0, 40 / individuals)),
    )
    log = invent(header, wishes, START.date() + timedelta(days=place)).log
    return notebook_of(log)


@cache
def answer(kind: str, place: int, individuals: int, species: str = SPECIES) -> Any:
    """What a chart shows of one cohort."""
    if kind == "reproduction":
        few = min(max(individuals, 6), 24)  # of more the curves look the same, and take longer
        if few != individuals:
            return answer(kind, place, few, species)
    found = notebook(place, individuals, species)
    if kind == "forecast":
        third = found.log.cohort.started + timedelta(
            days=found.stage_counts().days[-1].date.toordinal() / 2
            - found.stage_counts().days[0].date.toordinal() / 2
        )
        return (
            Notebook(found.path, as_of=third).with_log(found.log.as_of(third)).forecast(as_of=third)
        )
    if kind == "reproduction":
        return found.with_log(with_eggs(found.log)).reproduction()
    if kind == "agreement":
        return found.with_log(twice_seen(found.log)).agreement()
    return OF_EACH[kind](found)


def twice_seen(log: CohortLog) -> CohortLog:
    """The same cohort, and a second observer who calls one stage in seven another."""
    codes = log.cohort.species.codes
    calls = []
    for place, each in enumerate(log.all_observations):
        stage = each.stage
        if stage is not None and place % 7 == 0:
            stage = codes[max(0, codes.index(stage) - 1)]
        calls += [
            replace(each, by="KT"),
            replace(each, by="MB", at=each.at + timedelta(minutes=9), stage=stage),
        ]
    return replace(log, all_observations=tuple(calls))


def with_eggs(log: CohortLog) -> CohortLog:
    """The same cohort, in which each adult lays eggs for six days, and is dead after nine."""
    looks = []
    for checks in log.checks.values():
        last = checks[-1]
        if last.stage == log.cohort.species.codes[-1] and last.fate is None:
            looks += [
                replace(
                    last, at=last.at + timedelta(days=3 * n), eggs=10 * n, fate=fate, number=None
                )
                for n, fate in ((1, None), (2, None), (3, "dead"))
            ]
    return log.with_checks(looks)


@cache
def answer_of_all(kind: str, cohorts: tuple[tuple[int, int, str], ...]) -> Any:
    """What a chart shows of several cohorts together."""
    return OF_ALL[kind]([notebook(*each) for each in cohorts])


@cache
def summary(place: int, individuals: int, species: str = SPECIES) -> CohortSummary:
    """What is kept of one cohort of a season; of two sites, each by itself."""
    of = notebook(place, individuals, species)
    found = cohort_summary(of.log, of.event_history, of.warmth_curve, of.completeness(), (), None)
    return replace(found, site=f"site {place % 2 + 1}")


def chart(
    kind: str,
    cohorts: Sequence[tuple[int, int, str]],
    look: Style,
    names: Sequence[str] | None = None,
) -> Figure:
    """The chart of a kind for some cohorts, under other names where these are given."""
    painter = getattr(importlib.import_module(f"rearlog.charts.{kind}"), kind)
    called = {f"c{place:02d}": f"c{place:02d}" for place, _, _ in cohorts}
    if names is not None:
        called = dict(zip(called, names, strict=True))

    def named(result: Any, own: str) -> Any:
        return result if names is None else replace(result, cohort=called[own])

    def each_of(kind: str) -> list[Any]:
        return [named(answer(kind, *one), f"c{one[0]:02d}") for one in cohorts]

    if kind in OF_SEASON:
        made = [summary(*one) for one in cohorts]
        made = [replace(each, name=called[each.name]) for each in made]
        return draw_season(kind, season(made), look)
    if kind in OF_ALL:
        result = answer_of_all(kind, tuple(cohorts))
        if names is not None:
            result = renamed(result, called)
    else:
        result = each_of(kind)
    beside = {"stage_counts": each_of("stages")} if kind == "heat" else {}
    figure: Figure = painter(result, look, invented=True, **beside)
    return figure
