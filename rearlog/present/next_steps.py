"""What to do next in a folder of cohorts: a few steps, each with the command that does it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta
from itertools import islice

from msgspec import Struct

from rearlog.records.standing import Standing
from rearlog.records.values import LABEL
from rearlog.records.wording import counted, weekday
from rearlog.sentences.phrases import listed

MOST_STEPS = 3
_MOST_NAMED, _MOST_REPORTED = 3, 8


class NextStep(Struct, frozen=True):
    """Why something should be done now, and the commands that do it."""

    why: str
    commands: tuple[str, ...]


class OnShelf(Struct, frozen=True):
    """A cohort file by what commands call it; `standing` is None where it cannot be read."""

    called: str
    standing: Standing | None


def next_steps(
    shelf: Sequence[OnShelf], today: date, is_there: Callable[[str], bool]
) -> list[NextStep]:
    """The next three things to do, the most urgent first; `is_there` tells whether a file is."""
    steps = _of_cohorts(shelf, today, is_there) if shelf else _of_nothing()
    return [*islice(steps, MOST_STEPS)]


def _of_nothing() -> Iterator[NextStep]:
    yield NextStep(
        "Start a cohort on the day you have the eggs; “rearlog species list” says which species "
        "are known, any other starts with --stages egg,L1-L5,pupa,adult instead:",
        ("rearlog start cups --species painted-lady --eggs 6",),
    )
    yield NextStep(
        "Or open the shelf in the browser, and tap everything there:", ("rearlog serve",)
    )
    yield NextStep(
        "Or see what it makes, of an invented cohort:",
        (
            "rearlog simulate trial --species painted-lady --eggs 24 --temp 22",
            "rearlog report trial -o trial.html",
        ),
    )


def _of_cohorts(
    shelf: Sequence[OnShelf], today: date, is_there: Callable[[str], bool]
) -> Iterator[NextStep]:
    broken = [each.called for each in shelf if each.standing is None]
    if broken:
        yield NextStep(
            f"{_these(broken)} cannot be read. See what is wrong, and how to go back:",
            (f"rearlog verify {broken[0]}",),
        )
    known = [(each.called, each.standing) for each in shelf if each.standing is not None]
    unseen = [each for each in known if each[1].unseen]
    if unseen:
        unseen.sort(key=lambda each: each[1].last_seen or today)
        yield NextStep(_looking(unseen, today), (f"rearlog check {unseen[0][0]}",))
    cold = [each for each in known if each[1].without_temperature]
    if cold:
        yield _measuring(cold)
    if any(each.developing for _, each in known):
        yield NextStep(
            "Who should hatch, molt or emerge now, and who is overdue:", ("rearlog today",)
        )
        first = next(name for name, each in known if each.developing)
        yield NextStep("When the adults will come:", (f"rearlog forecast {first}",))
    over = [name for name, each in known if not each.developing]
    if over:
        yield _reporting(over, [each for _, each in known if not each.developing], is_there)
    yield NextStep("Everything else can be tapped in the browser:", ("rearlog serve",))
    yield NextStep("The next cohort:", ("rearlog start NAME --species ID --eggs N",))


def _looking(unseen: Sequence[tuple[str, Standing]], today: date) -> str:
    name, first = unseen[0]
    assert first.last_seen is not None
    days = (today - first.last_seen).days
    since = f"since {weekday(first.last_seen)}" + (f", {days} days ago" if days > 1 else "")
    nobody = first.unseen == first.to_see
    told = "nobody has looked" if nobody else f"{first.unseen} of {first.to_see} not looked at"
    others = [each for each, _ in unseen[1:]]
    more = f" ({_these(others)} {'wait' if len(others) > 1 else 'waits'} too)" if others else ""
    return f"{name}: {told} {since}{more}. Write down today's round, asked one by one:"


def _measuring(cold: Sequence[tuple[str, Standing]]) -> NextStep:
    name, first = max(cold, key=lambda each: len(each[1].without_temperature))
    days = first.without_temperature
    since = f"on {weekday(days[0])}" if len(days) == 1 else f"on {len(days)} days"
    others = [each for each, _ in cold if each != name]
    more = (
        f" ({_these(others)} {'lack' if len(others) > 1 else 'lacks'} some too)" if others else ""
    )
    how = f"rearlog temps {name} --min LOWEST --max HIGHEST --on {days[-1]}"
    begin = next(day for day in reversed(days) if day - timedelta(1) not in days)
    kept = f"rearlog temps {name} --constant DEGREES --from {begin} --to {days[-1]}"
    commands = (how,) if begin == days[-1] else (how, kept)
    return NextStep(f"{name} has no temperature {since}{more}. Write it down:", commands)


def _reporting(
    over: Sequence[str], theirs: Sequence[Standing], is_there: Callable[[str], bool]
) -> NextStep:
    adults = sum(each.alive for each in theirs)
    done = "nobody is left to develop" if adults else "all have died, or were released or lost"
    stem = over[0] if len(over) == 1 and LABEL.fullmatch(over[0]) else "report"
    force = " --force" if is_there(f"{stem}.html") else ""
    named = " ".join(over[:_MOST_REPORTED])
    return NextStep(
        f"{_these(over)}: {done}. See what came of it, on one page:",
        (f"rearlog report {named} -o {stem}.html{force}",),
    )


def _these(names: Sequence[str]) -> str:
    """Some names, and how many there are beside them."""
    named, more = names[:_MOST_NAMED], len(names) - _MOST_NAMED
    if more > 0:
        return f"{', '.join(named)} and {counted(more, 'other')}"
    return listed(named)
