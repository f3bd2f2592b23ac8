"""What is published and on which terms: the logs, their title and licence, what is left out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from rearlog.exchange.tables import cleaned
from rearlog.records.identity import named_id
from rearlog.records.labels import called, refuse_twice
from rearlog.records.log import Cohort, CohortLog, Observation
from rearlog.records.nameless import CLEARED, Treated, nameless, treated
from rearlog.settings.file import Publisher


@dataclass(frozen=True, slots=True)
class Licence:
    """A licence by its SPDX identifier, its name, and where its text is."""

    id: str
    name: str
    url: str


_NAMELESS = (
    "Observers, notes, causes of death, sites, places and the sources of temperatures are left "
    "out; clutches, containers, and codes that could be names, are numbers in their place."
)
_CC = "https://creativecommons.org"
_ODC = "https://opendatacommons.org/licenses"
LICENCES = {
    each.id: each
    for each in (
        Licence("CC0-1.0", "Creative Commons Zero 1.0", f"{_CC}/publicdomain/zero/1.0/"),
        Licence("CC-BY-4.0", "Creative Commons Attribution 4.0", f"{_CC}/licenses/by/4.0/"),
        Licence(
            "CC-BY-SA-4.0",
            "Creative Commons Attribution-ShareAlike 4.0",
            f"{_CC}/licenses/by-sa/4.0/",
        ),
        Licence(
            "CC-BY-NC-4.0",
            "Creative Commons Attribution-NonCommercial 4.0",
            f"{_CC}/licenses/by-nc/4.0/",
        ),
        Licence("ODbL-1.0", "Open Data Commons Open Database License 1.0", f"{_ODC}/odbl/1-0/"),
        Licence("ODC-By-1.0", "Open Data Commons Attribution License 1.0", f"{_ODC}/by/1-0/"),
        Licence("PDDL-1.0", "Open Data Commons Public Domain Dedication 1.0", f"{_ODC}/pddl/1-0/"),
    )
}


TAKEN_BY_ARCHIVES = ("CC0-1.0", "CC-BY-4.0", "CC-BY-NC-4.0")
"""The licences under which aggregators take Darwin Core archives (from memory)."""

MOST_NAMED = 3
"""So many cohorts, and species, a title names; of more it says how many there are."""

_METRES_A_DEGREE = 40_008_000 / 360
"""Along a meridian of the earth, whose circumference over the poles this is (common knowledge)."""


@dataclass(frozen=True, slots=True)
class Publication:
    """Logs to be published: without `names` they are `nameless`, without `notes` they have none.

    With `blur` (degrees) coordinates are rounded to multiples of it, and stay even without `names`.
    `publisher` is who answers for the data, `on` the day of publication.
    Each is called so that no two are called alike. Raises UsageError for one that is given twice.
    """

    logs: tuple[CohortLog, ...]
    own_title: str | None = None
    licence: Licence | None = None
    names: bool = True
    notes: bool = True
    blur: float | None = None
    publisher: Publisher | None = None
    on: date | None = None
    left_out: frozenset[str] = field(init=False)
    whole: tuple[CohortLog, ...] = field(init=False)
    """The logs as they are in the files."""

    def __post_init__(self) -> None:
        refuse_twice([log.cohort for log in self.logs])
        left_out = frozenset((() if self.names else CLEARED) + (() if self.notes else ("note",)))
        if self.blur is not None:
            left_out -= {"latitude", "longitude"}
        object.__setattr__(self, "left_out", left_out)
        object.__setattr__(self, "whole", self.logs)
        logs = self.logs if self.names else tuple(map(nameless, self.logs))
        if self.blur is not None:
            places = [log.cohort for log in self.logs]
            logs = tuple(
                replace(log, cohort=_blurred(log.cohort, place, self.blur))
                for log, place in zip(logs, places, strict=True)
            )
        cohorts = called([log.cohort for log in logs])
        apart = (replace(log, cohort=each) for log, each in zip(logs, cohorts, strict=True))
        object.__setattr__(self, "logs", tuple(apart))

    @property
    def id(self) -> str:
        """The identity of the data set: the same for the same cohorts, in whatever order."""
        return named_id("data set", *sorted(log.cohort.id for log in self.logs))

    @property
    def span(self) -> tuple[date, date]:
        """The first and the last day on which anything was seen."""
        moments = [log.cohort.started for log in self.logs]
        moments += [each.at for each in standing(self.logs)]
        return min(moments).date(), max(moments).date()

    @property
    def generalised(self) -> str:
        """What was made coarser; empty where nothing was."""
        placed = any(log.cohort.latitude is not None for log in self.logs)
        return f"Coordinates are rounded to {self.blur:g} degrees." if self.blur and placed else ""

    @property
    def title(self) -> str:
        """The keeper's title, or one made of species and cohorts; says what is invented."""
        species = [*dict.fromkeys(log.cohort.species.scientific_name for log in self.logs)]
        kinds = " and ".join(species) if len(species) <= MOST_NAMED else f"{len(species)} species"
        title = self.own_title or f"Rearing of {kinds}: {self._cohorts()}"
        return cleaned(f"{title} (invented)" if self.invented else title)

    def _cohorts(self) -> str:
        """A few cohorts by their names, many by how many, where and when they were."""
        if len(self.logs) <= MOST_NAMED:
            return ", ".join(log.cohort.name for log in self.logs)
        sites = self.sites
        where = f" at {sites[0] if len(sites) == 1 else f'{len(sites)} sites'}" if sites else ""
        years = "–".join(dict.fromkeys(str(day.year) for day in self.span))
        return f"{len(self.logs)} cohorts{where}, {years}"

    @property
    def sites(self) -> tuple[str, ...]:
        """The sites that are known, each once."""
        found = dict.fromkeys(log.cohort.site for log in self.logs)
        return tuple(each for each in found if each)

    @property
    def invented(self) -> tuple[str, ...]:
        """The cohorts whose records are invented."""
        return tuple(log.cohort.name for log in self.logs if log.cohort.invented)

    @property
    def withheld(self) -> tuple[str, ...]:
        """What was left out at the keeper's wish, in sentences."""
        if not self.names:
            return (_NAMELESS,)
        return () if self.notes else ("The notes are left out.",)

    @property
    def treated(self) -> list[Treated]:
        """What becomes of every field that may name somebody."""
        return treated(
            self.whole, names=self.names, notes=self.notes, blurred=self.blur is not None
        )

    @property
    def paragraphs(self) -> tuple[str, ...]:
        """What a reader must know of the data, in plain words."""
        told = (self.warning, self._content(), " ".join(self._omissions()))
        return tuple(filter(None, told))

    @property
    def warning(self) -> str:
        """Which of the data are invented; empty where none are."""
        if not self.invented:
            return ""
        return f"Invented data: no real animal was observed in {', '.join(self.invented)}."

    def _content(self) -> str:
        cohorts = ", ".join(log.cohort.name for log in self.logs)
        animals = sum(len(log.individuals) for log in self.logs)
        checks = standing(self.logs)
        text = f"Cohorts: {cohorts}; individuals: {animals}; checks: {len(checks)}"
        if checks:
            first, last = min(each.at for each in checks), max(each.at for each in checks)
            text += f", {first.date()} to {last.date()}"
        return (
            f"{text}. A check tells the stage that an individual was in; its passage from stage to "
            "stage is known only to lie between two checks, unless it was witnessed."
        )

    def _omissions(self) -> tuple[str, ...]:
        struck = sum(
            each.struck is not None
            for log in self.whole
            for each in (*log.all_observations, *log.all_temperatures)
        )
        said = f"Records that were struck out are left out ({struck})." if struck else ""
        return (
            *((said,) if said else ()),
            *self.withheld,
            *((self.generalised,) if self.generalised else ()),
            "Text that a spreadsheet would take for a formula has an apostrophe in front.",
        )


def _blurred(cohort: Cohort, place: Cohort, degrees: float) -> Cohort:
    """A cohort with the coordinates of a place, rounded to multiples of some degrees."""
    if place.latitude is None or place.longitude is None:
        return cohort
    latitude, longitude = (
        round(round(each / degrees) * degrees, 9) for each in (place.latitude, place.longitude)
    )
    # rounding may lead over the pole, or once around
    return replace(
        cohort,
        latitude=min(max(latitude, -90.0), 90.0),
        longitude=min(max(longitude, -180.0), 180.0),
    )


def uncertain_by_metres(latitude: float, degrees: float) -> float:
    """How far a place may be from the one to which it was rounded: half the diagonal of a cell."""
    north = degrees / 2 * _METRES_A_DEGREE
    return math.hypot(north, north * math.cos(math.radians(abs(latitude))))


def standing(logs: Sequence[CohortLog]) -> list[Observation]:
    """The observations that stand, in the order of writing."""
    return [each for log in logs for each in log.all_observations if each.struck is None]
