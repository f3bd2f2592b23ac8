"""Temperatures: written down by hand, taken from a text or a file, and seen on a calendar."""

from __future__ import annotations

import calendar
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta

from flask import abort, render_template, request, url_for
from flask.typing import ResponseReturnValue
from msgspec import Struct

from rearlog.analysis.heat.daily_temperatures import FILLED, RECORDED, Temperatures
from rearlog.exchange.logger_csv import LoggerOptions
from rearlog.exchange.temperature_files import read
from rearlog.exchange.temperature_words import words_of
from rearlog.exchange.typed_temperatures import celsius_of, constant_temperature, day_extremes
from rearlog.present.history import struck_words, temperature_cells
from rearlog.records import times
from rearlog.records.entries import shortened
from rearlog.records.errors import RearlogError, UsageError
from rearlog.records.log import Temperature
from rearlog.records.wording import record_name, weekday
from rearlog.store.cohort_file import CohortFile
from rearlog.web.desk import Desk
from rearlog.web.forms import (
    Filled,
    as_files,
    date_order,
    done,
    numbers,
    present,
    said,
    struck,
    typed,
    unit,
)
from rearlog.web.troubles import told_of

NAME = "temperatures"
"""What a text or a file is called that was sent, in the records and in what is wrong with it."""

MOST_KEPT_BYTES = 200_000
"""A file that was sent and refused is shown again as text, unless it is larger."""

LONGEST_SILENCE = timedelta(days=60)
"""The calendar goes on to today while somebody lives, unless nothing was written for so long."""


class Day(Struct, frozen=True):
    """A day of the calendar. `state` is recorded, filled, missing, or later: not told of yet."""

    date: date
    state: str
    low: float | None = None
    high: float | None = None
    partly: bool = False

    @property
    def words(self) -> str:
        """The day and its temperature, as it is read aloud."""
        if self.low is None or self.high is None:
            told = "missing, of some readings alone" if self.partly else "missing"
            told = "not told of yet" if self.state == "later" else told
        else:
            told = f"{self.low:.1f} to {self.high:.1f} °C"
            told += ", filled from the days beside it" if self.state == "filled" else ""
        return f"{weekday(self.date)}: {told}"


class Month(Struct, frozen=True):
    """Its name, and its weeks from Monday on; None for days of other months."""

    name: str
    weeks: tuple[tuple[Day | None, ...], ...]


def temperatures(desk: Desk, name: str) -> ResponseReturnValue:
    """The calendar, and the ways to write a temperature down."""
    return _page(desk, name, Filled({"on": request.args.get("on", "")[:40]}))


def record(desk: Desk, name: str) -> ResponseReturnValue:
    """A temperature was typed, or a text or a file was sent."""
    told = typed()
    try:
        ways = {"day": _day, "constant": _constant, "file": _file}
        if told["do"] not in ways:
            abort(400)
        with desk.shelf.writing(name) as file:
            lines = ways[told["do"]](desk, file, told)
    except RearlogError as error:
        return _page(desk, name, Filled(told, (), told_of(error))), 400
    return done(desk, url_for("temperatures.temperatures", name=name), lines)


def strike(desk: Desk, name: str) -> ResponseReturnValue:
    """Temperatures are struck out, or count again."""
    told, chosen = typed(), request.form.getlist("record")
    try:
        wanted = numbers("record")
        lines = struck(desk, name, told, temperatures=wanted, back=told["do"] == "back")
    except RearlogError as error:
        return _page(desk, name, Filled(told, chosen, told_of(error))), 400
    return done(desk, url_for("temperatures.temperatures", name=name), lines)


def _day(desk: Desk, file: CohortFile, told: Mapping[str, str]) -> list[str]:
    log = file.outline(())
    now = present(desk, log.cohort.zone)
    if not told["lowest"] or not told["highest"]:
        raise UsageError("the lowest and the highest go together")
    low, high = (celsius_of(told[each], unit(told)) for each in ("lowest", "highest"))
    wanted = [day_extremes(now, low, high, told["on"] or None)]
    return words_of(wanted, file.add_temperatures(wanted, now), log.began)


def _constant(desk: Desk, file: CohortFile, told: Mapping[str, str]) -> list[str]:
    log = file.outline(())
    now = present(desk, log.cohort.zone)
    if not told["constant"]:
        raise UsageError("which temperature is kept?")
    value = celsius_of(told["constant"], unit(told))
    first, last = told["first"] or None, told["last"] or None
    wanted = [constant_temperature(log.cohort, now, value, first, last)]
    return words_of(wanted, file.add_temperatures(wanted, now), log.began)


def _file(desk: Desk, file: CohortFile, told: defaultdict[str, str]) -> list[str]:
    content = _sent(told)
    log = file.outline(())
    now = present(desk, log.cohort.zone)
    if told["zone"]:
        times.check_zone(told["zone"])
    options = LoggerOptions(
        told["time_column"] or None,
        told["temperature_column"] or None,
        unit(told),
        date_order(told),
        told["zone"] or None,
        told["missing"] or None,
    )
    with as_files([content], NAME, told_as=_chosen()) as [path]:
        brought = read(path, log, now, options)
        records = file.add_temperatures(brought.records, now)
        lines = words_of(brought.records, records, log.began, brought)
    return [each.replace(str(path), "the file") for each in lines]


def _chosen() -> str:
    """What the file that was chosen is called, for messages alone: bounded, without its folder;
    empty where none was."""
    sent = request.files.get("file")
    name = re.split(r"[\\/]", (sent and sent.filename) or "")[-1]
    return shortened("".join(filter(str.isprintable, name)), 60)


def _sent(told: defaultdict[str, str]) -> bytes:
    """The content of the file, or else the text; what was sent is kept as text where it is one."""
    sent = request.files.get("file")
    content = sent.read() if sent is not None and sent.filename else b""
    if not content:
        if not told["text"]:
            raise UsageError("choose a file, or paste its text")
        return told["text"].encode()
    if len(content) <= MOST_KEPT_BYTES:
        told["text"] = content.decode("utf-8-sig", errors="replace").replace("\0", "")
    return content


def _page(desk: Desk, name: str, form: Filled) -> str:
    notebook = desk.shelf.notebook(name)
    log = notebook.log
    today = present(desk, log.cohort.zone).date()
    found = notebook.daily_temperatures
    last = found.dates[-1]
    if log.alive_at(present(desk, log.cohort.zone)) and today - last <= LONGEST_SILENCE:
        last = max(last, today)
    told = defaultdict(str, form.told)
    months = list(months_of(list(_days(found, last, today))))
    told["on"] = told["on"] or str(_to_tell(found, today))
    asked = " ".join(f"{each['message']} {each['remedy']}" for each in form.problems)
    return render_template(
        "temperatures.html.j2",
        name=name,
        tab="temperatures",
        cohort=log.cohort,
        told=told,
        form=form,
        said=said(desk),
        today=today,
        months=months,
        missing=[
            day
            for month in months
            for week in month.weeks
            for day in week
            if day is not None and day.date < today and day.state != "recorded"
        ],
        rows=[_row(each) for each in reversed(log.all_temperatures)],
        asks_more=any(
            word in asked
            for word in ("choose °", "day first", "zone of its clock", "column", "°C or °F")
        )
        or any(told[each] for each in ("dates", "zone", "missing", "time_column")),
    )


def _to_tell(found: Temperatures, today: date) -> date:
    """Yesterday where nobody told of it yet (a day's extremes are known when it is over)."""
    yesterday = today - timedelta(days=1)
    if yesterday not in found.dates:
        return yesterday if found.dates[0] <= yesterday else today
    told = found.status[found.dates.index(yesterday)] == RECORDED
    return today if told else yesterday


def _days(found: Temperatures, last: date, today: date) -> Iterator[Day]:
    """Every day from the first that matters to the `last`."""
    known = dict(zip(found.dates, range(len(found.dates)), strict=True))
    day = found.dates[0]
    while day <= last:
        place = known.get(day)
        if place is None:
            yield Day(day, "missing" if day < today else "later")
        elif found.status[place] in (RECORDED, FILLED):
            state = "recorded" if found.status[place] == RECORDED else "filled"
            yield Day(day, state, float(found.minimum[place]), float(found.maximum[place]))
        else:
            state = "missing" if day < today else "later"
            yield Day(day, state, partly=bool(found.sparse[place]))
        day += timedelta(days=1)


def months_of(days: Sequence[Day]) -> Iterator[Month]:
    """The months that some days lie in, the last one first."""
    told = {each.date: each for each in days}
    grid = calendar.Calendar()
    for year, month in sorted({(each.date.year, each.date.month) for each in days}, reverse=True):
        weeks = tuple(
            tuple(told.get(day) if day.month == month else None for day in week)
            for week in grid.monthdatescalendar(year, month)
        )
        shown = tuple(week for week in weeks if any(week))
        yield Month(f"{date(year, month, 1):%B} {year}", shown)


def _row(each: Temperature) -> tuple[int | None, str, str, str, str, str]:
    when, what = temperature_cells(each)
    name, crossed = record_name(each.number, "T"), struck_words(each.struck)
    return each.number, name, when, what, each.source or "", crossed
