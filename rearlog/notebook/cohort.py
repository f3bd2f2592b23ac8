"""A cohort opened for its answers. Every command, the report and the charts ask here."""

from __future__ import annotations

import os
from copy import copy
from datetime import date, datetime, timedelta
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Self, TypeVar

from msgspec.structs import replace

from rearlog.analysis.answer import Answer, in_order, resting_on
from rearlog.analysis.statistics.levels import WINDOW
from rearlog.notebook.heat_options import HeatOptions
from rearlog.notebook.history import History
from rearlog.records import times
from rearlog.records.command_text import CommandText
from rearlog.records.errors import UsageError
from rearlog.store.opening import read_log

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rearlog.analysis.agreement.agreement import Agreement
    from rearlog.analysis.comparing.cohorts import ComparedCohort
    from rearlog.analysis.comparing.strike_effect import StrikeEffect
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
    from rearlog.analysis.reproduction.reproduction import Reproduction
    from rearlog.analysis.stages.completeness import Completeness
    from rearlog.analysis.stages.durations import Durations
    from rearlog.analysis.stages.events import EventHistory
    from rearlog.analysis.stages.in_doubt import InDoubt
    from rearlog.analysis.stages.progress import Progress
    from rearlog.analysis.stages.stage_counts import StageCounts
    from rearlog.analysis.stages.stage_heat import Heat
    from rearlog.analysis.survival.survival import Survival
    from rearlog.records.log import CohortLog, State

A = TypeVar("A", bound=Answer)


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

    def reload(self) -> None:
        """Forget what was read and worked out: the next answer reads the file anew."""
        self._log = None
        self._forget()

    def at(self, moment: datetime) -> Self:
        """The same cohort as it was known at a moment."""
        other = self._anew(self.log.as_of(moment))
        other._as_of = moment
        return other

    def _anew(self, log: CohortLog) -> Self:
        """The same of another log: nothing is worked out of it yet."""
        other = copy(self)
        other._forget()
        other._log = log
        return other

    def _forget(self) -> None:
        for name in _worked_out(type(self)):
            self.__dict__.pop(name, None)

    @property
    def name(self) -> str:
        """The cohort's label; beside others one by which it is told apart."""
        return self.log.cohort.name

    def called(self, name: str) -> Self:
        """The same cohort under another label."""
        return self.with_log(replace(self.log, cohort=replace(self.log.cohort, name=name)))

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

    def states_at(self, moment: datetime) -> dict[str, State]:
        """The stage and the fate of each individual as they were known at a moment; where looks
        contradict each other, those that fit together best."""
        from rearlog.analysis.stages.settled_stages import settled_states

        return settled_states(self.log, self.at(moment).event_history, moment)

    @cached_property
    def daily_temperatures(self) -> Temperatures:
        """The temperatures by calendar day."""
        from rearlog.analysis.heat.daily_temperatures import lay_out

        return lay_out(self.log)

    @cached_property
    def heat_curve(self) -> HeatCurve | None:
        """Degree-days over time; None where there is no temperature or no lower threshold."""
        known = self._options.lower is not None or self.log.cohort.species.lower is not None
        return self._heat_curve() if known and self.daily_temperatures.any_known else None

    def _heat_curve(self) -> HeatCurve:
        from rearlog.analysis.heat.heat_curve import heat_curve, settings

        chosen = self._options
        how = settings(
            self.log.cohort.species,
            self.daily_temperatures,
            chosen.lower,
            chosen.upper,
            chosen.method,
            chosen.cutoff,
        )
        return heat_curve(self.daily_temperatures, how)

    def _above(self, lower: float) -> HeatCurve | None:
        """Degree-days above another lower threshold; None where no temperature is known."""
        other = self._anew(self.log)
        other._options = HeatOptions(lower=lower)
        return other.heat_curve

    @cached_property
    def warmth_curve(self) -> HeatCurve | None:
        """A heat curve for its mean temperatures alone, where the threshold may be unknown."""
        from rearlog.analysis.heat.heat_curve import HeatSettings, heat_curve

        if self.heat_curve is not None or not self.daily_temperatures.any_known:
            return self.heat_curve
        how = HeatSettings(0.0, None, self.daily_temperatures.usual_method, "horizontal")
        return heat_curve(self.daily_temperatures, how)

    @cached_property
    def celsius(self) -> float | None:
        """The mean temperature (°C) of the time that it was watched; None where not known."""
        from rearlog.analysis.stages.progress import watched_celsius

        return watched_celsius(self.event_history, self.warmth_curve)

    @cached_property
    def contradicted(self) -> dict[str, tuple[str, ...]]:
        """By the cohort's name those of whom looks contradict each other; empty without any."""
        codes = dict.fromkeys(each.individual for each in self.event_history.doubts)
        return {self.name: tuple(codes)} if codes else {}

    def _told(self, answer: A) -> A:
        """An answer that rests on the event history."""
        return resting_on(self._in_order(answer), self.contradicted)

    def _in_order(self, answer: A) -> A:
        return in_order(answer, self.log.cohort.species.codes)

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

        return self._told(
            durations(
                self.name,
                self.log.cohort.species,
                self.event_history,
                self.heat_curve,
                first,
                until,
            )
        )

    def heat(self) -> Heat:
        """Degree-days by day and stage; raises UsageError without temperatures or threshold."""
        from rearlog.analysis.stages.stage_heat import heat

        if not self.daily_temperatures.any_known:
            remedy = CommandText(
                "record some with “rearlog temps”", "write them down under “Temperatures”"
            )
            raise UsageError(f"no temperature of {self.name} is on record", remedy)
        curve = self.heat_curve or self._heat_curve()
        return self._told(heat(self.name, self.log.cohort.species, self.event_history, curve))

    def survival(self, first: str | None = None, until: str | None = None) -> Survival:
        """How many lived how long, by age and by stage, and the causes of death."""
        from rearlog.analysis.survival.survival import survival

        return self._told(survival(self.name, self.event_history, first, until))

    def reproduction(self, egg_age: EggAge | None = None) -> Reproduction:
        """How many eggs follow each egg, and how fast numbers grow: the life tables.

        `egg_age` is the age at which the eggs of a day count as laid: usually its middle.
        """
        from rearlog.analysis.reproduction.euler_lotka import EggAge
        from rearlog.analysis.reproduction.reproduction import reproduction

        return self._told(reproduction(self.log, self.event_history, egg_age or EggAge.MIDDLE))

    @cached_property
    def has_life_table(self) -> bool:
        """Whether eggs were counted of which `reproduction` can make one."""
        from rearlog.analysis.reproduction.reproduction import can_be_made

        return can_be_made(self.log, self.event_history)

    def growth(self) -> Growth:
        """Head widths by instar, lengths and masses by age."""
        from rearlog.analysis.growth.growth import growth

        return self._told(growth(self.log, self.event_history, self.heat_curve))

    def agreement(self, within: timedelta | None = None) -> Agreement:
        """How far observers agree: calls of one individual not farther apart than `within`."""
        from rearlog.analysis.agreement.agreement import TOGETHER, agreement

        return self._in_order(
            agreement(self.log, self.event_history, TOGETHER if within is None else within)
        )

    def progress(self) -> Progress:
        """The course of every individual, with the ranges in which events are expected."""
        from rearlog.analysis.stages.progress import progress

        return self._told(
            progress(
                self.log.cohort,
                self.event_history,
                self.durations(),
                self.heat_curve,
                self.celsius,
            )
        )

    def stage_counts(self) -> StageCounts:
        """How many were in which stage on each day."""
        from rearlog.analysis.stages.stage_counts import stage_counts

        return self._told(
            stage_counts(self.log.cohort, self.event_history, self.heat_curve, self.celsius)
        )

    def completeness(self) -> Completeness:
        """Which looks were forgotten, and which temperatures are missing."""
        from rearlog.analysis.stages.completeness import completeness

        return self._in_order(completeness(self.log, self.daily_temperatures))

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

        return self._told(forecast(self._model(as_of, coming, window, [each.log for each in past])))

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
        return self._in_order(
            found_animal(cohort.species, stage, celsius, cohort.clock.day(moment))
        )

    def deadline(
        self, by: date, coming: FutureTemperature | None = None, as_of: datetime | None = None
    ) -> Deadline:
        """How warm it must be from now on, or when laid, for the adults to be out by a day."""
        from rearlog.analysis.forecasting.deadline import deadline
        from rearlog.analysis.forecasting.future_temperature import LIKE_LATELY

        return self._told(deadline(self.log, self._moment(as_of), by, coming or LIKE_LATELY))

    def forecast_review(self, as_of: datetime | None = None) -> Review:
        """What the forecasts of past days were worth, as far as is known `as_of` (now)."""
        from rearlog.analysis.forecasting.review import review

        return self._told(review(self.log, self._moment(as_of)))

    def due(self, as_of: datetime | None = None) -> Due:
        """What to look for now: events due and overdue, and what was not recorded."""
        from rearlog.analysis.forecasting.due import due

        return self._in_order(due(self._model(as_of, None)))

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
        return self._in_order(
            strike_effect((self.durations(), self.survival()), (then.durations(), then.survival()))
        )

    def with_log(self, log: CohortLog) -> Self:
        """The same questions, asked of another log."""
        return self._anew(log)

    def with_factor(self, name: str, level: str) -> Self:
        """The same cohort, of a level of one more factor."""
        cohort = self.log.cohort
        known = replace(cohort, factors={**cohort.factors, name: level})
        return self.with_log(replace(self.log, cohort=known))


def _worked_out(kind: type) -> set[str]:
    """What objects of a class work out once and keep."""
    every = (pair for each in kind.__mro__ for pair in vars(each).items())
    return {name for name, what in every if isinstance(what, cached_property)}


def told_of(answer: A, notebooks: Sequence[Notebook]) -> A:
    """An answer about several cohorts that knows the stages of their species in one order, and
    of whom looks contradict each other."""
    from rearlog.frames.columns import stage_order

    stages = stage_order(each.log.cohort.species.codes for each in notebooks)
    contradicted = {name: codes for each in notebooks for name, codes in each.contradicted.items()}
    return resting_on(in_order(answer, stages), contradicted)
