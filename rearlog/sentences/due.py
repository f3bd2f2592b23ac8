"""What is due in a cohort, in a line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta
from itertools import groupby

from rearlog.analysis.forecasting.due import Due, Next, NextEvents, NotSeen, When
from rearlog.analysis.forecasting.future_temperature import (
    NoTemperatureOnRecord,
    NoTemperatureSince,
)
from rearlog.analysis.forecasting.notices import ForecastNotice, NoLengthKnown
from rearlog.analysis.heat.gap_filling import TemperatureGaps
from rearlog.records.fates import Fate
from rearlog.records.wording import spelled, weekday
from rearlog.sentences.phrases import (
    MOST_NAMED,
    cohorts_named,
    counted_in,
    in_a_sentence,
    is_are,
    listed,
    long_date,
    plural,
    there,
    was_were,
)
from rearlog.sentences.texts import Texts

MENDABLE = (TemperatureGaps, NoTemperatureSince, NoTemperatureOnRecord, NoLengthKnown)

RELEASED = "released"
"""The cause of leaving that is offered for those that were set free."""

_VERBS = {"pupation": "pupate", "eclosion": "emerge"}


def summary(found: Due) -> str:
    """Who is alive, overdue and not looked at, and what is to come next."""
    if found.stages:
        return "; ".join(_parts(found))
    return f"Nobody is left: {ended(found)}." if found.ended else "Nobody is in it yet."


def lead(found: Sequence[Due]) -> str:
    """What is the most urgent of what is due in some cohorts, and on which day."""
    alive = [each for each in found if each.stages]
    day = long_date(found[0].as_of)
    if not alive:
        (first, *others) = found
        if not others:
            return f"Nothing is due in {first.cohort}, for {in_a_sentence(summary(first))}"
        return f"Nothing is due: nobody is left in {_any(found)}."
    late = [each for each in alive if each.overdue]
    if late:
        counts = [f"{each.overdue} in {each.cohort}" for each in late]
        n = sum(each.overdue for each in late)
        return f"On {day} {n} {is_are(n)} overdue{_where(counts)}; look there first."
    due = {each.cohort: sum(one.when is When.DUE for one in each.events) for each in alive}
    if n := sum(due.values()):
        counts = [f"{count} in {name}" for name, count in due.items() if count]
        kinds = dict.fromkeys(
            _verb(one.event.partition(" ")[0])
            for each in alive
            for one in each.events
            if one.when is When.DUE
        )
        return f"On {day} nobody is overdue, and {n} may {' or '.join(kinds)}{_where(counts)}."
    # what is to come is known of all, as nobody is overdue
    to_come = [(there(each.next), each.cohort) for each in alive]
    coming = [(there(each.by), each.events, name) for each, name in to_come if each.events]
    if not coming:
        if all(each.what is Next.UNFORESEEN for each, _ in to_come):
            return f"What is due on {day} cannot be foretold in {_any(alive)}."
        return f"On {day} nothing is due in {_any(alive)}."
    by, ((event, _), *_), where = min(coming, key=lambda each: each[0])
    return f"On {day} nothing is due; the next should {_verb(event)} by {long_date(by)} in {where}."


def _where(counts: Sequence[str]) -> str:
    """In which cohorts how many; in a single one, where it is."""
    if len(counts) == 1:
        return f" {counts[0].partition(' ')[2]}"
    return f" in {len(counts)} cohorts" if len(counts) > MOST_NAMED else f": {listed(counts)}"


def _any(found: Sequence[Due]) -> str:
    return cohorts_named([each.cohort for each in found])


def ended(found: Due) -> str:
    """What became of those that are no longer under watch: 17 adults were released, 6 died."""
    gone: dict[tuple[str, str], int] = {}
    died = lost = 0
    for each in found.ended:
        if each.fate is Fate.DEAD:
            died += each.n
        elif each.fate is Fate.LOST:
            lost += each.n
        else:
            key = each.stage, _taken(each.cause)
            gone[key] = gone.get(key, 0) + each.n
    parts = [f"{counted_in(n, stage)} {was_were(n)} {how}" for (stage, how), n in gone.items()]
    if died:
        parts.append(f"{died} died")
    if lost:
        parts.append(f"{lost} {was_were(lost)} lost")
    return listed(parts)


def _taken(cause: str | None) -> str:
    """How somebody left: released where the record says so, else what it says."""
    if cause is None:
        return "taken out or released"
    return "released" if cause == RELEASED else f"taken out ({cause})"


def notices(found: Due) -> tuple[str, ...]:
    """What a reader should know of it."""
    return _noticed(found, found.notices)


def to_mend(found: Due) -> tuple[str, ...]:
    """Those of the notices that somebody can do something about: temperatures that are missing,
    and a species of which nothing is known."""
    return _noticed(found, [each for each in found.notices if isinstance(each, MENDABLE)])


def _noticed(found: Due, chosen: Sequence[ForecastNotice]) -> tuple[str, ...]:
    if not chosen:
        return ()
    from rearlog.sentences.notices import noticed  # start-up time

    return noticed(chosen, found.cohort)


def forgotten(found: Due, order: Sequence[str]) -> Iterator[str]:
    """Who was not looked at since when."""
    for last_seen, group in groupby(found.not_seen, lambda each: each.last_seen):
        who = sorted((each.individual for each in group), key=order.index)
        yield f"Not looked at since {weekday(last_seen)}: {spelled(who, order)}."


def waits(found: Due) -> Iterator[str]:
    """Why some have a likely day for what they are overdue with since an earlier one."""
    late = [each for each in found.events if each.overdue_days is not None]
    if any(found.as_of - timedelta(int(there(each.overdue_days))) < each.latest for each in late):
        yield (
            "Overdue counts from the end of the first window; likely and between are for those who "
            "had not done it when last looked at."
        )


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
