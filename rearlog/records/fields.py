"""What can be said of one look at one individual: each field once, with all that the doors need.

A field is an attribute of `Observation` with a `Field` in its annotation. From there draw the
compact notation, the cohort file, the tidy CSV, the check sheet, the page to tap, the rules, the
data package and the Darwin Core archive; a new measurement is one attribute here.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from enum import Enum, auto
from typing import Annotated, get_type_hints

from msgspec import Meta, Struct, field
from msgspec.structs import replace

from rearlog.records.fates import FATES
from rearlog.records.values import MOST_COUNTED, Count, Measure, Moment, Name, Photo, Token


class Kind(Enum):
    """What the values of a field are."""

    CODE = auto()
    """The individual."""
    MOMENT = auto()
    """An instant, with its offset from UTC."""
    WORD = auto()
    """A stage of the profile, or one of the field's words."""
    FLAG = auto()
    """Said or not said."""
    MEASURE = auto()
    """A number above zero, in the field's unit."""
    COUNT = auto()
    """A whole number, in the field's unit; none (0) is something that was counted too."""
    NAME = auto()
    """What one animal or a cage is called: see NAME."""
    TEXT = auto()
    """What anybody may write."""


class Field(Struct, frozen=True):
    """One field of an observation.

    `meaning` is its description in the open data. `word` is what the compact notation calls it (as
    in head=0.61), with an `example`, and `title` what forms and messages do. The values of a WORD
    are `among` some, if any are given. The measures that a species profile gives lie between
    `least` and `most`, and a count is no more than its `most`. `term` is its name in the vocabulary
    of the open data (Darwin Core: the term, or the type of the measurement); a field without one
    stands among the other properties. `on_paper` explains it on a printed check sheet.
    """

    kind: Kind
    meaning: str
    word: str = ""
    example: str = ""
    title: str = ""
    unit: str = ""
    among: tuple[str, ...] = ()
    least: float = 0.0
    most: float = 0.0
    term: str = ""
    on_paper: str = ""
    name: str = ""


class Mark(Struct, frozen=True, forbid_unknown_fields=True):
    """That a record was struck out, or that this was taken `back`: when, why, by whom (initials).

    On an individual: that it was withdrawn.
    """

    at: Moment
    because: str
    by: str | None = None
    back: bool = False


Marks = Annotated[tuple[Mark, ...], Meta(min_length=1)]

KEY = "(key)"
"""Stands in documents for the number of a record, which is the key of its document."""


class Marked:
    """What is written down, and may be struck out and taken back, all of which is kept."""

    __slots__ = ()
    marks: tuple[Mark, ...]

    @property
    def struck(self) -> Mark | None:
        """The mark by which it does not count; None where it does."""
        return self.marks[-1] if self.marks and not self.marks[-1].back else None


class NumberedRecord(
    Struct, Marked, frozen=True, forbid_unknown_fields=True, kw_only=True, gc=False
):
    """One of the records that a file numbers.

    `number` is the record's number there, `entered` the moment of writing it down (shared by all
    the records of one round).
    """

    number: int | None = field(default=None, name=KEY)
    entered: Moment | None = None
    marks: Marks = ()


class Observation(NumberedRecord, frozen=True):
    """One individual, seen at one moment, in one state, and what was measured.

    `stage` is the stage seen; with a fate `dead` it is the stage at death, where it was noted.
    `same` says “no change” since the look before, in place of a stage, which is then derived.
    `witnessed`: the event itself was seen, so `at` is its time. `token` was made by the device that
    told it: what comes a second time is written once. `photo` is the name of the picture that was
    taken of it.
    """

    individual: Annotated[str, Field(Kind.CODE, "Code of the individual.", term="organismID")]
    at: Annotated[Moment, Field(Kind.MOMENT, "When it was looked at.", term="eventDate")]
    stage: Annotated[
        str | None, Field(Kind.WORD, "The stage seen; where it is dead, the stage at death.")
    ] = None
    fate: Annotated[str | None, Field(Kind.WORD, "What ended the watch.", among=FATES)] = None
    cause: Annotated[str | None, Field(Kind.TEXT, "The cause of the fate.")] = None
    witnessed: Annotated[
        bool,
        Field(
            Kind.FLAG,
            "yes where the event itself was seen, so its time is exact.",
            word="seen",
            title="seen happening",
        ),
    ] = False
    length_mm: Annotated[
        Measure | None,
        Field(
            Kind.MEASURE,
            "Body length.",
            word="len",
            example="12.5",
            title="length",
            unit="mm",
            least=0.05,
            most=400.0,
            term="body length",
        ),
    ] = None
    head_width_mm: Annotated[
        Measure | None,
        Field(
            Kind.MEASURE,
            "Head capsule width.",
            word="head",
            example="0.9",
            title="head width",
            unit="mm",
            least=0.05,
            most=20.0,
            term="head capsule width",
        ),
    ] = None
    mass_mg: Annotated[
        Measure | None,
        Field(
            Kind.MEASURE,
            "Body mass.",
            word="mass",
            example="34",
            title="mass",
            unit="mg",
            least=0.001,
            most=150_000.0,
            term="body mass",
        ),
    ] = None
    sex: Annotated[
        str | None,
        Field(
            Kind.WORD,
            "f for female, m for male.",
            word="sex",
            example="f",
            title="sex",
            among=("f", "m"),
            term="sex",
        ),
    ] = None
    by: Annotated[str | None, Field(Kind.TEXT, "Initials of the observer.", term="recordedBy")] = (
        None
    )
    note: Annotated[
        str | None,
        Field(Kind.TEXT, "Anything else that was noted.", title="note", term="occurrenceRemarks"),
    ] = None
    same: Annotated[
        bool,
        Field(
            Kind.FLAG, "yes where “no change” was said: then the stage is derived from all looks."
        ),
    ] = False
    eggs: Annotated[
        Count | None,
        Field(
            Kind.COUNT,
            "Eggs laid since the look before; of a female in a cage of several, by all in it.",
            word="eggs",
            example="34",
            title="eggs",
            unit="eggs",
            most=MOST_COUNTED,
            term="eggs laid",
            on_paper="laid since the look before",
        ),
    ] = None
    hatched: Annotated[
        Count | None,
        Field(
            Kind.COUNT,
            "Of the eggs laid so far, how many hatched since the look before.",
            word="hatched",
            example="30",
            title="eggs hatched",
            unit="eggs",
            most=MOST_COUNTED,
            term="eggs hatched",
            on_paper="of those laid so far",
        ),
    ] = None
    mate: Annotated[
        Name | None,
        Field(
            Kind.NAME,
            "With whom it is kept from then on: the code of its mate, or the name of a cage.",
            word="mate",
            example="7",
            title="mate or cage",
            on_paper="with whom, or in which cage",
        ),
    ] = None
    token: Token | None = None
    photo: Photo | None = None


def _fields_of(record: type[Struct]) -> Iterator[Field]:
    hints = get_type_hints(record, include_extras=True)
    for name in record.__struct_fields__:
        for said in getattr(hints[name], "__metadata__", ()):
            if isinstance(said, Field):
                yield replace(said, name=name)


def checked(known: Iterable[Field]) -> tuple[Field, ...]:
    """The fields, if no two share a name, word or term; raises ValueError for what is missing."""
    found = tuple(known)
    for what in ("name", "word", "term"):
        times = Counter(getattr(each, what) for each in found)
        twice = [name for name, count in times.items() if name and count > 1]
        if twice:
            raise ValueError(f"two fields have the {what} {twice[0]}")
    for each in found:
        if each.word and not re.fullmatch("[a-z]{2,12}", each.word):
            raise ValueError(f"{each.name}: “{each.word}” is no word of the notation")
        told = (each.word, each.title, each.unit, each.term, each.example)
        if each.kind in (Kind.MEASURE, Kind.COUNT) and not all(told):
            raise ValueError(f"{each.name}: a measure has a word, a title, a unit and a term")
        if each.kind in (Kind.COUNT, Kind.NAME) and not each.on_paper:
            raise ValueError(f"{each.name}: nothing explains it on a printed sheet")
        if each.kind is Kind.COUNT and not (each.least == 0 and 0 < each.most == int(each.most)):
            raise ValueError(f"{each.name}: a count begins at 0, and its most is a whole number")
        if each.kind is Kind.MEASURE:
            if not 0 < each.least < each.most:
                raise ValueError(f"{each.name}: its bounds are not above zero, or swapped")
            if not each.name.endswith(f"_{each.unit}"):
                raise ValueError(f"{each.name}: the name of a measure ends in its unit")
    return found


FIELDS = checked(_fields_of(Observation))
"""Every field of an observation that somebody says, in the order of the tidy CSV."""

BY_NAME = {each.name: each for each in FIELDS}
DETAILS = {each.word: each for each in FIELDS if each.word}
"""The fields that stand behind a state in the compact notation, by their words."""

MEASURES = tuple(each for each in FIELDS if each.kind is Kind.MEASURE)
COUNTS = tuple(each for each in FIELDS if each.kind is Kind.COUNT)
NUMBERS = (*MEASURES, *COUNTS)
"""All that is measured or counted, each in its unit."""
OF_ADULTS = (*COUNTS, BY_NAME["mate"])
"""What is said of those that lay and mate."""
SEXES = BY_NAME["sex"].among
TEXTS = tuple(each.name for each in FIELDS if each.kind is Kind.TEXT)
"""What anybody may have written anything into, names of people too."""
STATES = ("stage", "fate", "same")
"""One of these every look says."""


def detail_examples(known: Iterable[Field] = FIELDS) -> str:
    """Each detail of the notation with an example, or some of them: seen len=12.5 …"""
    return " ".join(
        f"{each.word}={each.example}" if each.example else each.word for each in known if each.word
    )
