"""Looks that contradict another: kept, and said to be in doubt.

Which of two is the mistake, the looks of all days tell better than the one at hand (see
`analysis.stages.settling`). Asked with every entry, hence in plain arithmetic.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence
from datetime import datetime
from enum import StrEnum

from msgspec import Struct

from rearlog.records.cages import ALONE, codes_by_name, kept_at
from rearlog.records.errors import Problem
from rearlog.records.fields import COUNTS
from rearlog.records.forms import StageKind, kind_of
from rearlog.records.jumps import Warmth, jumps_of, warmest
from rearlog.records.log import CohortLog, Individual, Observation, time_order
from rearlog.records.profile import Profile
from rearlog.records.wording import named, said, stamp


class DoubtKind(StrEnum):
    """How a look contradicts another."""

    EARLIER_STAGE = "an earlier stage than before"
    AFTER_THE_END = "seen after its end"
    STAGE_LEFT_OUT = "a passage seen, and not the stage before it"
    NO_TIME = "a later stage than there was time for"
    EGGS_OF_THE_YOUNG = "eggs before it was an adult"
    EGGS_OF_A_MALE = "eggs of a male"
    MORE_HATCHED = "more eggs hatched than were laid"
    COUNTED_TWICE = "the same eggs counted by two"
    BOTH_SEXES = "another sex than before"

    @property
    def of_stages(self) -> bool:
        """Whether passages between stages are less sure for it: what is of eggs or sexes alone
        leaves them as they are."""
        return self in _OF_STAGES


_OF_STAGES = frozenset(
    {
        DoubtKind.EARLIER_STAGE,
        DoubtKind.AFTER_THE_END,
        DoubtKind.STAGE_LEFT_OUT,
        DoubtKind.NO_TIME,
    }
)


REMEDIES = {
    DoubtKind.STAGE_LEFT_OUT: "leave out “seen”, or enter the stage before",
    DoubtKind.EGGS_OF_THE_YOUNG: "tell that it is adult, or whose eggs they are",
    DoubtKind.MORE_HATCHED: "tell the eggs as they are laid, or look at the counts again",
}
"""How a doubt may be settled where that is not by striking out one of two records."""


class Doubt(Struct, frozen=True):
    """A look that is in doubt, and the record that it contradicts (None: how it entered).

    `message` says what is wrong and `remedy` how it may be settled.
    """

    kind: DoubtKind
    individual: str
    record: int | None
    against: int | None
    at: datetime
    message: str
    remedy: str
    place: str

    @property
    def problem(self) -> Problem:
        """The doubt as a mistake, for those who want none."""
        return Problem(self.message, self.place, self.remedy)


def doubts_with(log: CohortLog, added: Iterable[Observation]) -> list[Doubt]:
    """The doubts in the lives of those whom new looks are of, as far as these raise them."""
    new: dict[str, list[Observation]] = {}
    for each in added:
        new.setdefault(each.individual, []).append(each)
    warmth = warmest(log)
    found: list[Doubt] = []
    for code, looks in new.items():
        individual, known = log.by_code[code], log.checks[code]
        checks = sorted([*known, *looks], key=time_order)
        before = [each.message for each in doubts_of_life(log, individual, known, warmth)]
        for doubt in doubts_of_life(log, individual, checks, warmth):
            if doubt.message in before:
                before.remove(doubt.message)
            else:
                found.append(doubt)
    return found


def all_doubts(log: CohortLog, codes: Container[str] | None = None) -> list[Doubt]:
    """All doubts in a log, or in the lives of some in it, by individual and time."""
    warmth = warmest(log)
    return [
        doubt
        for each in log.individuals
        if codes is None or each.code in codes
        for doubt in doubts_of_life(log, each, log.checks[each.code], warmth)
    ]


def doubts_of_life(
    log: CohortLog, individual: Individual, checks: Sequence[Observation], warmth: Warmth
) -> list[Doubt]:
    """The looks of an individual, in time order, that contradict another one.

    All others contradict one before them; eggs may be in doubt by a sex that was seen later.
    """
    profile = log.cohort.species
    jumps = [
        _doubt(DoubtKind.NO_TIME, each.look, each.before, each.problem.message, each.problem.remedy)
        for each in jumps_of(profile, individual, checks, warmth)
    ]
    return [
        *_after_the_end(checks),
        *_earlier_stages(profile, individual, checks),
        *_left_out(profile, individual, checks),
        *jumps,
        *_both_sexes(checks),
        *_of_eggs(log, individual, checks),
    ]


def _doubt(
    kind: DoubtKind, check: Observation, against: Observation | None, message: str, remedy: str
) -> Doubt:
    other = against.number if against is not None else None
    place = named(check)
    return Doubt(kind, check.individual, check.number, other, check.at, message, remedy, place)


def _after_the_end(checks: Iterable[Observation]) -> Iterator[Doubt]:
    """What says the end once more and tells which eggs hatched since speaks of these alone."""
    end: Observation | None = None
    for check in checks:
        if end is None:
            end = check if check.fate is not None else None
        elif check.fate != end.fate or (check.at > end.at and check.hatched is None):
            message = f"it is {end.fate} since {stamp(end.at)}"
            yield _doubt(DoubtKind.AFTER_THE_END, check, end, message, _amend(end, check))


def _earlier_stages(
    profile: Profile, individual: Individual, checks: Iterable[Observation]
) -> Iterator[Doubt]:
    stage, since, highest = individual.stage, individual.entered_at, None
    for check in checks:
        if check.stage is None:
            continue
        if profile.rank[check.stage] < profile.rank[stage]:
            remedy = _amend(highest, check) if highest else "so it entered"
            message = f"{check.stage} comes before {stage}, which it was in at {stamp(since)}"
            yield _doubt(DoubtKind.EARLIER_STAGE, check, highest, message, remedy)
        else:
            stage, since, highest = check.stage, check.at, check


def _left_out(
    profile: Profile, individual: Individual, checks: Iterable[Observation]
) -> Iterator[Doubt]:
    """`witnessed` says that the passage was seen, so no stage should be missing before it."""
    rank, before = profile.rank[individual.stage], None
    for check in checks:
        if check.stage is None:
            continue
        reached = profile.rank[check.stage]
        between = [each for each in profile.stages[rank + 1 : reached] if not each.optional]
        if check.witnessed and between and check.fate is None:
            never = between[0].code
            message = f"the passage into {check.stage} was seen, but it was never in {never}"
            remedy = REMEDIES[DoubtKind.STAGE_LEFT_OUT]
            yield _doubt(DoubtKind.STAGE_LEFT_OUT, check, before, message, remedy)
        rank, before = max(rank, reached), check if reached >= rank else before


def _both_sexes(checks: Iterable[Observation]) -> Iterator[Doubt]:
    """A sex other than the one noted last before it."""
    before: Observation | None = None
    for check in checks:
        if check.sex is None:
            continue
        if before is not None and check.sex != before.sex:
            message = f"sex={check.sex}, and it was sex={before.sex} at {stamp(before.at)}"
            yield _doubt(DoubtKind.BOTH_SEXES, check, before, message, _amend(before, check))
        before = check


def _of_eggs(
    log: CohortLog, individual: Individual, checks: Sequence[Observation]
) -> Iterator[Doubt]:
    """Eggs of one that was no adult yet or is a male elsewhere, more hatched than were laid, and
    eggs that two observers tell of one moment.

    What hatches after it came into a cage is left out of the second, for it is of all in it; and
    eggs of a cage are in doubt only where all that live in it are males. Who was noted as both
    sexes is in doubt for that, and its eggs are not.
    """
    counted = [each for each in checks if (each.eggs, each.hatched) != (None, None)]
    if not counted:
        return
    noted = [each for each in checks if each.sex is not None]
    male = noted[0] if {each.sex for each in noted} == {"m"} else None
    known = {ALONE, *codes_by_name(log)} if any(each.mate for each in checks) else {ALONE}
    caged = next((one.at for one in checks if one.mate and one.mate.casefold() not in known), None)
    stage, since, shown = individual.stage, individual.entered_at, None
    laid = hatched = 0
    before: Observation | None = None
    for check in checks:
        if check.stage is not None:
            stage, since, shown = check.stage, check.at, check
        if (check.eggs, check.hatched) == (None, None):
            continue
        if check.stage is None and kind_of(stage) is not StageKind.ADULT:
            message = f"eggs of one that was {stage} at {stamp(since)}"
            remedy = REMEDIES[DoubtKind.EGGS_OF_THE_YOUNG]
            yield _doubt(DoubtKind.EGGS_OF_THE_YOUNG, check, shown, message, remedy)
        if male is not None and (
            caged is None or check.at <= caged or _among_males(log, individual.code, check.at)
        ):
            message = f"eggs of one that is a male by the look of {stamp(male.at)}"
            yield _doubt(DoubtKind.EGGS_OF_A_MALE, check, male, message, _amend(male, check))
        laid, hatched = laid + (check.eggs or 0), hatched + (check.hatched or 0)
        if check.hatched and hatched > laid and (caged is None or check.at <= caged):
            message = f"{hatched} eggs hatched, and {laid} were laid by then"
            remedy = REMEDIES[DoubtKind.MORE_HATCHED]
            yield _doubt(DoubtKind.MORE_HATCHED, check, None, message, remedy)
        if before is not None and before.at == check.at and _count_the_same(before, check):
            message = f"eggs of {stamp(check.at)} are told already, and would count twice"
            yield _doubt(DoubtKind.COUNTED_TWICE, check, before, message, _amend(before, check))
        before = check


def _among_males(log: CohortLog, code: str, at: datetime) -> bool:
    """Whether all living ones in the cage of a male were noted as males; so they are in no cage."""
    living, where = set(log.alive_at(at)), kept_at(log, at)
    here = where.get(code)
    return (
        here is None
        or not here.cage
        or all(
            {each.sex for each in log.checks[other] if each.sex is not None} == {"m"}
            for other, kept in where.items()
            if kept.by == here.by and other != code and other in living
        )
    )


def _count_the_same(one: Observation, other: Observation) -> bool:
    return any(None not in (getattr(one, each.name), getattr(other, each.name)) for each in COUNTS)


def _amend(earlier: Observation, later: Observation) -> str:
    """What to do about two looks that contradict each other: either may be the mistake."""
    numbers = [f"@{each.number}" for each in (earlier, later) if each.number is not None]
    if not numbers:
        return f"it was said to be {said(earlier)}: look at both again"
    return f"strike out {' or '.join(numbers)}, whichever was the mistake"
