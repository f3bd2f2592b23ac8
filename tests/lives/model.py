"""A cohort in memory, as a person with pencil and paper would keep it.

It shares no code with the store: plain records, searched one by one. Times are minutes since the
cohort's start. Whatever the store does is done here too, or `Refused`.
"""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass, field, replace

MINUTES_OF_START = 9 * 60
"""The cohort starts at nine in the morning."""


class Refused(Exception):
    """The log does not take that."""


MarkOf = tuple[int, bool, str, str | None]
"""When something was struck out, or taken back, why, and by whom."""


@dataclass
class Animal:
    code: str
    entered: int
    stage: str
    marks: list[MarkOf] = field(default_factory=list)

    @property
    def counts(self) -> bool:
        return not self.marks or self.marks[-1][1]


@dataclass
class Check:
    """One look. `born` is when it was written down and the how manieth it was then: by this it is
    known again in a copy of the cohort."""

    code: str
    at: int
    stage: str | None = None
    fate: str | None = None
    cause: str | None = None
    by: str | None = None
    note: str | None = None
    length: float | None = None
    witnessed: bool = False
    same: bool = False
    born: tuple[int, int] = (0, 0)
    marks: list[MarkOf] = field(default_factory=list)

    @property
    def stands(self) -> bool:
        return not self.marks or self.marks[-1][1]

    @property
    def said(self) -> tuple[object, ...]:
        return (
            self.code, self.at, self.stage, self.fate, self.cause, self.by, self.note,
            self.length, self.witnessed, self.same,
        )  # fmt: skip

    @property
    def day(self) -> int:
        return (self.at + MINUTES_OF_START) // 1440


@dataclass
class Heat:
    """The extremes of a day."""

    day: int
    low: float
    high: float
    born: int = 0
    marks: list[MarkOf] = field(default_factory=list)

    @property
    def stands(self) -> bool:
        return not self.marks or self.marks[-1][1]


class Model:
    def __init__(self, count: int) -> None:
        self.animals = [Animal(str(code), 0, "egg") for code in range(1, count + 1)]
        self.checks: list[Check] = []
        self.heat: list[Heat] = []
        self.redactions: list[tuple[int, str]] = []

    def copy(self) -> Model:
        return deepcopy(self)

    # looking

    def animal(self, code: str) -> Animal | None:
        return next((each for each in self.animals if each.code == code and each.counts), None)

    def standing(self, code: str) -> list[Check]:
        return [each for each in self.checks if each.code == code and each.stands]

    def visible(self) -> list[Check]:
        """Those of animals that count."""
        return [each for each in self.checks if self.animal(each.code)]

    def ended(self, code: str, at: int) -> bool:
        """Whether the last look by then said that it was over."""
        looks = [
            (each.at, place)
            for place, each in enumerate(self.checks)
            if each.code == code and each.stands and each.at <= at
        ]
        return bool(looks) and self.checks[max(looks)[1]].fate is not None

    def alive(self, at: int) -> list[str]:
        return [
            each.code
            for each in self.animals
            if each.counts and each.entered <= at and not self.ended(each.code, at)
        ]

    def asked(self, at: int, by: str | None) -> list[str]:
        """Who came to a moment alive and has no look at it: none of this observer, where one is
        named and so are the others."""
        return [
            each.code
            for each in self.animals
            if each.counts
            and each.entered <= at
            and not self.ended(each.code, at - 1)
            and all(
                look.at != at or (by is not None and look.by not in (None, by))
                for look in self.standing(each.code)
            )
        ]

    # changing

    def enter(self, code: str, at: int, stage: str) -> None:
        if any(each.code == code for each in self.animals):
            raise Refused
        self.animals.append(Animal(code, at, stage))

    def log(self, checks: list[Check], now: int) -> None:
        for check in checks:
            animal = self.animal(check.code)
            if animal is None or check.at < animal.entered or check.at > now:
                raise Refused
        self._add(checks, now)

    def bring(self, checks: list[Check], now: int) -> None:
        """What a file tells; what is there already is passed over."""
        new = []
        if not all(self.animal(each.code) for each in checks):
            raise Refused
        for check in checks:
            beside = [each for each in self.standing(check.code) if each.at == check.at]
            if any(_tells_all(each, check) for each in beside):
                continue
            if any(each.by == check.by for each in beside):
                raise Refused
            new.append(check)
        self.log(new, now)

    def _add(self, checks: list[Check], now: int) -> None:
        seen = {(each.code, each.at, each.by) for each in self.checks if each.stands}
        for check in checks:
            if (check.code, check.at, check.by) in seen:
                raise Refused
            seen.add((check.code, check.at, check.by))
        self.checks += [
            replace(each, born=(now, place), marks=[]) for place, each in enumerate(checks)
        ]

    def measure(self, day: int, low: float, high: float, now: int) -> None:
        for each in self.heat:
            if each.stands and each.day == day:
                if (each.low, each.high) != (low, high):
                    raise Refused
                return
        self.heat.append(Heat(day, low, high, now))

    def strike(
        self, checks: list[int], heat: list[int], now: int, because: str, by: str | None
    ) -> None:
        """The records are given by their places, from 0."""
        if not all(self.animal(self.checks[place].code) for place in checks):
            raise Refused
        struck = self._records(checks, heat)
        if not all(each.stands for each in struck):
            raise Refused
        for each in struck:
            each.marks.append((now, False, because, by))

    def take_back(
        self, checks: list[int], heat: list[int], now: int, because: str, by: str | None
    ) -> None:
        codes = {self.checks[place].code for place in checks}
        if not all(map(self.animal, codes)):
            raise Refused
        again = self._records(checks, heat)
        if any(each.stands for each in again):
            raise Refused
        for each in again:
            each.marks.append((now, True, because, by))
        self._refuse_two_at_once(codes)
        self._refuse_two_days()

    def _records(self, checks: list[int], heat: list[int]) -> list[Check | Heat]:
        found: list[Check | Heat] = [self.checks[place] for place in checks]
        return found + [self.heat[place] for place in heat]

    def _refuse_two_at_once(self, codes: set[str]) -> None:
        for code in codes:
            looks = [(each.at, each.by) for each in self.standing(code)]
            if len(looks) > len(set(looks)):
                raise Refused

    def _refuse_two_days(self) -> None:
        days: dict[int, tuple[float, float]] = {}
        for each in self.heat:
            if each.stands and days.setdefault(each.day, (each.low, each.high)) != (
                each.low,
                each.high,
            ):
                raise Refused

    def correct(
        self, code: str, stage: str, days: tuple[int, int], now: int, because: str, by: str | None
    ) -> None:
        old = [
            each
            for each in self.standing(code)
            if each.stage not in (None, stage) and days[0] <= each.day <= days[1]
        ]
        if self.animal(code) is None or not old:
            raise Refused
        old.sort(key=lambda each: each.at)  # those of one moment in the order of writing
        for each in old:
            each.marks.append((now, False, because, by))
        self._add([replace(each, stage=stage, by=by or each.by) for each in old], now)

    def withdraw(self, code: str, now: int, back: bool, because: str, by: str) -> None:
        found = [each for each in self.animals if each.code == code]
        if not found or found[0].counts == back:
            raise Refused
        found[0].marks.append((now, back, because, by))

    def redact(self, what: str, word: str, now: int) -> int:
        """Take out all notes, causes or observers that say a word; how many there were."""
        numbers = [
            int(each.by[1:]) for each in self.checks if each.by is not None and each.by[0] == "?"
        ]
        last, count = max(numbers, default=0), 0
        names: dict[str, str] = {}
        for each in self.checks:
            text = getattr(each, what)
            if text is None or text[0] == "?" or word.lower() not in text.lower():
                continue
            count += 1
            if what == "by":
                if text not in names:
                    last += 1
                    names[text] = f"?{last}"
                each.by = names[text]
            else:
                setattr(each, what, None)
        if what == "by":
            marked: list[Animal | Check | Heat] = [*self.animals, *self.checks, *self.heat]
            for kept in marked:
                gone = [word == each[3] for each in kept.marks]
                count += sum(gone)
                kept.marks = [
                    (*each[:3], None if out else each[3])
                    for each, out in zip(kept.marks, gone, strict=True)
                ]
        if count:
            self.redactions.append((now, what))
        return count

    def merge(self, other: Model) -> None:
        """Take over what a copy that went its own way has."""
        if self.redactions != other.redactions:
            raise Refused
        known = {each.code: each for each in self.animals}
        touched: set[str] = set()
        for animal in other.animals:
            mine = known.get(animal.code)
            if mine is None:
                self.animals.append(animal)
            elif (mine.entered, mine.stage) != (animal.entered, animal.stage):
                raise Refused
            else:
                mine.marks = _united(mine.marks, animal.marks)
        ours = {(each.born, each.code, each.at, each.by): each for each in self.checks}
        new = []
        for check in other.checks:
            same = ours.get((check.born, check.code, check.at, check.by))
            if same is None:
                new.append(check)
            elif check.marks != same.marks:
                same.marks = _united(same.marks, check.marks)
                touched.add(check.code)
        standing = {each.said for each in self.checks if each.stands}
        new = [each for each in new if not (each.stands and each.said in standing)]
        self.checks += new
        self._refuse_two_at_once(touched | {each.code for each in new})
        heat = {(each.born, each.day): each for each in self.heat}
        new_heat = []
        for warm in other.heat:
            there = heat.get((warm.born, warm.day))
            if there is None:
                new_heat.append(warm)
            else:
                there.marks = _united(there.marks, warm.marks)
        days = {(each.day, each.low, each.high) for each in self.heat if each.stands}
        self.heat += [
            each
            for each in new_heat
            if not (each.stands and (each.day, each.low, each.high) in days)
        ]
        self._refuse_two_days()


def _united(ours: list[MarkOf], theirs: list[MarkOf]) -> list[MarkOf]:
    return sorted({*ours, *theirs}, key=lambda each: each[:2])


def _tells_all(known: Check, told: Check) -> bool:
    return all(
        new in (None, False) or new == old
        for old, new in zip(known.said[2:], told.said[2:], strict=True)
    )
