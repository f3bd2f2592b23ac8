"""What forms bring, and the page that is shown after them."""

from __future__ import annotations

import contextlib
import tempfile
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from flask import g, redirect, request
from werkzeug.wrappers import Response

from rearlog.records.clock import in_zone
from rearlog.records.errors import RearlogError, UsageError
from rearlog.records.log import Mark
from rearlog.web.desk import Desk


def typed() -> defaultdict[str, str]:
    """What was typed and chosen, by the names of the fields; nothing in others."""
    told = {name: value.strip() for name, value in request.form.items()}
    return defaultdict(str, told)


def numbers(name: str) -> list[int]:
    """The numbers of the records that were chosen; raises UsageError where there are none."""
    chosen = request.form.getlist(name)
    if not chosen:
        raise UsageError("choose a record", "tick the box beside it")
    if not all(each.isascii() and each.isdecimal() and len(each) < 10 for each in chosen):
        raise UsageError("that is not the number of a record")
    return [int(each) for each in dict.fromkeys(chosen)]


def mark(told: Mapping[str, str], now: datetime, *, back: bool = False, asked: bool = True) -> Mark:
    """Who marks records, when and why; raises UsageError where `asked` and nobody says why."""
    because = told.get("because", "")
    if asked and not because:
        raise UsageError("say why", "a few words, kept with the record")
    return Mark(now, because, g.visitor.initials or None, back=back)


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
def as_files(contents: Sequence[bytes], name: str) -> Iterator[list[Path]]:
    """What was sent, as files for those who read files; none of them is called as the sender says.

    Problems that readers raise name the file alone, not where it lay.
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
            bare = f"{Path(folder)}/"
            problems = [
                replace(
                    each,
                    message=each.message.replace(bare, ""),
                    place=each.place.replace(bare, ""),
                )
                for each in error.problems
            ]
            raise type(error)(problems) from None
