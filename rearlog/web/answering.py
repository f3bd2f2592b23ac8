"""What pages with answers have in common: options, files to keep, words that fit a browser."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar
from urllib.parse import urlencode

from flask import Response
from markupsafe import Markup
from msgspec import Struct
from msgspec.structs import replace
from werkzeug.datastructures import MultiDict

from rearlog.analysis.heat.methods import CUTOFFS, METHODS
from rearlog.exchange.typed_temperatures import celsius_of
from rearlog.notebook import HeatOptions
from rearlog.present.pictures import ChartOnPage
from rearlog.present.tables import Table
from rearlog.records import times
from rearlog.records.command_text import in_browser
from rearlog.records.errors import Problem, UsageError
from rearlog.records.factors import OF_INDIVIDUALS
from rearlog.records.log import Cohort
from rearlog.sentences.in_doubt import resting_on
from rearlog.web.forms import whole

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from rearlog.charts.style import Style
    from rearlog.web.shelf import Shelf

T = TypeVar("T")

FORMS = {
    "png": "image/png",
    "svg": "image/svg+xml",
    "pdf": "application/pdf",
    "csv": "text/csv; charset=utf-8",
    "json": "application/json",
}
"""What can be kept as a file, by the ending of its name."""

PICTURES = ("png", "svg", "pdf")

PAPERS = {
    "tex": ("latex", "application/x-tex; charset=utf-8"),
    "md": ("markdown", "text/markdown; charset=utf-8"),
    "html": ("html", "text/html; charset=utf-8"),
}
"""The forms of a table for a paper, and what they are, by the ending of its name."""


class Asked(Struct, frozen=True):
    """What somebody chose of the options of an answer; None and empty: the usual."""

    first: str | None = None
    until: str | None = None
    by: str | None = None
    celsius: float | None = None
    as_of: datetime | None = None
    interval: int | None = None
    day: date | None = None
    within: float | None = None
    past: tuple[Path, ...] = ()
    heat: HeatOptions = HeatOptions()


def read_options(
    groups: Sequence[str],
    args: MultiDict[str, str],
    cohort: Cohort | None,
    at_present: datetime,
    shelf: Shelf,
) -> Asked:
    """The options of these groups, of a request; raises UsageError with all that are wrong."""
    told = {name: value.strip() for name, value in args.items() if value.strip()}
    problems: list[Problem] = []

    def read(name: str, place: str, value: Callable[[str], T]) -> T | None:
        try:
            return value(told[name]) if name in told else None
        except UsageError as error:
            problems.extend(replace(each, place=place) for each in error.problems)
            return None

    asked: dict[str, Any] = {}
    if "span" in groups:
        asked |= {"first": told.get("from"), "until": told.get("to")}
    if "by" in groups:
        asked["by"] = read("by", "each group by itself", lambda text: _one_of(text, OF_INDIVIDUALS))
    if "factor" in groups:
        asked["by"] = told.get("by")
    if "to_come" in groups:
        asked["celsius"] = read("temp", "temperature to come", _celsius)
    if "as_of" in groups and cohort is not None:
        zone, usual = cohort.zone, cohort.check_time
        asked["as_of"] = read(
            "as-of", "as of", lambda text: times.meant(text, zone, usual, at_present)
        )
    if "interval" in groups:
        asked["interval"] = read("interval", "windows", lambda text: _whole(text, 50, 99))
    if "day" in groups:
        asked["day"] = read("day", "day", lambda text: times.day_to_come(text, at_present.date()))
    if "within" in groups:
        asked["within"] = read("within", "minutes", lambda text: float(_whole(text, 0, 1440)))
    if "past" in groups:
        known = set(shelf.names())
        asked["past"] = tuple(shelf.path(name) for name in args.getlist("past") if name in known)
    if "heat" in groups:
        lower = read("lower", "lower threshold", _celsius)
        upper = read("upper", "upper threshold", _celsius)
        method = read("method", "how a day counts", lambda text: _one_of(text, METHODS))
        cutoff = read("cutoff", "above the upper", lambda text: _one_of(text, CUTOFFS))
        asked["heat"] = HeatOptions(lower, upper, method, cutoff or CUTOFFS[0])
    if problems:
        raise UsageError(problems)
    return Asked(**asked)


def _celsius(text: str) -> float:
    return celsius_of(text, None)


def _one_of(text: str, known: Sequence[str]) -> str:
    if text not in known:
        raise UsageError(f"“{text[:40]}” is none of {', '.join(known)}")
    return text


def _whole(text: str, least: int, most: int) -> int:
    found = whole(text)
    if found is None or not least <= found <= most:
        raise UsageError(f"“{text[:40]}” is not a number from {least} to {most}")
    return found


def attachment(content: bytes, name: str, kind: str) -> Response:
    """A file that the browser keeps; `name` is ours or a cohort's, never a text of a request."""
    answer = Response(content, content_type=kind)
    answer.headers.set("Content-Disposition", "attachment", filename=name)
    return answer


def query_of(args: MultiDict[str, str], **instead: str) -> str:
    """What was asked, for a link that asks the same, with other values of some."""
    asked = [each for each in args.items(multi=True) if each[0] not in instead]
    return urlencode([each for each in (*asked, *instead.items()) if each[1]])


def as_said_here(sentence: str) -> str:
    """A sentence of an answer as a page says it, with its full stop."""
    text = in_browser(sentence)
    return text if text.endswith((".", ":")) else f"{text}."


def doubts_about(contradicted: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    """On whose contradicting looks an answer rests, by cohort, as a page says it."""
    return tuple(map(as_said_here, resting_on(contradicted)))


def beside(tables: Iterable[Table], said: Sequence[str]) -> list[Table]:
    """Tables whose notes do not say again what the page has said, and name no command."""
    return [
        replace(
            each,
            words=[
                text for text in map(as_said_here, filter(None, each.words)) if text not in said
            ],
        )
        for each in tables
    ]


def picture(kind: str, draw: Callable[[Style], Figure], alt: str) -> ChartOnPage:
    """A chart as `draw` makes it, for wide screens and for phones."""
    from rearlog.charts.output import on_page  # start-up time: matplotlib
    from rearlog.charts.style import LOOKS, PAGE

    wide, narrow = (
        Markup(on_page(draw(look), f"{kind}-{which}-"))
        for which, look in (("w", PAGE), ("n", LOOKS["phone"]))
    )
    return ChartOnPage(kind, wide, narrow, alt)


class Divided(Struct, frozen=True):
    """An answer as a page divides it: `tables` for everybody, more `words` and the `full` tables
    where they are opened. Nothing is said twice."""

    tables: tuple[Table, ...]
    words: tuple[str, ...]
    full: tuple[Table, ...]


def divided(lead: str, words: Iterable[str], tables: Iterable[Table]) -> Divided:
    """What stands beneath the sentence that an answer opens with."""
    shown = [each for each in tables if each.rows]
    first = beside((each for each in shown if not each.full), [lead])
    said = {lead, *(text for each in first for text in each.words)}
    more = tuple(each for each in map(as_said_here, words) if each not in said)
    full = beside((each for each in shown if each.full), [*said, *more])
    return Divided(tuple(first), more, tuple(full))
