"""Today's round, live: a card an individual, tapped by several people at once."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import Any

from flask import abort, g, render_template, request
from flask.typing import ResponseReturnValue
from markupsafe import Markup
from msgspec import to_builtins

from rearlog.charts.palette import stage_colours, text_on
from rearlog.notebook import Notebook
from rearlog.present.drawings import side_by_side
from rearlog.present.policy import inert_json
from rearlog.present.tap import adult_stages, causes_of, limit_of, stage_choices
from rearlog.records import times
from rearlog.records.asked_round import LastSeen, last_seen
from rearlog.records.cages import kept_at, sexes
from rearlog.records.cautions import RELEASE
from rearlog.records.clock import in_zone
from rearlog.records.errors import UsageError
from rearlog.records.fates import Fate
from rearlog.records.fields import COUNTS, MEASURES
from rearlog.records.log import CohortLog, Observation, state_at
from rearlog.records.wording import said
from rearlog.web import looks
from rearlog.web.desk import Desk
from rearlog.web.door import Role
from rearlog.web.forms import present

ON_THE_WAY = timedelta(seconds=2)
"""So long a look may be on its way: clocks that differ by less are alike."""
FARTHEST_CLOCK = timedelta(days=400)
"""A device's clock that is farther off is set right all the same; what it told of time is lost."""


def round_page(desk: Desk, name: str) -> ResponseReturnValue:
    """The cards; what stands on them is asked for by the page, again and again."""
    notebook = desk.shelf.notebook(name)
    log, profile = notebook.log, notebook.log.cohort.species
    colours = stage_colours(profile.codes)
    now, day = _present(desk, name), _day(desk, name)
    data = {
        "cohort": name,
        "now": now.isoformat(),
        "from": _beginning(log, day).isoformat() if day != now.date() else None,
        "initials": g.visitor.initials,
        "keeper": g.visitor.role is Role.KEEPER,
        "stages": [to_builtins(stage_choices(profile, code)) for code in profile.codes],
        "colours": {code: [colours[code], text_on(colours[code])] for code in profile.codes},
        "causes": {str(fate): causes_of(log, fate) for fate in Fate},
        "measures": {
            each.name: [each.title, each.unit, limit_of(profile, each)] for each in MEASURES
        },
        "counts": {each.name: [each.title, each.unit, each.most] for each in COUNTS},
        "adults": adult_stages(profile),
        "release": RELEASE,
        "photos": desk.photos,
        "state": _state(desk, name, day),
    }
    return render_template(
        "round.html.j2",
        name=name,
        cohort=log.cohort,
        data=inert_json(data),
        drawings=Markup(side_by_side(profile)),
        day=day,
        today=now.date(),
        first=log.cohort.clock.day(log.cohort.started),
        tab="round" if day == now.date() else "",
    )


def state(desk: Desk, name: str) -> ResponseReturnValue:
    """Everybody as the log has them now; nothing where the asker has that already."""
    if request.args.get("known") == desk.shelf.stamp(name):
        return "", 204
    return _state(desk, name, _day(desk, name))


def take_looks(desk: Desk, name: str) -> ResponseReturnValue:
    """Looks of a device: answered when they are on the disk."""
    told = _told()
    if not isinstance(told.get("looks"), list):
        abort(400)
    documents = told["looks"]
    if len(documents) > looks.MOST_AT_ONCE:
        abort(413)
    now = desk.now()
    telling = looks.Telling(documents, g.visitor.initials, _behind(told, now), now)
    day = _day(desk, name)
    answers = desk.shelf.write(name, telling, looks.take)
    return {
        "answers": [to_builtins(each) for each in answers],
        "state": _state(desk, name, day),
    }


def undo(desk: Desk, name: str) -> ResponseReturnValue:
    """A look was a slip of the finger."""
    told = _told()
    code, token = told.get("individual"), told.get("token")
    if not isinstance(code, str) or not isinstance(token, str):
        abort(400)
    keeper = g.visitor.role is Role.KEEPER
    with desk.shelf.writing(name) as file:
        done = looks.undo(file, code, token, g.visitor.initials, desk.now(), any_look=keeper)
    return {"undone": done, "state": _state(desk, name, _day(desk, name))}


def _told() -> dict[str, Any]:
    """What a script of ours says; whatever else comes is refused."""
    try:
        found = request.get_json(silent=True)
    except RecursionError:
        abort(400)
    if not isinstance(found, dict):
        abort(400)
    return found


def _behind(told: dict[str, Any], now: datetime) -> timedelta:
    """How far the clock of a device is behind ours, by the time at which it sent this."""
    try:
        sent = datetime.fromisoformat(str(told.get("sent")))
        behind = now - sent
    except (ValueError, TypeError, OverflowError):
        abort(400)
    if abs(behind) > FARTHEST_CLOCK:
        abort(400, "The clock of this device is more than a year off: set it first.")
    return behind if abs(behind) > ON_THE_WAY else timedelta(0)


def _present(desk: Desk, name: str) -> datetime:
    return present(desk, desk.shelf.notebook(name).log.cohort.zone)


def _day(desk: Desk, name: str) -> date:
    """The day whose round it is: today, or the one that is asked for, as when it stood on paper.

    Raises UsageError for a day before the cohort began, or to come.
    """
    today = _present(desk, name).date()
    told = request.args.get("on")
    if told is None:
        return today
    cohort = desk.shelf.notebook(name).log.cohort
    day = times.read_date(told, today)
    if not cohort.clock.day(cohort.started) <= day <= today:
        began = cohort.clock.day(cohort.started)
        raise UsageError(f"a round is of a day from {began}, when {name} began, to today")
    return day


def _beginning(log: CohortLog, day: date) -> datetime:
    """When the round of a day that is over began: at the usual time, or when the cohort did."""
    usual = times.at_clock(day, log.cohort.check_time, log.cohort.zone)
    return max(usual, in_zone(log.cohort.started, log.cohort.zone))


def _state(desk: Desk, name: str, day: date) -> dict[str, Any]:
    return desk.shelf.kept(("round", day), [name], lambda: _made(desk, name, day), quick=True)


def _made(desk: Desk, name: str, day: date) -> dict[str, Any]:
    version = desk.shelf.stamp(name)  # before it is read: what comes meanwhile is asked for again
    notebook = desk.shelf.notebook(name)
    now = _present(desk, name)
    zone = notebook.log.cohort.zone
    end = times.at_clock(day + timedelta(days=1), "00:00", zone) - timedelta(seconds=1)
    return {
        "version": version,
        "day": str(day),
        "cards": list(_cards(notebook, min(now, end))),
    }


def _cards(notebook: Notebook, now: datetime) -> Iterator[dict[str, Any]]:
    """Everybody who lives, and those whose end was seen today."""
    log = notebook.log
    today = log.cohort.clock.day(now)
    doubtful = _doubtful(notebook)
    keeping, sex = kept_at(log, now + timedelta(microseconds=1)), sexes(log)
    for code, individual in log.by_code.items():
        checks = log.checks[code]
        known = state_at(individual, checks, now)
        of_today = [each for each in checks if log.cohort.clock.day(each.at) == today]
        if individual.entered_at > now or (known.fate is not None and not of_today):
            continue
        note = next((each.note for each in reversed(checks) if each.note), None)
        yield {
            "individual": code,
            "stage": known.stage,
            "fate": known.fate,
            "since": str(since(log, code, now)),
            "unlooked": _seen(log, code, now).unlooked(log.cohort.clock),
            "container": individual.container,
            "kept": keeping[code].words if code in keeping else None,
            "cage": keeping[code].by if code in keeping and keeping[code].cage else None,
            "male": sex.get(code) == "m",
            "note": note,
            "doubt": sorted(doubtful.get(code, ())),
            "looks": [_look(each) for each in of_today],
        }


def _doubtful(notebook: Notebook) -> dict[str, set[int]]:
    found: dict[str, set[int]] = {}
    for each in notebook.in_doubt:
        records = {each.look.record, each.before.record} - {None}
        found.setdefault(each.individual, set()).update(filter(None, records))
    return found


def since(log: CohortLog, code: str, now: datetime) -> date:
    """The day on which an individual was first seen in its stage."""
    known, laid = _seen(log, code, now), log.by_code[code].laid_after
    return log.cohort.clock.day(laid if laid and known.before is None else known.since)


def _seen(log: CohortLog, code: str, now: datetime) -> LastSeen:
    return last_seen(log.by_code[code], (each for each in log.checks[code] if each.at <= now))


def _look(check: Observation) -> dict[str, Any]:
    return {
        "number": check.number,
        "token": check.token,
        "at": check.at.isoformat(),
        "by": check.by,
        "said": said(check),
        "counted": {
            each.name: value for each in COUNTS if (value := getattr(check, each.name)) is not None
        },
        "mate": check.mate,
        "same": check.same,
        "fate": check.fate,
        "photo": check.photo,
    }
