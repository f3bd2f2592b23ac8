"""What a copy of a cohort has that another has not, where both were written to apart.

A synced folder leaves such copies. Records are the same when their content is, whatever their
numbers: an entry that both have is there once, what only one has is added, and the marks of both
are put together, so that the last one says whether a record counts. Where the copies contradict
each other, the user decides.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Generic, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from rearlog.records.errors import Problem, RecordError
from rearlog.records.log import (
    Cohort,
    CohortLog,
    Individual,
    Mark,
    Observation,
    Temperature,
)
from rearlog.records.rules import problems_with
from rearlog.records.temperature_rules import contradictions
from rearlog.records.wording import line_of, record_name, stamp

_SAID_AFTERWARDS = (("name",), ("site",), ("place",), ("latitude", "longitude"))
"""What may be said of a cohort in one copy and not in the other, and changes no answer."""

R = TypeVar("R", bound=Observation | Temperature)

_REMEDY = "strike out the wrong one in its own file, then merge again"


class News(Struct, Generic[R], frozen=True):
    """Records of one kind that the copy brings, and the marks of records that are here, where the
    copy has more of them."""

    added: list[R] = []
    marks: dict[int, tuple[Mark, ...]] = {}

    def joined(self, ours: Iterable[R]) -> list[R]:
        """Our records with the copy's marks, and the added ones, which have no number yet."""
        marked = [
            replace(each, marks=self.marks[each.number]) if each.number in self.marks else each
            for each in ours
        ]
        return [*marked, *self.added]


class Merge(Struct, frozen=True):
    """All that a copy brings; `withdrawn` are the new marks of individuals, by their codes.

    `cohort` is how it is described from now on, `others` by what field which value of the copy was
    not taken, because there is another here.
    """

    cohort: Cohort
    others: dict[str, str]
    individuals: list[Individual]
    withdrawn: dict[str, tuple[Mark, ...]]
    observations: News[Observation]
    temperatures: News[Temperature]

    @property
    def marked(self) -> tuple[int, int]:
        """How many records the copy strikes out, and of how many it takes that back."""
        marks = [*self.observations.marks.values(), *self.temperatures.marks.values()]
        back = sum(each[-1].back for each in marks)
        return len(marks) - back, back


def compare(ours: CohortLog, theirs: CohortLog, now: datetime) -> Merge:
    """What `theirs` brings to `ours`.

    Raises RecordError where they are not copies of one cohort, and with every contradiction.
    """
    strange = list(_other_cohort(ours.cohort, theirs.cohort))
    if strange:
        raise RecordError(strange)
    known = {each.code.casefold(): each for each in ours.everybody}
    entered = theirs.everybody
    problems = list(_other_entries(known, entered))
    cohort, others = _described(ours.cohort, theirs.cohort)
    found = Merge(
        cohort,
        others,
        [each for each in entered if each.code.casefold() not in known],
        {
            each.code: marks
            for each in entered
            if (mine := known.get(each.code.casefold())) is not None
            and (marks := united(mine.marks, each.marks)) != mine.marks
        },
        _news(ours.every_observation, theirs.every_observation),
        _news(ours.all_temperatures, theirs.all_temperatures),
    )
    if not problems:
        problems = list(_at_one_moment(ours, found.observations))
    if not problems:
        problems = _broken_rules(ours, found, now)
    problems += contradictions(found.temperatures.joined(ours.all_temperatures))
    if problems:
        raise RecordError(problems)
    return found


def united(ours: tuple[Mark, ...], theirs: tuple[Mark, ...]) -> tuple[Mark, ...]:
    """The marks of both, in the order of writing; where both went on apart, in that of time."""
    longer, shorter = (ours, theirs) if len(ours) >= len(theirs) else (theirs, ours)
    if longer[: len(shorter)] == shorter:
        return longer
    return tuple(sorted({*ours, *theirs}, key=lambda each: (each.at, each.back, str(each))))


def _described(ours: Cohort, theirs: Cohort) -> tuple[Cohort, dict[str, str]]:
    """The cohort as both describe it: what is said here stays, what only the copy says is taken
    over; and what it says otherwise, by field."""
    others = {}
    for said in _SAID_AFTERWARDS:
        here, there = ([getattr(each, name) for name in said] for each in (ours, theirs))
        if here == there or None in there:
            continue
        if None in here:
            ours = replace(ours, **dict(zip(said, there, strict=True)))
        else:
            others[" and ".join(said)] = ", ".join(map(str, there))
    return ours, others


def _other_cohort(ours: Cohort, theirs: Cohort) -> Iterator[Problem]:
    if ours.id != theirs.id:
        remedy = "only copies of one cohort are merged"
        yield Problem("it is another cohort", theirs.name, remedy)
        return
    passed = {name for said in _SAID_AFTERWARDS for name in said}
    for each in Cohort.__struct_fields__:
        if each not in passed and getattr(ours, each) != getattr(theirs, each):
            other = "are others" if each in ("factors", "origins") else "is another"
            yield Problem(
                f"its {each} {other}", theirs.name, "only copies of one cohort are merged"
            )


def _other_entries(known: dict[str, Individual], theirs: Iterable[Individual]) -> Iterator[Problem]:
    for each in theirs:
        mine = known.get(each.code.casefold(), each)
        if replace(mine, marks=()) != replace(each, marks=()):
            yield Problem("the copies have it enter in different ways", each.code)


def _news(ours: Sequence[R], theirs: Sequence[R]) -> News[R]:
    """Pair the records that are the same, and see what is left."""
    waiting: dict[R, list[R]] = {}
    for mine in ours:
        waiting.setdefault(replace(mine, number=None, marks=()), []).append(mine)
    news = News[R]()
    unpaired: list[R] = []
    for each in theirs:
        same = waiting.get(replace(each, number=None, marks=()))
        if not same:
            unpaired.append(replace(each, number=None))
            continue
        mine = same.pop(0)
        marks = united(mine.marks, each.marks)
        if marks != mine.marks and mine.number is not None:
            news.marks[mine.number] = marks
    standing = {_content(each) for each in news.joined(ours) if each.struck is None}
    for each in unpaired:
        # the same may have been written down in both, at different times
        if each.struck is not None or _content(each) not in standing:
            news.added.append(each)
    return news


def _content(record: R) -> R:
    return replace(record, number=None, marks=(), entered=None)


def _at_one_moment(ours: CohortLog, news: News[Observation]) -> Iterator[Problem]:
    """Two checks of one individual by one observer at one moment that say different things."""
    here = {
        (each.individual, each.at, each.by): each
        for each in news.joined(ours.every_observation)
        if each.struck is None and each.number is not None
    }
    for each in news.added:
        mine = here.get((each.individual, each.at, each.by))
        if mine is not None and each.struck is None:
            yield Problem(
                f"{record_name(mine.number)} says “{_said(mine)}”, the other copy “{_said(each)}”",
                f"{each.individual} at {stamp(each.at)}",
                _REMEDY,
            )


def _said(check: Observation) -> str:
    return line_of(check) + (f" by {check.by}" if check.by else "")


def _broken_rules(ours: CohortLog, found: Merge, now: datetime) -> list[Problem]:
    news = found.observations
    individuals = (*ours.everybody, *found.individuals)
    again: list[Observation] = []
    kept: list[Observation] = []
    for each in news.joined(ours.every_observation):
        new = each.number is None or each.number in news.marks
        (again if new else kept).append(each)
    log = CohortLog(ours.cohort, individuals, kept)
    added = [each for each in again if each.struck is None]
    problems = problems_with(log, added, now)
    remedy = f"checks without a record number are the other copy's; {_REMEDY}"
    return [replace(each, remedy=f"{each.remedy}; {remedy}".lstrip("; ")) for each in problems]
