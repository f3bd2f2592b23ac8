"""The shelf: every cohort, who is in it, and what is to be done."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import datetime

from flask import g, redirect, render_template
from flask.typing import ResponseReturnValue
from msgspec import Struct

from rearlog.analysis.forecasting.due import Due, When
from rearlog.charts.palette import stage_colours, text_on
from rearlog.notebook import Notebook
from rearlog.present.due import Today, due_tables
from rearlog.records.errors import RearlogError
from rearlog.records.fates import Fate
from rearlog.records.log import Cohort
from rearlog.records.wording import weekday
from rearlog.sentences.due import forgotten, summary
from rearlog.web.desk import Desk
from rearlog.web.door import Role
from rearlog.web.forms import present

MOST_CUPS = 120
"""A cohort of more than so many is drawn by its stages, not one by one."""


class Cup(Struct, frozen=True):
    """One individual as it is drawn. `state` is due, overdue, unseen, dead, gone (lost or
    taken out) or empty."""

    code: str
    stage: str
    fill: str
    ink: str
    state: str
    words: str


class Bunch(Struct, frozen=True):
    """All of one stage: how many, and which part of the cohort."""

    stage: str
    n: int
    fill: str
    ink: str


class Board(Struct, frozen=True):
    """One cohort on the shelf; with `problems` it cannot be read.

    `lines` are what is due: urgency, what, who, when; `forgotten` who was not looked at, `unknown`
    the days without a temperature.
    """

    name: str
    cohort: Cohort | None = None
    day: int = 0
    summary: str = ""
    cups: tuple[Cup, ...] = ()
    bunches: tuple[Bunch, ...] = ()
    lines: tuple[tuple[str, str, str, str], ...] = ()
    forgotten: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    doubts: int = 0
    looked: int = 0
    alive: int = 0
    problems: tuple[str, ...] = ()


def shelf(desk: Desk) -> ResponseReturnValue:
    """All cohorts in the folder; a guest is shown the way to the report."""
    if g.visitor.role < Role.LOOKER:
        return redirect("/report", 303)
    boards = [board(desk, name) for name in desk.shelf.names()]
    return render_template(
        "shelf.html.j2",
        boards=boards,
        called=desk.shelf.called(),
        copies=desk.shelf.copies(),
        folder=desk.shelf.folder.name,
    )


def board(desk: Desk, name: str) -> Board:
    """A cohort as it stands now, worked out once a minute."""
    minute = int(desk.now().timestamp() // 60)
    return desk.shelf.kept(("board", minute), [name], lambda: _board(desk, name), quick=True)


def _board(desk: Desk, name: str) -> Board:
    try:
        notebook = desk.shelf.notebook(name)
        cohort = notebook.log.cohort
        now = present(desk, cohort.zone)
        due = notebook.due(now)
        day = (cohort.clock.day(now) - cohort.clock.day(cohort.started)).days
        codes = list(notebook.log.by_code)
        (_, *tables) = due_tables(Today((due,)), [codes])
        lines = tuple(
            (str(when).split(" ")[0], str(event), str(who), str(likely))
            for table in tables
            for when, event, who, likely, _ in table.rows
        )
        today = cohort.clock.day(now)
        looked = sum(
            any(cohort.clock.day(check.at) == today and check.fate is None for check in checks)
            for checks in notebook.log.checks.values()
        )
        few = len(codes) <= MOST_CUPS
        return Board(
            name,
            cohort,
            day,
            summary(due),
            tuple(cups(notebook, due, now)) if few else (),
            () if few else tuple(_bunches(notebook, due)),
            lines,
            tuple(forgotten(due, codes)),
            tuple(map(weekday, due.missing_temperatures)),
            len(due.in_doubt),
            looked,
            due.alive,
        )
    except RearlogError as error:
        return Board(name, problems=tuple(error.told()))


def cups(notebook: Notebook, due: Due, now: datetime) -> Iterator[Cup]:
    """Everybody in the order of the log."""
    log = notebook.log
    colours = stage_colours(log.cohort.species.codes)
    urgent = {each.individual: each for each in due.events}
    unseen = {each.individual: each for each in due.not_seen}
    in_doubt = {each.individual for each in due.in_doubt}
    for code, known in notebook.states_at(now).items():
        event = urgent.get(code)
        if known.fate is not None:
            state = "dead" if known.fate == Fate.DEAD else "gone"
            words = f"{known.fate} as {known.stage}"
        elif event is not None and event.when in (When.OVERDUE, When.DUE):
            state, words = str(event.when), f"{known.stage}, {event.event} {event.when}"
        elif code in unseen:
            state, words = "unseen", f"{known.stage}, not looked at for {unseen[code].days} days"
        else:
            state, words = "", known.stage
        words += ", in doubt" if code in in_doubt else ""
        fill = colours[known.stage]
        yield Cup(code, known.stage, fill, text_on(fill), state, f"{code}: {words}")


def _bunches(notebook: Notebook, due: Due) -> Iterator[Bunch]:
    colours = stage_colours(notebook.log.cohort.species.codes)
    counts = Counter({each.stage: each.n for each in due.stages})
    for stage in notebook.log.cohort.species.codes:
        if counts[stage]:
            yield Bunch(stage, counts[stage], colours[stage], text_on(colours[stage]))
