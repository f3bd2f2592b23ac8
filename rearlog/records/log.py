"""What is written down: a cohort, its individuals, the checks of them, and the temperatures.

Records are immutable values. They are added or struck out, never edited: a struck record stays,
with who struck it, when and why. Instants are zone-aware datetimes; temperatures are °C.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Annotated, NamedTuple, TypeVar

from msgspec import Meta, Struct
from msgspec.structs import force_setattr, replace

from rearlog.records.clock import CohortClock
from rearlog.records.fields import Mark as Mark
from rearlog.records.fields import Marked, Marks, NumberedRecord
from rearlog.records.fields import Observation as Observation
from rearlog.records.identity import named_id
from rearlog.records.profile import Profile
from rearlog.records.values import (
    Code,
    Factor,
    Id,
    Label,
    Latitude,
    Level,
    Longitude,
    Moment,
    Number,
    Origin,
    Site,
    TimeOfDay,
)


class Individual(Struct, Marked, frozen=True, forbid_unknown_fields=True):
    """One insect from its entry on. `laid_after` and `laid_by` bound when its egg was laid.

    One that was entered by mistake is withdrawn: its last mark says so.
    """

    code: Code
    entered_at: Moment
    stage: str
    laid_after: Moment | None = None
    laid_by: Moment | None = None
    container: str | None = None
    clutch: str | None = None
    note: str | None = None
    marks: Marks = ()


class DayExtremes(NumberedRecord, frozen=True, tag_field="kind", tag="day"):
    """The lowest and the highest temperature of one calendar day."""

    date: date
    min_c: Number
    max_c: Number
    source: str | None = None


class ConstantTemperature(NumberedRecord, frozen=True, tag_field="kind", tag="constant"):
    """One temperature kept from the day `first` through the day `last` (None: until now)."""

    celsius: Number
    first: date
    last: date | None = None
    source: str | None = None


class Readings(NumberedRecord, frozen=True, tag_field="kind", tag="readings"):
    """A run of logger readings: `celsius[i]` was read `seconds[i]` after `at`, in time order."""

    at: Moment
    seconds: Annotated[tuple[int, ...], Meta(min_length=1)]
    celsius: tuple[Number, ...]
    source: str | None = None


Temperature = DayExtremes | ConstantTemperature | Readings


class Cohort(Struct, frozen=True, forbid_unknown_fields=True):
    """Individuals started together under one temperature regime.

    `id` is a UUID, by which it is the same whatever it is called, and `name` its label. `site` is
    the school or laboratory, `latitude` and `longitude` where that is (degrees, WGS 84, both or
    neither), `place` where in it they stand. An `id` that is not given is made of what is.
    `started` is the cohort's zero: days are counted from it. `check_time` (HH:MM) is where a
    check with a date but no time stands. `invented` marks demonstrations and simulations.
    `factors` are levels by the names of factors that set it apart, `origins` the cohorts and
    individuals that it comes from (`records/factors.py`).
    """

    name: Label
    species: Profile
    zone: str
    started: Moment
    created: Moment
    check_time: TimeOfDay = "09:00"
    place: str | None = None
    food: str | None = None
    planned_celsius: Number | None = None
    invented: bool = False
    factors: Mapping[Factor, Level] = {}
    origins: tuple[Origin, ...] = ()
    id: Id = ""
    site: Site | None = None
    latitude: Latitude | None = None
    longitude: Longitude | None = None

    def __post_init__(self) -> None:
        if not self.id:
            made_of = self.name, self.zone, self.started.isoformat(), self.created.isoformat()
            force_setattr(self, "id", named_id(*made_of))

    @property
    def clock(self) -> CohortClock:
        """Days since the start, and calendar days in the cohort's zone."""
        return CohortClock(self.started, self.zone)


class State(NamedTuple):
    """The last stage known of an individual, when that was seen, and its fate (None: it lives)."""

    stage: str
    seen: datetime
    fate: str | None


class CohortLog(Struct, frozen=True, dict=True):
    """All the records of one cohort, struck ones included.

    `withdrawn` are individuals that were entered by mistake: neither they nor the observations of
    them are among the others, and nothing counts them.
    """

    cohort: Cohort
    individuals: tuple[Individual, ...]
    all_observations: Sequence[Observation] = ()
    all_temperatures: tuple[Temperature, ...] = ()
    withdrawn: tuple[Individual, ...] = ()
    of_withdrawn: tuple[Observation, ...] = ()

    @cached_property
    def by_code(self) -> dict[str, Individual]:
        """The individuals by their codes."""
        return {each.code: each for each in self.individuals}

    @property
    def began(self) -> date:
        """The first day that counts: that of the laying of the first egg, or of the start."""
        laid = [each.laid_after or each.laid_by or each.entered_at for each in self.individuals]
        return self.cohort.clock.day(min([*laid, self.cohort.started]))

    @property
    def everybody(self) -> tuple[Individual, ...]:
        """All individuals, last those that were withdrawn."""
        return (*self.individuals, *self.withdrawn)

    @property
    def every_observation(self) -> tuple[Observation, ...]:
        """All observations, last those of individuals that were withdrawn."""
        return (*self.all_observations, *self.of_withdrawn)

    @cached_property
    def checks(self) -> dict[str, list[Observation]]:
        """For each individual its observations that stand, in time order."""
        found: dict[str, list[Observation]] = {code: [] for code in self.by_code}
        for observation in self.observations:
            found[observation.individual].append(observation)
        for observations in found.values():
            observations.sort(key=time_order)
        return found

    @cached_property
    def observations(self) -> tuple[Observation, ...]:
        """The observations that stand, in the order of writing."""
        return tuple(each for each in self.all_observations if each.struck is None)

    @cached_property
    def temperatures(self) -> tuple[Temperature, ...]:
        """The temperature records that stand."""
        return tuple(each for each in self.all_temperatures if each.struck is None)

    def states_at(self, instant: datetime) -> dict[str, State]:
        """What is known of each individual at an instant, those included that enter later."""
        return {
            each.code: state_at(each, self.checks[each.code], instant) for each in self.individuals
        }

    def alive_at(self, instant: datetime, *, entered_by: datetime | None = None) -> list[str]:
        """Who lives at an instant, or enters later but no later than `entered_by`; in order."""
        latest = max(instant, entered_by or instant)
        return [
            each.code
            for each in self.individuals
            if each.entered_at <= latest
            and state_at(each, self.checks[each.code], instant).fate is None
        ]

    def with_checks(self, added: Iterable[Observation]) -> CohortLog:
        """The log with more observations behind the others."""
        return replace(self, all_observations=(*self.all_observations, *added))

    def as_of(self, instant: datetime) -> CohortLog:
        """The log as it was known at an instant: nothing seen, typed in or struck out later.

        What stood on paper first counts from when it was seen, without the mistakes struck out
        since: all of a log that was begun later, and what came in from a file, several moments at
        once. So do a logger's readings and the temperature that was kept.
        """
        if instant < self.cohort.created:
            return self._seen_by(instant)
        withdrawn_since = tuple(
            each for each in self.withdrawn if each.struck and each.struck.at > instant
        )
        codes = {each.code for each in withdrawn_since}
        theirs = (each for each in self.of_withdrawn if each.individual in codes)
        return replace(
            self,
            individuals=(*self.individuals, *withdrawn_since),
            all_observations=tuple(_known((*self.all_observations, *theirs), instant)),
            all_temperatures=tuple(_known(self.all_temperatures, instant)),
        )._seen_by(instant)

    def _seen_by(self, instant: datetime) -> CohortLog:
        day = self.cohort.clock.day(instant)
        return CohortLog(
            self.cohort,
            tuple(each for each in self.individuals if each.entered_at <= instant),
            tuple(each for each in self.all_observations if each.at <= instant),
            tuple(
                _until(each, instant, day)
                for each in self.all_temperatures
                if _began(each, instant, day)
            ),
        )


Record = TypeVar("Record", Observation, Temperature)


def _from_files(records: Iterable[Observation | Temperature]) -> set[datetime]:
    """The moments of writing at which records of several moments came in together."""
    first: dict[datetime, datetime | date] = {}
    found = set()
    for each in records:
        if each.entered is not None:
            made = _made(each)
            if made is None or first.setdefault(each.entered, made) != made:
                found.add(each.entered)
    return found


def _made(record: Observation | Temperature) -> datetime | date | None:
    """When a record was made; None for one of several moments."""
    if isinstance(record, Observation):
        return record.at
    return record.date if isinstance(record, DayExtremes) else None


def _known(records: Sequence[Record], instant: datetime) -> Iterator[Record]:
    """The records that had been written down by an instant, not yet struck out ones standing."""
    from_files = _from_files(records)
    for each in records:
        written = each.entered is None or each.entered <= instant
        marks = tuple(mark for mark in each.marks if mark.at <= instant)
        if each.struck is not None and len(marks) < len(each.marks):
            if written:
                yield replace(each, marks=marks)
        elif written or each.entered in from_files:
            yield each


def time_order(observation: Observation) -> tuple[datetime, float]:
    """Sort key: by time; at one instant, in the order of writing (new ones last)."""
    return observation.at, observation.number or float("inf")


def state_at(individual: Individual, checks: Iterable[Observation], instant: datetime) -> State:
    """What is known of an individual at an instant, from its checks in time order."""
    stage, seen, fate = individual.stage, individual.entered_at, None
    for check in checks:
        if check.at > instant:
            break
        stage, seen, fate = check.stage or stage, check.at, check.fate
    return State(stage, seen, fate)


def _began(record: Temperature, instant: datetime, day: date) -> bool:
    if isinstance(record, Readings):
        return record.at + timedelta(seconds=record.seconds[0]) <= instant
    if isinstance(record, ConstantTemperature):
        return record.first <= day
    return record.date < day  # a day's extremes are known when the day is over


def _until(record: Temperature, instant: datetime, day: date) -> Temperature:
    if isinstance(record, Readings):
        limit = (instant - record.at).total_seconds()
        kept = bisect_right(record.seconds, limit)
        return replace(record, seconds=record.seconds[:kept], celsius=record.celsius[:kept])
    if isinstance(record, ConstantTemperature):
        return replace(record, last=day if record.last is None else min(record.last, day))
    return record
