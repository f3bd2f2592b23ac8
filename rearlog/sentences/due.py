"""What is due in a cohort, in a line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from rearlog.analysis.forecasting.due import Due, Next, NextEvents, NotSeen
from rearlog.records.wording import spelled, weekday
from rearlog.sentences.phrases import listed, plural
from rearlog.sentences.texts import Texts

_VERBS = {"pupation": "pupate", "eclosion": "emerge"}


def summary(found: Due) -> str:
    """Who is alive, overdue and not looked at, and what is to come next."""
    return "; ".join(_parts(found)) if found.stages else "Nobody is alive."


def notices(found: Due) -> tuple[str, ...]:
    """What a reader should know of it."""
    if not found.notices:
        return ()
    from rearlog.sentences.notices import noticed  # start-up time

    return noticed(found.notices, found.cohort)


def forgotten(found: Due, order: Sequence[str]) -> Iterator[str]:
    """Who was not looked at since when."""
    for last_seen, group in groupby(found.not_seen, lambda each: each.last_seen):
        who = sorted((each.individual for each in group), key=order.index)
        yield f"Not looked at since {weekday(last_seen)}: {spelled(who, order)}."


def _parts(found: Due) -> Iterator[str]:
    counted = ", ".join(
        f"{each.n} {each.stage if each.n == 1 else plural(each.stage)}" for each in found.stages
    )
    yield f"{found.alive} alive: {counted}"
    if found.overdue:
        yield f"{found.overdue} overdue"
        if found.not_seen:
            yield _unseen(found.not_seen)
    if found.next is not None:
        yield _to_come(found.next, found)


def _unseen(not_seen: Sequence[NotSeen]) -> str:
    """How many were not looked at, and since when: they may have done long since what is due."""
    days = {each.days for each in not_seen}
    if len(days) == 1:
        return f"{len(not_seen)} not looked at since {weekday(not_seen[0].last_seen)}"
    return f"{len(not_seen)} not looked at for {min(days)} to {max(days)} days"


def _to_come(coming: NextEvents, found: Due) -> str:
    match coming:
        case NextEvents(Next.NOTHING):
            return "nothing more is to come"
        case NextEvents(Next.LATER, ((event, _),), day) if day is not None:
            return f"the next should {_verb(event)} about {day:%A} {day.day} {day:%B}"
        case NextEvents(Next.NEAR, ((event, n), *others), day) if day is not None:
            doing = [f"{n} should {_verb(event)}", *(f"{n} {_verb(each)}" for each, n in others)]
            by = "today" if day == found.as_of else f"{day:%A}"
            return f"{listed(doing)} by {by}"
    return "nothing else can be foretold"


def _verb(event: str) -> str:
    return _VERBS.get(event, event)


TEXTS: Texts = {Due: {"summary": summary, "notices": notices}}
