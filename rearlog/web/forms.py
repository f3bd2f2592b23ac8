"""What forms bring, and the page that is shown after them."""

from __future__ import annotations

import contextlib
import tempfile
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path

from flask import g, redirect, request
from msgspec import Struct
from msgspec.structs import replace
from werkzeug.wrappers import Response

from rearlog.exchange.celsius import Unit
from rearlog.exchange.written_dates import DATE_ORDERS, DateOrder
from rearlog.present.history import struck_lines
from rearlog.records.clock import in_zone
from rearlog.records.errors import RearlogError, UsageError
from rearlog.records.log import Mark
from rearlog.web.desk import Desk

UNITS: dict[str, Unit] = {"C": "C", "F": "F"}


def typed() -> defaultdict[str, str]:
    """What was typed and chosen, by the names of the fields; nothing in others."""
    told = {name: value.strip() for name, value in request.form.items()}
    return defaultdict(str, told)


def whole(text: str, digits: int = 9) -> int | None:
    """The whole number that a text is, of so many digits at most; None for any other text."""
    fits = text.isascii() and text.isdecimal() and len(text) <= digits
    return int(text) if fits else None


def numbers(name: str) -> list[int]:
    """The numbers of the records that were chosen; raises UsageError where there are none."""
    chosen = request.form.getlist(name)
    if not chosen:
        raise UsageError("choose a record", "tick the box beside it")
    found = [number for each in chosen if (number := whole(each)) is not None]
    if len(found) < len(chosen):
        raise UsageError("that is not the number of a record")
    return list(dict.fromkeys(found))


class Filled(Struct, frozen=True):
    """What was typed and ticked, what is wrong with it, and what it would change (`preview`)."""

    told: Mapping[str, str] = {}
    chosen: Sequence[str] = ()
    problems: Sequence[dict[str, str]] = ()
    preview: object = None


def unit(told: Mapping[str, str]) -> Unit | None:
    """The unit that was chosen for temperatures."""
    return UNITS.get(told["unit"])


def date_order(told: Mapping[str, str]) -> DateOrder | None:
    """In which order a file has the parts of its dates, if that was chosen."""
    return next((each for each in DATE_ORDERS if each == told["dates"]), None)


def mark(told: Mapping[str, str], now: datetime, *, back: bool = False, asked: bool = True) -> Mark:
    """Who marks records, when and why; raises UsageError where `asked` and nobody says why."""
    because = told.get("because", "")
    if asked and not because:
        raise UsageError("say why", "a few words, kept with the record")
    return Mark(now, because, g.visitor.initials or None, back=back)


def struck(
    desk: Desk,
    name: str,
    told: Mapping[str, str],
    observations: Sequence[int] = (),
    temperatures: Sequence[int] = (),
    *,
    back: bool,
) -> list[str]:
    """Strike records out, or let them count again; the lines that tell it."""
    with desk.shelf.writing(name) as file:
        log = file.read()
        made = mark(told, present(desk, log.cohort.zone), back=back)
        (file.take_back if back else file.strike)(observations, temperatures, made)
    lines = struck_lines(
        [each for each in log.all_observations if each.number in observations],
        [each for each in log.all_temperatures if each.number in temperatures],
    )
    return [f"{'Counts again' if back else 'Struck out'}: {each}" for each in lines]


def present(desk: Desk, zone: str) -> datetime:
    """The present instant, as the clocks of a zone show it."""
    return in_zone(desk.now(), zone)


def done(desk: Desk, address: str, lines: Sequence[str]) -> Response:
    """Go to a page that tells what was done."""
    key = desk.said.keep(g.visitor.number, lines)
    return redirect(f"{address}?told={key}", 303)


def said(desk: Desk) -> tuple[str, ...]:
    """What was done before this page."""
    return desk.said.of(g.visitor.number, request.args.get("told", ""))


@contextlib.contextmanager
def as_files(contents: Sequence[bytes], name: str, *, told_as: str = "") -> Iterator[list[Path]]:
    """What was sent, as files for those who read files; none of them is called as the sender says.

    Problems that readers raise name the file alone, not where it lay; a single one in their places
    by what it is `told_as`, unless that is empty.
    """
    with tempfile.TemporaryDirectory(prefix="rearlog-") as folder:
        paths = []
        for place, content in enumerate(contents, start=1):
            number = f"-{place}" if len(contents) > 1 else ""
            path = Path(folder) / f"{name}{number}.csv"
            path.write_bytes(content)
            paths.append(path)
        try:
            yield paths
        except RearlogError as error:
            bare, alone = f"{Path(folder)}/", f"{name}.csv"
            problems = [
                replace(
                    each,
                    message=each.message.replace(bare, ""),
                    place=each.place.replace(bare, "").replace(alone, told_as or alone),
                )
                for each in error.problems
            ]
            raise type(error)(problems) from None
