"""What became of everyone, for those who know none of the trade's words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from rearlog.analysis.forecasting.forecast import Forecast
from rearlog.analysis.stages.progress import IndividualProgress, Progress
from rearlog.analysis.survival.survival import Survival
from rearlog.drawings.stages import picture
from rearlog.records.entries import shortened
from rearlog.records.fates import Fate
from rearlog.records.forms import StageKind, kind_of
from rearlog.records.profile import Profile
from rearlog.sentences import survival as survival_words
from rearlog.sentences.phrases import (
    is_are,
    listed,
    long_date,
    plural,
    sentence_case,
    short_date,
    was_were,
)

MOST_CAUSES = 6
"""More causes of death than these are not told in a line."""
LONGEST_NAME = 24
"""Longer names of cohorts are shortened within the sentence."""

_GROWN: dict[str | None, str] = {
    "butterfly": "butterflies",
    "moth": "moths",
    "beetle": "beetles",
    "ladybird": "ladybirds",
    "fly": "flies",
}
"""What many of a shape are called."""


def grown(species: Sequence[Profile]) -> str:
    """What the animals have become at the end, in the plural: butterflies, moths, adults."""
    found = set()
    for each in species:
        last = picture(each, each.codes[-1])
        found.add(_GROWN.get(last.shape, plural(last.stage.code)))
    return found.pop() if len(found) == 1 else "adults"


def course(species: Profile) -> str:
    """What the stages are, in a sentence."""
    young = [each for each in species.codes if kind_of(each) in (StageKind.LARVA, StageKind.NYMPH)]
    first, last = species.stages[0].name, species.stages[-1].name
    text = f"From {first} to {last}"
    if len(young) > 1:
        text += f": from {young[0]} to {young[-1]} it grows, and sheds its skin after each"
    return f"{text}. The drawings are magnified; beneath each stands how large it is."


def lead(courses: Sequence[Progress], coming: Sequence[Forecast], become: str) -> str:
    """The one sentence of a page: how many have become what, and when.

    `coming` are the forecasts of the cohorts in which somebody is still to come; `become` is what
    grown ones are called.
    """
    n = sum(len(each.individuals) for each in courses)
    reached = sum(each.reached for each in courses)
    if not n:
        return "No animals are in it yet."
    if not any(each.last_check for each in courses):
        begun = min(each.clock.day_after(0.0) for each in courses)
        who = "1 animal is" if n == 1 else f"{n} animals are"
        them = "it" if n == 1 else "them"
        return f"{who} under watch since {_day(begun)}; nobody has looked at {them} yet."
    outlook = _outlook(coming, reached, become)
    if outlook:
        so_far = f"{reached} of {n} are {become} by now; " if reached else ""
        return sentence_case(f"{so_far}{outlook}.")
    if reached:
        who = f"All {n}" if reached == n > 1 else f"{reached} of {n}"
        return f"{who} became {become}, {_when(courses)}."
    looked = max(each.clock.day_after(each.last_check) for each in courses)
    alive = sum(count.n for each in courses for count in each.alive)
    if alive:
        stages = dict.fromkeys(count.stage for each in courses for count in each.alive)
        return f"On {_day(looked)}, {alive} of {n} were alive, in {listed(list(stages))}."
    return f"None of the {n} became adult; they were last looked at on {_day(looked)}."


def _outlook(coming: Sequence[Forecast], reached: int, become: str) -> str | None:
    """When half of those to come should be there, in one cohort or from one to another; None where
    no day is known."""
    last = [(each.last_event, each) for each in coming]
    known = sorted(
        (event.likely, each.cohort)
        for event, each in last
        if event and event.into == each.last_stage and event.likely and not event.overdue
    )
    if not known:
        return None
    who = "half of the others" if reached else "half of them"
    (first, sooner), (final, later) = known[0], known[-1]
    if first == final:
        return f"{who} should be {become} by {_day(first)}"
    names = (shortened(each, LONGEST_NAME) for each in (sooner, later))
    days = (f"{_day(day)} in {name}" for day, name in zip((first, final), names, strict=True))
    return f"{who} should be {become} by {' to '.join(days)}"


def when(course: Progress) -> str:
    """The first and the last day on which grown ones were found; empty before there are any."""
    return f"{sentence_case(_when([course]))}." if course.reached else ""


def _when(courses: Sequence[Progress]) -> str:
    """The first and the last day on which grown ones were found."""
    firsts = [
        each.clock.day_after(each.first_reached)
        for each in courses
        if each.first_reached is not None
    ]
    lasts = [
        each.clock.day_after(each.last_reached) for each in courses if each.last_reached is not None
    ]
    first, last = min(firsts), max(lasts)
    if first == last:
        return f"by {_day(last, year=True)}"
    begin = _day(first, year=first.year != last.year)
    return f"the first by {begin} and the last by {_day(last, year=True)}"


def _day(day: date, *, year: bool = False) -> str:
    """A day in full, with its year where it is told when things were."""
    return f"{long_date(day)} {day.year}" if year else long_date(day)


_ENDS = {
    Fate.DEAD: "found dead on",
    Fate.LOST: "lost by",
    Fate.REMOVED: "taken out alive on",
}


def of_one(course: Progress, one: IndividualProgress) -> str:
    """The life of an individual, in a line: by when it had come into each stage, and its end."""
    days = course.clock.day_after
    first, *later = one.spans
    parts = [
        first.stage,
        *(f"{each.stage} by {short_date(days(each.begin_high))}" for each in later),
    ]
    end = short_date(days(one.spans[-1].end_high))
    if one.fate is None:
        parts.append(f"alive on {end}")
    else:
        cause = f" ({one.cause})" if one.cause else ""
        parts.append(f"{_ENDS[Fate(one.fate)]} {end}{cause}")
    return f"{one.individual} in {course.cohort}: {', '.join(parts)}."


SOME_DIE = "Not all insects live to be grown, wherever they grow up."
"""What is said beside numbers of the dead."""


GROWING = "still growing"


def growing(survival: Survival) -> int:
    """How many are alive and not grown up."""
    return survival_words.not_grown(survival).growing


def heading(found: Sequence[Survival]) -> str:
    """What stands above the numbers of all cohorts."""
    return "How they are" if any(map(growing, found)) else "What became of them"


def others(survival: Survival, become: str, *, growing_told: bool = False) -> str:
    """What became of those that have not grown up, in plain words; empty where all have.

    `growing_told`: how many are growing stands elsewhere.
    """
    found = survival_words.not_grown(survival)
    told = []
    if (n := found.growing) and not growing_told:
        told.append(f"{n} {is_are(n)} {GROWING}")
    if n := found.died:
        who = "it" if n == 1 else "they"
        died = f"{n} died before {who} could become {_one_of(become, n)}"
        causes = survival_words.causes(survival)
        noted = any(each.cause for each in survival.causes) and len(causes) <= MOST_CAUSES
        told.append(f"{died}: {', '.join(causes)}" if noted else died)
    if n := found.lost:
        told.append(f"{n} got lost, and nobody knows what became of {'it' if n == 1 else 'them'}")
    if n := found.removed:
        told.append(f"{n} {was_were(n)} taken out alive")
    return f"{sentence_case('; '.join(told))}." if told else ""


def _one_of(become: str, n: int) -> str:
    """What grown ones are called, of one or of many."""
    if n != 1:
        return become
    one = {many: f"a {single}" for single, many in _GROWN.items()}
    return one.get(become, "adult")
