"""A cohort opened for its answers. Every command, the report and the charts ask here.

The log is read once, when the first answer is asked for, and what several answers rest on is
worked out once. Answers are frozen dataclasses; their fields are the keys of the JSON that the
commands write.

    >>> import rearlog
    >>> warm = rearlog.open("sample_cohorts/warm.json")
    >>> pupa = next(each for each in warm.durations().stages if each.stage == "pupa")
    >>> pupa.completed, round(pupa.mean, 1)
    (17, 6.0)
    >>> reached = warm.survival().reached
    >>> f"{reached.reached} of {reached.n} reached the stage {reached.stage}"
    '17 of 24 reached the stage adult'
    >>> cool = rearlog.open("sample_cohorts/cool.json")
    >>> round(compare([cool, warm]).survival.p, 1)
    0.3
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rearlog.analysis.statistics.levels import WINDOW
from rearlog.records import times
from rearlog.records.errors import UsageError
from rearlog.records.log import CohortLog, Individual, Observation, Temperature
from rearlog.store.opening import read_log

# The analysis is imported where it is used: logging a check must not wait for numpy.
if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from pandas import DataFrame

    from rearlog.analysis.agreement.agreement import Agreement
    from rearlog.analysis.comparing.cohorts import ComparedCohort
    from rearlog.analysis.comparing.compare import Comparison
    from rearlog.analysis.comparing.factorial import Factorial
    from rearlog.analysis.comparing.growth_by_heat import GrowthByHeat
    from rearlog.analysis.comparing.learning import Learned
    from rearlog.analysis.comparing.lineage import GenerationFigures, Kin, Lineage, LineageFamily
    from rearlog.analysis.comparing.strike_effect import StrikeEffect
    from rearlog.analysis.comparing.survival_by_group import SurvivalByGroup
    from rearlog.analysis.comparing.thermal import Thermal
    from rearlog.analysis.forecasting.deadline import Deadline
    from rearlog.analysis.forecasting.due import Due
    from rearlog.analysis.forecasting.forecast import Forecast
    from rearlog.analysis.forecasting.forecast_model import ForecastModel
    from rearlog.analysis.forecasting.found_animal import FoundAnimal
    from rearlog.analysis.forecasting.future_temperature import FutureTemperature
    from rearlog.analysis.forecasting.review import Review
    from rearlog.analysis.growth.growth import Growth
    from rearlog.analysis.heat.daily_temperatures import Temperatures
    from rearlog.analysis.heat.heat_curve import HeatCurve
    from rearlog.analysis.reproduction.euler_lotka import EggAge
    from rearlog.analysis.reproduction.reproduction import Reproduction, ReproductionComparison
    from rearlog.analysis.stages.completeness import Completeness
    from rearlog.analysis.stages.durations import Durations
    from rearlog.analysis.stages.events import EventHistory
    from rearlog.analysis.stages.in_doubt import InDoubt
    from rearlog.analysis.stages.progress import Progress
    from rearlog.analysis.stages.stage_counts import StageCounts
    from rearlog.analysis.stages.stage_heat import Heat
    from rearlog.analysis.survival.survival import Survival
    from rearlog.exchange.bundle import Files
    from rearlog.exchange.publication import Publication
    from rearlog.records.groups import LogGroup
    from rearlog.records.rounds import WrittenRound
    from rearlog.store.redaction import Redaction


@dataclass(frozen=True, slots=True)
class HeatOptions:
    """What a user may choose about degree-days; None takes the profile's or the usual choice."""

    lower: float | None = None
    upper: float | None = None
    method: str | None = None
    cutoff: str = "horizontal"


@dataclass(frozen=True, slots=True)
class History:
    """Records of a cohort in the order of writing, and the rounds that its observations make up.

    `withdrawn` are the individuals that were entered by mistake, `of_withdrawn` what was said of
    them; neither is among the others. `redactions` tell when words were taken out, by whom, and of
    which fields; where only some records are asked for, those that concern them. `in_doubt` is what
    is, among these records.
    """

    cohort: str
    observations: tuple[Observation, ...]
    temperatures: tuple[Temperature, ...]
    rounds: tuple[WrittenRound, ...]
    withdrawn: tuple[Individual, ...] = ()
    of_withdrawn: tuple[Observation, ...] = ()
    redactions: tuple[Redaction, ...] = ()
    in_doubt: tuple[InDoubt, ...] = ()


class Notebook:
    """One cohort and the answers about it."""

    def __init__(
        self,
        path: str | os.PathLike[str],
        heat: HeatOptions | None = None,
        as_of: datetime | None = None,
    ) -> None:
        self.path = Path(path)
        self._options = heat or HeatOptions()
        self._as_of = as_of
        self._log: CohortLog | None = None

    @property
    def log(self) -> CohortLog:
        """All records; raises StoreError where the file cannot be read."""
        if self._log is None:  # the lock of a cached property is one for all cohorts (Python 3.11)
            log = read_log(self.path)
            self._log = log if self._as_of is None else log.as_of(self._as_of)
        return self._log

    @property
    def known(self) -> datetime | None:
        """The moment by which all of it was known; None: it is as it is known now."""
        return self._as_of

    def at(self, moment: datetime) -> Notebook:
        """The same cohort as it was known at a moment."""
        other = Notebook(self.path, self._options, moment)
        other._log = self.log.as_of(moment)
        return other

    @property
    def name(self) -> str:
        """The cohort's name."""
        return self.log.cohort.name

    @cached_property
    def event_history(self) -> EventHistory:
        """The event intervals of all individuals."""
        from rearlog.analysis.stages.events import event_history

        return event_history(self.log)

    @cached_property
    def in_doubt(self) -> tuple[InDoubt, ...]:
        """Looks that contradict each other, and which of them is taken for the mistake."""
        from rearlog.analysis.stages.in_doubt import in_doubt

        return in_doubt(self.log, self.event_history)

    @cached_property
    def temperatures(self) -> Temperatures:
        """The temperatures by calendar day."""
        from rearlog.analysis.heat.daily_temperatures import lay_out

        return lay_out(self.log)

    @cached_property
    def heat_curve(self) -> HeatCurve | None:
        """Degree-days over time; None where there is no temperature or no lower threshold."""
        known = self._options.lower is not None or self.log.cohort.species.lower is not None
        return self._heat_curve() if known and self.temperatures.any_known else None

    def _heat_curve(self) -> HeatCurve:
        from rearlog.analysis.heat.heat_curve import heat_curve, settings

        chosen = self._options
        how = settings(
            self.log.cohort.species,
            self.temperatures,
            chosen.lower,
            chosen.upper,
            chosen.method,
            chosen.cutoff,
        )
        return heat_curve(self.temperatures, how)

    def _above(self, lower: float) -> HeatCurve | None:
        """Degree-days above another lower threshold; None where no temperature is known."""
        other = Notebook(self.path, HeatOptions(lower=lower), self._as_of)
        other._log = self.log
        return other.heat_curve

    @cached_property
    def warmth_curve(self) -> HeatCurve | None:
        """A heat curve for its mean temperatures alone, where the threshold may be unknown."""
        from rearlog.analysis.heat.heat_curve import HeatSettings, heat_curve

        if self.heat_curve is not None or not self.temperatures.any_known:
            return self.heat_curve
        how = HeatSettings(0.0, None, self.temperatures.usual_method, "horizontal")
        return heat_curve(self.temperatures, how)

    @cached_property
    def celsius(self) -> float | None:
        """The mean temperature (°C) of the time that it was watched; None where not known."""
        from rearlog.analysis.stages.progress import watched_celsius

        return watched_celsius(self.event_history, self.warmth_curve)

    def durations(self, first: str | None = None, until: str | None = None) -> Durations:
        """How long each stage took, or the span from entering `first` to entering `until`."""
        if first is None and until is None:
            return self._every_stage
        return self._durations(first, until)

    @cached_property
    def _every_stage(self) -> Durations:
        return self._durations(None, None)

    def _durations(self, first: str | None, until: str | None) -> Durations:
        from rearlog.analysis.stages.durations import durations

        return durations(
            self.name, self.log.cohort.species, self.event_history, self.heat_curve, first, until
        )

    def heat(self) -> Heat:
        """Degree-days by day and stage; raises UsageError without temperatures or threshold."""
        from rearlog.analysis.stages.stage_heat import heat

        if not self.temperatures.any_known:
            raise UsageError(f"{self.name} has no temperatures", "record some with “rearlog temps”")
        curve = self.heat_curve or self._heat_curve()
        return heat(self.name, self.log.cohort.species, self.event_history, curve)

    def survival(self, first: str | None = None, until: str | None = None) -> Survival:
        """How many lived how long, by age and by stage, and the causes of death."""
        from rearlog.analysis.survival.survival import survival

        return survival(self.name, self.event_history, first, until)

    def reproduction(self, egg_age: EggAge | None = None) -> Reproduction:
        """How many eggs follow each egg, and how fast numbers grow: the life tables.

        `egg_age` is the age at which the eggs of a day count as laid: usually its middle.
        """
        from rearlog.analysis.reproduction.euler_lotka import EggAge
        from rearlog.analysis.reproduction.reproduction import reproduction

        return reproduction(self.log, self.event_history, egg_age or EggAge.MIDDLE)

    @cached_property
    def has_life_table(self) -> bool:
        """Whether eggs were counted of which `reproduction` can make one."""
        from rearlog.analysis.reproduction.reproduction import can_be_made

        return can_be_made(self.log, self.event_history)

    def growth(self) -> Growth:
        """Head widths by instar, lengths and masses by age."""
        from rearlog.analysis.growth.growth import growth

        return growth(self.log, self.event_history, self.heat_curve)

    def agreement(self, within: timedelta | None = None) -> Agreement:
        """How far observers agree: calls of one individual not farther apart than `within`."""
        from rearlog.analysis.agreement.agreement import TOGETHER, agreement

        return agreement(self.log, self.event_history, TOGETHER if within is None else within)

    def progress(self) -> Progress:
        """The course of every individual, with the ranges in which events are expected."""
        from rearlog.analysis.stages.progress import progress

        return progress(
            self.log.cohort,
            self.event_history,
            self.durations(),
            self.heat_curve,
            self.warmth_curve,
        )

    def stage_counts(self) -> StageCounts:
        """How many were in which stage on each day."""
        from rearlog.analysis.stages.stage_counts import stage_counts

        return stage_counts(self.log.cohort, self.event_history, self.heat_curve, self.warmth_curve)

    def completeness(self) -> Completeness:
        """Which looks were forgotten, and which temperatures are missing."""
        from rearlog.analysis.stages.completeness import completeness

        return completeness(self.log, self.temperatures)

    def forecast(
        self,
        coming: FutureTemperature | None = None,
        as_of: datetime | None = None,
        *,
        window: float = WINDOW,
        past: Sequence[Notebook] = (),
    ) -> Forecast:
        """When the next events and the adults should come, from what was known `as_of` (now).

        `coming` is the temperature to come; unless given, the mean of the last days. Windows hold
        the part `window`. `past` are cohorts of the same place that tell what to expect of it.
        """
        from rearlog.analysis.forecasting.forecast import forecast

        return forecast(self._model(as_of, coming, window, [each.log for each in past]))

    def found_animal(
        self, stage: str, celsius: float | None = None, as_of: datetime | None = None
    ) -> FoundAnimal | None:
        """What follows from the stage of an animal alone: its age, and what comes when.

        At the temperature (°C) that is to come to the cohort unless one is given; None where
        neither is known.
        """
        from rearlog.analysis.forecasting.found_animal import found_animal
        from rearlog.analysis.forecasting.future_temperature import temperature_course

        moment = self._moment(as_of)
        if celsius is None:
            celsius = temperature_course(self.log, moment).celsius
        if celsius is None:
            return None
        cohort = self.log.cohort
        return found_animal(cohort.species, stage, celsius, cohort.clock.day(moment))

    def deadline(
        self, by: date, coming: FutureTemperature | None = None, as_of: datetime | None = None
    ) -> Deadline:
        """How warm it must be from now on, or when laid, for the adults to be out by a day."""
        from rearlog.analysis.forecasting.deadline import deadline
        from rearlog.analysis.forecasting.future_temperature import LIKE_LATELY

        return deadline(self.log, self._moment(as_of), by, coming or LIKE_LATELY)

    def forecast_review(self, as_of: datetime | None = None) -> Review:
        """What the forecasts of past days were worth, as far as is known `as_of` (now)."""
        from rearlog.analysis.forecasting.review import review

        return review(self.log, self._moment(as_of))

    def due(self, as_of: datetime | None = None) -> Due:
        """What to look for now: events due and overdue, and what was not recorded."""
        from rearlog.analysis.forecasting.due import due

        return due(self._model(as_of, None))

    def _model(
        self,
        as_of: datetime | None,
        coming: FutureTemperature | None,
        window: float = WINDOW,
        past: Sequence[CohortLog] = (),
    ) -> ForecastModel:
        from rearlog.analysis.forecasting.forecast_model import forecast_model
        from rearlog.analysis.forecasting.future_temperature import LIKE_LATELY

        moment = self._moment(as_of)
        return forecast_model(self.log, moment, coming or LIKE_LATELY, part=window, past=past)

    def _moment(self, as_of: datetime | None) -> datetime:
        return as_of or self._as_of or times.now(self.log.cohort.zone)

    def compared(self, curve: HeatCurve | None) -> ComparedCohort:
        """The cohort as it enters a comparison, with one of its heat curves."""
        from rearlog.analysis.comparing.cohorts import ComparedCohort

        species = self.log.cohort.species.scientific_name
        everybody = self.log.individuals
        return ComparedCohort(
            self.name,
            species,
            self.event_history,
            curve,
            tuple(each.container for each in everybody),
            tuple(each.clutch for each in everybody),
        )

    def history(
        self, individual: str | None = None, last: int | None = None, on: date | None = None
    ) -> History:
        """The records in the order of writing, struck ones included: see `records_of`."""
        from rearlog.analysis.stages.in_doubt import of_records
        from rearlog.records.rounds import records_of, rounds_of
        from rearlog.store.redacting import redactions_of

        if individual is not None:
            known = {code.casefold(): code for code in self.log.by_code}
            code = known.get(individual.casefold())
            if code is None:
                remedy = f"this cohort has {', '.join(self.log.by_code)}"
                raise UsageError(f"there is no individual {individual}", remedy)
            individual = code
        observations, temperatures = records_of(self.log, individual, last, on)
        rounds = tuple(rounds_of(self.log, observations))
        gone = () if individual else self.log.withdrawn
        theirs = () if individual else self.log.of_withdrawn
        marks = tuple(redactions_of(self.path))
        shown = {each.number for each in observations}
        if (individual, last, on) != (None, None, None):
            marks = tuple(
                each for each in marks if not shown.isdisjoint(each.records.get("observations", ()))
            )
        doubts = of_records(self.in_doubt, shown)
        return History(self.name, observations, temperatures, rounds, gone, theirs, marks, doubts)

    def effect_of(self, after: CohortLog) -> StrikeEffect:
        """The figures of durations and survival that another log of the cohort would change."""
        from rearlog.analysis.comparing.strike_effect import strike_effect

        then = self.with_log(after)
        return strike_effect(
            (self.durations(), self.survival()), (then.durations(), then.survival())
        )

    def with_log(self, log: CohortLog) -> Notebook:
        """The same questions, asked of another log."""
        other = Notebook(self.path, self._options, self._as_of)
        other._log = log
        return other

    def with_factor(self, name: str, level: str) -> Notebook:
        """The same cohort, of a level of one more factor."""
        from dataclasses import replace

        cohort = self.log.cohort
        known = replace(cohort, factors={**cohort.factors, name: level})
        return self.with_log(replace(self.log, cohort=known))

    def to_pandas(self, rows: Sequence[Any] | None = None) -> DataFrame:
        """A pandas DataFrame of the observations that stand, or of any rows of an answer.

        `rows` are dataclasses of one kind, such as `durations().individuals`; their fields become
        columns. Needs pandas, which rearlog itself does not.
        """
        from dataclasses import asdict

        from pandas import DataFrame

        if rows is None:
            rows = [each for checks in self.log.checks.values() for each in checks]
        return DataFrame([asdict(row) for row in rows])


class GroupNotebook(Notebook):
    """A group of individuals and the answers about it; `group` says which."""

    def __init__(self, group: LogGroup, of: Notebook) -> None:
        super().__init__(of.path, of._options, of._as_of)
        self._log = group.log
        self.group = group

    def compared(self, curve: HeatCurve | None) -> ComparedCohort:
        """The group as it enters a comparison: where it is of several cohorts, these are what its
        individuals share."""
        from dataclasses import replace

        found = super().compared(curve)
        shared = self.group.cohorts if self.group.pooled else ()
        return replace(found, cohort=self.group.short, cohorts=shared)


def grouped(notebooks: Sequence[Notebook], by: str) -> list[GroupNotebook]:
    """The groups of a factor, as `records.groups` makes them: last those whose level is not known.

    Each answers as a cohort does. Raises UsageError as `records.groups.grouped` does.
    """
    from rearlog.records.groups import grouped

    first = notebooks[0]
    return [GroupNotebook(each, first) for each in grouped([one.log for one in notebooks], by)]


def survival_by(
    notebooks: Sequence[Notebook], by: str, first: str | None = None, until: str | None = None
) -> SurvivalByGroup:
    """Survival group by group, and whether the groups differ; see `comparing.survival_by_group`."""
    from rearlog.analysis.comparing.survival_by_group import HistoryOfGroup, survival_by_group
    from rearlog.records.groups import factor_called

    groups = grouped(notebooks, by)
    return survival_by_group(
        factor_called(by, [each.log for each in notebooks]),
        [each.name for each in notebooks],
        [
            HistoryOfGroup(each.name, each.group.short, each.group.level, each.event_history)
            for each in groups
        ],
        first,
        until,
    )


def compare(
    notebooks: Sequence[Notebook],
    first: str | None = None,
    until: str | None = None,
    by: str | None = None,
) -> Comparison:
    """Whether cohorts differ in durations, heat and survival; see `comparing.compare`.

    With `by` the groups of this factor are compared, of those whose level is known. Raises
    UsageError where there are no two of them.
    """
    from dataclasses import replace

    from rearlog.analysis.comparing.compare import compare
    from rearlog.analysis.survival.watch import watched
    from rearlog.records.groups import factor_called, pooled_over

    if by is None:
        return compare([each.compared(each.heat_curve) for each in notebooks], first, until)
    factor = factor_called(by, [each.log for each in notebooks])
    groups = grouped(notebooks, by)
    known = [each for each in groups if each.group.level is not None]
    if len(known) < 2:
        raise UsageError(f"there is no other {factor} than {known[0].name} to compare it with")
    found = compare([each.compared(each.heat_curve) for each in known], first, until)
    others = sum(
        int(watched(each.event_history, first).who.sum())
        for each in groups
        if each.group.level is None
    )
    over = pooled_over([each.log for each in notebooks], factor)
    return replace(found, by=factor, not_known=others, pooled_over=over)


def compare_reproduction(
    notebooks: Sequence[Notebook], egg_age: EggAge | None = None
) -> ReproductionComparison:
    """Whether cohorts differ in how fast numbers grow; see `reproduction.reproduction`."""
    from rearlog.analysis.reproduction.euler_lotka import EggAge
    from rearlog.analysis.reproduction.reproduction import compared_reproduction

    cohorts = [(each.log, each.event_history) for each in notebooks]
    return compared_reproduction(cohorts, egg_age or EggAge.MIDDLE)


def factorial(
    notebooks: Sequence[Notebook],
    factors: Sequence[str],
    first: str | None = None,
    until: str | None = None,
) -> Factorial:
    """Which factors of a design matter for how long stages took; see `comparing.factorial`."""
    from rearlog.analysis.comparing.factorial import DesignCohort, factorial
    from rearlog.records.groups import factor_called, levels_of

    logs = [each.log for each in notebooks]
    if len({each.cohort.name for each in logs}) < len(logs):
        raise UsageError("the same cohort is given twice", "name each cohort once")
    called = [factor_called(each, logs) for each in factors]
    return factorial(
        [
            DesignCohort(
                each.name,
                each.log.cohort.species.scientific_name,
                each.event_history,
                tuple(zip(*(levels_of(each.log, factor) for factor in called), strict=True)),
                tuple(
                    None if "container" in called else one.container for one in each.log.individuals
                ),
                tuple(None if "clutch" in called else one.clutch for one in each.log.individuals),
            )
            for each in notebooks
        ],
        called,
        first,
        until,
    )


def lineage(notebooks: Sequence[Notebook]) -> Lineage:
    """Which cohort comes from which, how each fared, and whether generations differ.

    Generations of a family are compared as groups of cohorts are. Raises UsageError where one is
    given twice, or cohorts come from each other in a circle.
    """
    from rearlog.analysis.comparing.lineage import Lineage, kin

    by_name = {each.name: each for each in notebooks}
    if len(by_name) < len(notebooks):
        raise UsageError("the same cohort is given twice", "name each cohort once")
    found = kin({name: each.log.cohort.origins for name, each in by_name.items()})
    families = [family for family in found.families() if len(family) > 1]
    alone = [family[0] for family in found.families() if len(family) == 1]
    return Lineage(tuple(_family(each, found, by_name) for each in families), tuple(alone))


def _family(names: Sequence[str], found: Kin, by_name: Mapping[str, Notebook]) -> LineageFamily:
    from rearlog.analysis.comparing.lineage import LineageFamily, LineageMember, named_parents

    logs = {name: each.log for name, each in by_name.items()}
    members = []
    for name, depth in found.tree(names):
        notebook = by_name.get(name)
        members.append(
            LineageMember(
                name,
                found.generation[name],
                depth,
                () if notebook is None else named_parents(notebook.log, logs),
                found.children[name],
                None if notebook is None else notebook.log.cohort.started.date(),
                None if notebook is None else _figures(notebook),
            )
        )
    there = [by_name[each.cohort] for each in members if not each.missing]
    numbered = [each.with_factor("generation", str(found.generation[each.name])) for each in there]
    kinds = {each.log.cohort.species.scientific_name for each in there}
    several = len({found.generation[each.name] for each in there}) > 1 and len(kinds) == 1
    return LineageFamily(tuple(members), compare(numbered, by="generation") if several else None)


def _figures(notebook: Notebook) -> GenerationFigures:
    from rearlog.analysis.comparing.lineage import GenerationFigures
    from rearlog.analysis.reproduction.estimates import Measure

    stages = notebook.log.cohort.species.codes
    whole = next(iter(notebook.durations(stages[0], stages[-1]).stages), None)
    r0 = notebook.reproduction().of(Measure.R0) if notebook.has_life_table else None
    reached = notebook.survival().reached
    return GenerationFigures(
        len(notebook.log.individuals),
        whole.completed if whole else 0,
        whole.mean if whole else None,
        reached,
        r0,
    )


def thermal(notebooks: Sequence[Notebook], leave_out: Collection[str] = ()) -> Thermal:
    """Thermal constants from cohorts at different temperatures; see `comparing.thermal`."""
    from rearlog.analysis.comparing.thermal import thermal

    return thermal([each.compared(each.warmth_curve) for each in notebooks], leave_out)


def growth_by_heat(notebooks: Sequence[Notebook], leave_out: Collection[str] = ()) -> GrowthByHeat:
    """How fast populations grow by temperature; see `comparing.growth_by_heat`."""
    from rearlog.analysis.comparing.growth_by_heat import growth_by_heat

    def life_table(place: int) -> Reproduction | None:
        each = notebooks[place]
        return each.reproduction() if each.has_life_table else None

    compared = [each.compared(each.warmth_curve) for each in notebooks]
    return growth_by_heat(compared, life_table, leave_out)


def learn(notebooks: Sequence[Notebook]) -> Learned:
    """What cohorts that are over tell of their species; see `comparing.learning`.

    Raises UsageError where they are of different species or stages, or one is given twice.
    """
    from rearlog.analysis.comparing.learning import HeadsMeasured, credible_threshold, learn

    first = notebooks[0].log.cohort.species
    if len({each.name for each in notebooks}) < len(notebooks):
        raise UsageError("the same cohort is given twice", "name each cohort once")
    for each in notebooks:
        theirs = each.log.cohort.species
        if (theirs.scientific_name, theirs.codes) != (first.scientific_name, first.codes):
            remedy = f"{notebooks[0].name} and {each.name} differ: learn of each by itself"
            raise UsageError("the cohorts are not of the same species and stages", remedy)
    compared = [each.compared(each.warmth_curve) for each in notebooks]
    warm = [each for each in compared if each.curve is not None]
    threshold = credible_threshold(thermal(notebooks) if len(warm) > 1 else None)
    lower = first.lower.centre if threshold is None and first.lower else None
    lower = threshold.celsius if threshold else lower
    heats = [None if lower is None else each._above(lower) for each in notebooks]
    heads = [
        [
            HeadsMeasured(one.stage, one.n, one.head_width_mm_mean, one.sd)
            for one in each.growth().instars
        ]
        for each in notebooks
    ]
    return learn(compared, heats, heads, threshold, lower)


def open_data(
    notebooks: Sequence[Notebook], publication: Publication, *, darwin_core: bool = False
) -> Files:
    """The files of a publication of these cohorts: a data package, or a Darwin Core archive."""
    from rearlog.analysis.stages.settled_stages import settled_stages
    from rearlog.exchange.darwin_core import darwin_core as archive
    from rearlog.exchange.data_package import data_package

    if darwin_core:
        return archive(publication, settled_stages)
    told = zip(notebooks, publication.logs, strict=True)
    durations = {each.name: each.with_log(log).durations().individuals for each, log in told}
    return data_package(publication, durations, settled_stages)
