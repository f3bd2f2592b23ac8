"""Forecasts, days and what is due that are made up, with round dates: every verdict that there is.

As of Monday 9 March 2026. Nothing is worked out here: what is said of them can be held beside the
numbers that stand below.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, timedelta

from msgspec.structs import replace

from rearlog.analysis.forecasting.deadline import Aim, Deadline
from rearlog.analysis.forecasting.due import Due, DueEvent, Next, NextEvents, NotSeen, When
from rearlog.analysis.forecasting.emergence import EmergenceDay
from rearlog.analysis.forecasting.forecast import EventForecast, Forecast, StagePace
from rearlog.analysis.forecasting.future_temperature import TemperatureBasis
from rearlog.analysis.forecasting.notices import NoLengthKnown
from rearlog.analysis.stages.events import StageCount

TODAY = date(2026, 3, 9)
LATELY = TemperatureBasis(20.0, False, None, None, 7, 0.0)


def day(later: int) -> date:
    return TODAY + timedelta(later)


def deadlines() -> Iterator[tuple[str, Deadline]]:
    """What there is to say of a day by which they should be out, each with what it is."""
    laid, warm = Aim(0.5, 21.0, TODAY), Aim(0.95, 24.0, day(-1))
    cold = (Aim(0.5, None, None), Aim(0.95, None, day(-8)))
    made = Deadline("a", TODAY, day(30), "eclosion", 12, 20.0, LATELY, 28.5, (laid, warm), ())
    yield "half and nearly all", made
    yield "nearly all first", replace(made, aims=(warm, laid), n=1)
    yield "warmer than is safe", replace(made, aims=cold)
    yield "nobody is to come", replace(made, n=0, aims=cold)


def event(
    n: int = 12, *, came: int = 0, first: int = 1, into: str = "adult", overdue: bool = False
) -> EventForecast:
    """What should begin so many days from now, half of it a week and all of it two weeks later."""
    return EventForecast(
        "eclosion", into, day(first), day(first + 7), day(first + 14), n, came, overdue
    )


def coming(name: str, *events: EventForecast, came: Sequence[int | None] = ()) -> Forecast:
    """A cohort with such events to come, of which so many had come on each of the last days, None
    where that is not known."""
    been = [
        EmergenceDay(day(place - len(came)), None, None, None, n) for place, n in enumerate(came)
    ]
    return Forecast(
        name, "Moth test", TODAY, datetime(2026, 3, 9, 12, tzinfo=UTC), 20.0, LATELY,
        "degree-days", (), events, (), 0.9, 1.0, 0, "adult", tuple(been), day(-1), 12, (),
    )  # fmt: skip


def forecasts() -> Iterator[tuple[str, list[Forecast]]]:
    """What there is to say of what is to come, in one cohort or beside each other."""
    yield "one that is to come", [coming("a", event(1))]
    yield "two", [coming("a", event(2, came=3), came=[1, 3])]
    yield "into another stage", [coming("a", event(12, into="pupa"))]
    yield "half should have come", [coming("a", event(first=-8))]
    yield "half should come today", [coming("a", event(first=-7))]
    for n in (1, 2):
        late = coming("a", event(n, first=-15, overdue=True))
        yield f"late, {n}", [late]
        yield f"late, {n}, into a pupa", [coming("a", event(n, first=-15, into="L3", overdue=True))]
        yield f"never looked at, {n}", [replace(late, last_look=None, alive=n)]
        yield f"looked at, {n}", [replace(late, alive=n)]
    yield "one has come", [coming("a", came=[0, 1])]
    yield "two have come", [coming("a", came=[1, 2])]
    yield "nobody is to come", [coming("a")]
    yield "nobody has come", [coming("a", came=[0, 0])]
    yield "one has come, and then who knows", [coming("a", came=[1, None])]
    unknown = coming("a", event(), came=[2])
    yield "no length is known", [replace(unknown, notices=(NoLengthKnown(),))]
    never = replace(event(), earliest=None, likely=None, latest=None)
    yield "no day is known", [replace(unknown, events=(never,))]
    told = coming("a", event())
    yield (
        "adjusted",
        [replace(told, paces=(StagePace("L1", 30.0, 33.0, 1.0, 2),), spread=1.26, past_cohorts=1)],
    )
    warm = replace(LATELY, celsius=22.04)
    b = replace(
        coming("b", event(first=3)), temperature=22.04, temperature_basis=warm, as_of=day(1)
    )
    yield "two as warm", [told, coming("b", event(first=3))]
    yield "two, not as warm", [told, b]
    yield "one late, one to come", [coming("a", event(first=-15, overdue=True)), b]
    yield "two late", [coming(name, event(first=-15, overdue=True)) for name in "ab"]
    several = [
        replace(
            coming(name, event(first=place)),
            temperature=20.04 + place,
            temperature_basis=replace(LATELY, celsius=20.04 + place),
            as_of=day(place),
        )
        for place, name in enumerate("abcde")
    ]
    yield "four", several[:4]
    yield "five", several
    yield "five of which one is not known", [*several[:4], replace(several[4], temperature=None)]
    yield "five of which none is known", [
        replace(each, temperature=None, temperature_basis=basis)
        for each, basis in zip(several, (None, *[LATELY] * 4), strict=True)
    ]  # fmt: skip


def due_event(
    code: str, kind: str, when: When, *, latest: int = 2, overdue: float | None = None
) -> DueEvent:
    return DueEvent(
        code, "egg", kind, "L1", when, day(latest - 3), day(latest - 1), day(latest), overdue
    )


def dues() -> Iterator[tuple[str, list[Due]]]:
    """What there is to say of what is due, in one cohort or in several."""

    def made(name: str, to_come: NextEvents | None, *events: DueEvent) -> Due:
        late = sum(each.overdue_days is not None for each in events)
        return Due(
            name, "Moth test", TODAY, 3, (StageCount("egg", 3),), late, to_come, events, (), (),
            (), (), (),
        )  # fmt: skip

    def later(after: int) -> NextEvents:
        return NextEvents(Next.LATER, (("eclosion", 1),), day(after))

    unforeseen, nothing = NextEvents(Next.UNFORESEEN), NextEvents(Next.NOTHING)
    late = due_event("1", "hatch", When.OVERDUE, overdue=2.0)
    yield "not foretold", [made("a", unforeseen)]
    yield "neither foretold", [made("a", unforeseen), made("b", unforeseen)]
    yield "one not foretold, one at its end", [made("a", unforeseen), made("b", nothing)]
    yield "one later than the other", [made("a", later(9)), made("b", later(8))]
    yield "both on a day", [made("b", later(9)), made("a", later(9)), made("c", nothing)]
    both = NextEvents(Next.NEAR, (("eclosion", 1), ("pupation", 2)), day(2))
    yield "some soon", [made("a", both)]
    yield "some today", [made("a", replace(both, by=TODAY))]
    for count in (1, 4, 5):
        yield f"late in {count}", [made(name, None, late) for name in "abcde"[:count]]
        due = due_event("2", "molt to L2", When.DUE)
        yield f"due in {count}", [made(name, later(2), due) for name in "abcde"[:count]]
    unseen = [NotSeen("1", "egg", day(-3), 3), NotSeen("2", "egg", day(-5), 5)]
    seldom = replace(made("a", None, late), not_seen=tuple(unseen))
    yield "not looked at for some days", [seldom]
    yield "not looked at since a day", [replace(seldom, not_seen=tuple(unseen[:1]))]
    for overdue in (0.0, 0.5, 1.0, 2.0):
        waiting = due_event("1", "hatch", When.OVERDUE, latest=-1, overdue=overdue)
        yield (
            f"overdue for {overdue} days of a window that ended yesterday",
            [made("a", None, waiting, due_event("2", "hatch", When.SOON, latest=9))],
        )
