"""What is published and on which terms: the logs, their title and licence, what is left out."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from functools import cached_property

from msgspec import Struct
from msgspec.structs import replace

from rearlog.exchange.tables import cleaned
from rearlog.records.columns import columns_of
from rearlog.records.errors import RearlogError
from rearlog.records.identity import named_id
from rearlog.records.labels import called, refuse_twice
from rearlog.records.log import Cohort, CohortLog
from rearlog.records.nameless import (
    CLEARED,
    Treated,
    nameless,
    nameless_cohort,
    treated,
    values_of,
)
from rearlog.settings.file import Publisher


class Licence(Struct, frozen=True):
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


class _Facts(Struct, frozen=True):
    """What is said of one log beside its tables: its cohort as it is in the file, how many records
    stand and are struck out, when the first and the last look was, what may name somebody."""

    cohort: Cohort
    individuals: int
    checks: int
    struck: int
    looks: tuple[datetime, ...]
    values: Mapping[str, tuple[str, ...]]


def _facts_of(log: CohortLog) -> _Facts:
    columns = columns_of(log)
    moments, checks = columns["at"].distinct, len(columns.places)
    struck = len(log.all_observations) - checks
    struck += sum(each.struck is not None for each in log.all_temperatures)
    looks = (min(moments), max(moments)) if moments else ()
    return _Facts(log.cohort, len(log.individuals), checks, struck, looks, values_of(log))


class Publication(Struct, frozen=True, dict=True):
    """Logs to be published: without `names` they are `nameless`, without `notes` they have none.

    `whole` are the logs as they are in the files: gone through once at first, and once whenever
    `logs` are asked for, so that they need not all be in memory. With `blur` (degrees) coordinates
    are rounded to multiples of it, and stay even without `names`. `publisher` is who answers for
    the data, `on` the day of publication. Each of the `cohorts` is called so that no two are called
    alike. Raises UsageError for one that is given twice.
    """

    whole: Iterable[CohortLog]
    own_title: str | None = None
    licence: Licence | None = None
    names: bool = True
    notes: bool = True
    blur: float | None = None
    publisher: Publisher | None = None
    on: date | None = None

    def __post_init__(self) -> None:
        refuse_twice(self.originals)

    @cached_property
    def _facts(self) -> tuple[_Facts, ...]:
        return tuple(map(_facts_of, self.whole))

    @property
    def left_out(self) -> frozenset[str]:
        """The fields that are not published."""
        found = frozenset((() if self.names else CLEARED) + (() if self.notes else ("note",)))
        return found if self.blur is None else found - {"latitude", "longitude"}

    @cached_property
    def cohorts(self) -> tuple[Cohort, ...]:
        """The cohorts as they are published."""
        return tuple(called([*map(self._published, self.originals)]))

    def _published(self, cohort: Cohort) -> Cohort:
        found = cohort if self.names else nameless_cohort(cohort)
        return found if self.blur is None else _blurred(found, cohort, self.blur)

    @property
    def originals(self) -> list[Cohort]:
        """The cohorts as they are in the files."""
        return [each.cohort for each in self._facts]

    @property
    def logs(self) -> Iterator[CohortLog]:
        """The logs as they are published, one after the other.

        Raises RearlogError for one that is another than before: a file may change meanwhile.
        """
        for log, cohort, known in zip(self.whole, self.cohorts, self._facts, strict=True):
            if _facts_of(log) != known:
                message = f"{known.cohort.name} was changed while it was read"
                raise RearlogError(message, "do the same again")
            yield replace(log if self.names else nameless(log), cohort=cohort)

    @property
    def individuals(self) -> int:
        """How many there are in all logs."""
        return sum(each.individuals for each in self._facts)

    @property
    def checks(self) -> int:
        """How many checks of them stand."""
        return sum(each.checks for each in self._facts)

    @property
    def looks(self) -> tuple[datetime, datetime] | None:
        """When the first and the last check was; None where there is none."""
        moments = [moment for each in self._facts for moment in each.looks]
        return (min(moments), max(moments)) if moments else None

    @property
    def id(self) -> str:
        """The identity of the data set: the same for the same cohorts, in whatever order."""
        return named_id("data set", *sorted(each.id for each in self.cohorts))

    @property
    def span(self) -> tuple[date, date]:
        """The first and the last day on which anything was seen."""
        moments = [*(each.started for each in self.cohorts), *(self.looks or ())]
        return min(moments).date(), max(moments).date()

    @property
    def generalised(self) -> str:
        """What was made coarser; empty where nothing was."""
        placed = any(each.latitude is not None for each in self.cohorts)
        return f"Coordinates are rounded to {self.blur:g} degrees." if self.blur and placed else ""

    @property
    def title(self) -> str:
        """The keeper's title, or one made of species and cohorts; says what is invented."""
        species = [*dict.fromkeys(each.species.scientific_name for each in self.cohorts)]
        kinds = " and ".join(species) if len(species) <= MOST_NAMED else f"{len(species)} species"
        title = self.own_title or f"Rearing of {kinds}: {self._cohorts()}"
        return cleaned(f"{title} (invented)" if self.invented else title)

    def _cohorts(self) -> str:
        """A few cohorts by their names, many by how many, where and when they were."""
        if len(self.cohorts) <= MOST_NAMED:
            return ", ".join(each.name for each in self.cohorts)
        sites = self.sites
        where = f" at {sites[0] if len(sites) == 1 else f'{len(sites)} sites'}" if sites else ""
        years = "–".join(dict.fromkeys(str(day.year) for day in self.span))
        return f"{len(self.cohorts)} cohorts{where}, {years}"

    @property
    def sites(self) -> tuple[str, ...]:
        """The sites that are known, each once."""
        found = dict.fromkeys(each.site for each in self.cohorts)
        return tuple(each for each in found if each)

    @property
    def invented(self) -> tuple[str, ...]:
        """The cohorts whose records are invented."""
        return tuple(each.name for each in self.cohorts if each.invented)

    @property
    def withheld(self) -> tuple[str, ...]:
        """What was left out at the keeper's wish, in sentences."""
        if not self.names:
            return (_NAMELESS,)
        return () if self.notes else ("The notes are left out.",)

    @property
    def values(self) -> dict[str, tuple[str, ...]]:
        """The different values of each field that may name somebody, by its column."""
        fields = self._facts[0].values
        return {
            name: tuple(dict.fromkeys(value for each in self._facts for value in each.values[name]))
            for name in fields
        }

    @property
    def treated(self) -> list[Treated]:
        """What becomes of every field that may name somebody."""
        blurred = self.blur is not None
        return treated(self.values, names=self.names, notes=self.notes, blurred=blurred)

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
        cohorts = ", ".join(each.name for each in self.cohorts)
        text = f"Cohorts: {cohorts}; individuals: {self.individuals}; checks: {self.checks}"
        if self.looks is not None:
            first, last = self.looks
            text += f", {first.date()} to {last.date()}"
        return (
            f"{text}. A check tells the stage that an individual was in; its passage from stage to "
            "stage is known only to lie between two checks, unless it was witnessed."
        )

    def _omissions(self) -> tuple[str, ...]:
        struck = sum(each.struck for each in self._facts)
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
