"""Everybody in a cohort: how they are, what is in doubt, who comes in and who never was."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from datetime import date

from flask import abort, render_template, request, url_for
from flask.typing import ResponseReturnValue
from msgspec import Struct

from rearlog.charts.palette import stage_colours, text_on
from rearlog.notebook import Notebook
from rearlog.present.history import struck_words
from rearlog.records.adding import more_individuals
from rearlog.records.errors import RearlogError
from rearlog.records.fates import Fate
from rearlog.records.log import CohortLog
from rearlog.records.wording import counted, weekday
from rearlog.sentences.in_doubt import contradiction
from rearlog.web.desk import Desk
from rearlog.web.forms import done, mark, present, said, typed
from rearlog.web.pages.round_page import since
from rearlog.web.troubles import told_of

MOST_NAMED = 50
"""So many who were added are named."""


class Person(Struct, frozen=True):
    """One individual as it is shown. `state` is dead, gone (lost or taken out) or empty."""

    code: str
    stage: str
    fill: str
    ink: str
    state: str
    words: str
    container: str | None
    doubtful: bool


def everyone(desk: Desk, name: str) -> ResponseReturnValue:
    """All of them."""
    return _page(desk, name)


def change(desk: Desk, name: str) -> ResponseReturnValue:
    """Individuals are added, one is withdrawn, or that is taken back."""
    told = typed()
    ways = {"add": _add, "withdraw": _withdraw, "back": _withdraw}
    if told.get("do") not in ways:
        abort(400)
    try:
        lines = ways[told["do"]](desk, name, told)
    except RearlogError as error:
        return _page(desk, name, told, told_of(error)), 400
    return done(desk, url_for("everyone.everyone", name=name), lines)


def _page(
    desk: Desk,
    name: str,
    told: Mapping[str, str] | None = None,
    problems: list[dict[str, str]] | None = None,
) -> str:
    notebook = desk.shelf.notebook(name)
    log = notebook.log
    today = present(desk, log.cohort.zone).date()
    people = desk.shelf.kept(("people", today), [name], lambda: list(_people(desk, notebook)))
    ends = Counter(each.state for each in people)
    return render_template(
        "everyone.html.j2",
        name=name,
        tab="everyone",
        cohort=log.cohort,
        people=people,
        alive=ends[""],
        ended=len(people) - ends[""],
        doubts=[(each.individual, contradiction(each)) for each in notebook.in_doubt],
        withdrawn=[(each.code, struck_words(each.struck)) for each in log.withdrawn],
        told=defaultdict(str, told or {}),
        problems=problems or [],
        said=said(desk),
        today=today,
    )


def _people(desk: Desk, notebook: Notebook) -> Iterator[Person]:
    log = notebook.log
    now = present(desk, log.cohort.zone)
    colours = stage_colours(log.cohort.species.codes)
    names = {each.code: each.name for each in log.cohort.species.stages}
    doubtful = {each.individual for each in notebook.in_doubt}
    settled = {code for codes in notebook.contradicted.values() for code in codes}
    for code, known in notebook.states_at(now).items():
        state, seen = "", _day(known.seen.date(), now.date())
        if known.fate is not None:
            state = "dead" if known.fate == Fate.DEAD else "gone"
            words = f"{_ended(log, code, known.fate)} as {known.stage}, {seen}"
        elif log.by_code[code].entered_at > now:
            words = f"{names[known.stage]}, comes in {seen}"
        else:
            first = seen if code in settled else _day(since(log, code, now), now.date())
            words = f"{names[known.stage]} since {first}"
        fill = colours[known.stage]
        box = log.by_code[code].container
        yield Person(code, known.stage, fill, text_on(fill), state, words, box, code in doubtful)


def _day(day: date, today: date) -> str:
    told = weekday(day) + (f" {day.year}" if day.year != today.year else "")
    return told.replace(" ", "\N{NO-BREAK SPACE}")


def _ended(log: CohortLog, code: str, fate: str) -> str:
    last = next(each for each in reversed(log.checks[code]) if each.fate == fate)
    return f"{last.fate} ({last.cause})" if last.cause else f"{last.fate}"


def _add(desk: Desk, name: str, told: Mapping[str, str]) -> list[str]:
    with desk.shelf.writing(name) as file:
        header = file.outline(()).cohort
        added = more_individuals(
            header,
            present(desk, header.zone),
            ",".join(re.split(r"[,\s]+", told["codes"])),
            stage=told.get("stage") or None,
            on=told.get("on") or None,
            container=told.get("container") or None,
            clutch=told.get("clutch") or None,
            note=told.get("note") or None,
        )
        file.add_individuals(added)
    named = [each.code for each in added]
    more = " …" if len(named) > MOST_NAMED else ""
    return [f"Added {len(named)} × {added[0].stage}: {', '.join(named[:MOST_NAMED])}{more}"]


def _withdraw(desk: Desk, name: str, told: Mapping[str, str]) -> list[str]:
    back = request.form["do"] == "back"
    code = told.get("code", "")
    with desk.shelf.writing(name) as file:
        log = file.read()
        file.withdraw([code], mark(told, present(desk, log.cohort.zone), back=back))
    if back:
        return [f"Taken back: {code} counts again."]
    left = counted(len(log.checks[code]), "record")
    return [f"Withdrawn: {code}, with {left}. It is kept, and counts nowhere."]
