"""Sheets: to print, to fill in with a spreadsheet, to tap offline; and what comes back of them."""

from __future__ import annotations

import io
from collections import defaultdict
from collections.abc import Mapping, Sequence
from functools import partial

from flask import abort, render_template, request, url_for
from flask.typing import ResponseReturnValue

from rearlog.analysis.growth.evidence import own_widths
from rearlog.exchange import sheet_csv, size_card
from rearlog.exchange.check_files import read
from rearlog.exchange.sheet import MOST_DAYS, Sheet, check_sheet, first_day
from rearlog.exchange.sheet_print import TYPED_PAPERS, Paper, as_pdf, pages
from rearlog.present.imported import doubt_lines, imported_words
from rearlog.present.tap import tap_page, tap_round
from rearlog.records import times
from rearlog.records.cautions import caution_on
from rearlog.records.errors import ImportRefused, RearlogError, UsageError
from rearlog.web.answering import attachment
from rearlog.web.desk import Desk
from rearlog.web.forms import as_files, date_order, done, present, said, typed, unit, whole
from rearlog.web.troubles import told_of

KINDS = ("paper", "table", "tap", "card")

MOST_FILES = 50
"""More files than this are not taken in at once."""


def sheets(desk: Desk, name: str) -> ResponseReturnValue:
    """What can be printed, filled in and tapped, and where it comes back."""
    return _page(desk, name, {}, [])


def sheet(desk: Desk, name: str, kind: str) -> ResponseReturnValue:
    """One of them, as a file to keep."""
    if kind not in KINDS:
        abort(404)
    told = defaultdict(str, {each: value.strip() for each, value in request.args.items()})
    try:
        if kind == "tap":
            return _to_tap(desk, name)
        if kind == "card":
            return _card(desk, name, TYPED_PAPERS.get(told["paper"], "A4"))
        made = _made(desk, name, told)
        chosen = unit(told) or "C"
        if kind == "table":
            text = io.StringIO(newline="")
            sheet_csv.write(made, text, unit=chosen)
            content = text.getvalue().encode()
            return attachment(content, f"{name}-sheet.csv", "text/csv; charset=utf-8")
        paper = TYPED_PAPERS.get(told["paper"], "A4")
        key = ("sheet", paper, chosen, made.days, made.rows)
        content = desk.shelf.kept(key, [name], lambda: as_pdf(pages(made, paper, unit=chosen)))
        return attachment(content, f"{name}-sheet.pdf", "application/pdf")
    except RearlogError as error:
        return _page(desk, name, told, told_of(error)), 400


def _card(desk: Desk, name: str, paper: Paper) -> ResponseReturnValue:
    def make() -> bytes:
        notebook = desk.shelf.notebook(name)
        profile = notebook.log.cohort.species
        title = f"{profile.name}, {name}"
        card = size_card.size_card(profile, own_widths(notebook.growth()), title)
        return as_pdf(size_card.pages(card, paper), f"Size card: {title}")

    content = desk.shelf.kept(("size card", paper), [name], make)
    return attachment(content, f"{name}-sizes.pdf", "application/pdf")


def _made(desk: Desk, name: str, told: Mapping[str, str]) -> Sheet:
    log = desk.shelf.notebook(name).log
    now = present(desk, log.cohort.zone)
    first = times.read_date(told["from"], now.date()) if told["from"] else first_day(log, now)
    return check_sheet(log, first, now, _days(told["days"]))


def _days(text: str) -> int:
    found = whole(text or "7", 3)
    if found is None:
        raise UsageError(f"a sheet has 1 to {MOST_DAYS} days", "a number such as 7")
    return found


def _to_tap(desk: Desk, name: str) -> ResponseReturnValue:
    log = desk.shelf.notebook(name).log
    page = tap_page(tap_round(log, present(desk, log.cohort.zone)))
    return attachment(page.encode(), f"{name}-round.html", "text/html; charset=utf-8")


def take_in(desk: Desk, name: str) -> ResponseReturnValue:
    """Filled sheets, tapped rounds or tidy tables are taken into the log, or only checked."""
    told = typed()
    try:
        lines = _taken(desk, name, told)
    except RearlogError as error:
        return _page(desk, name, told, told_of(error)), 400
    return done(desk, url_for("sheets.sheets", name=name), lines)


def _taken(desk: Desk, name: str, told: Mapping[str, str]) -> list[str]:
    sent = [each for each in request.files.getlist("file") if each.filename]
    if not sent:
        raise UsageError("choose a file")
    if len(sent) > MOST_FILES:
        raise UsageError(f"more than {MOST_FILES} files are not taken at once")
    dry_run = told["do"] == "check"
    contents = [each.read() for each in sent]
    with as_files(contents, "sheet") as paths, desk.shelf.writing(name) as file:
        now = present(desk, file.outline(()).cohort.zone)
        sources = [
            partial(
                read,
                path,
                now=now,
                ignore_extra=bool(told["ignore_extra"]),
                dates=date_order(told),
            )
            for path in paths
        ]
        found = file.record(
            sources,
            now,
            pass_known=True,
            dry_run=dry_run,
            strict=bool(told["strict"]),
            refusal=ImportRefused,
        )
    files = ["the file"] if len(paths) == 1 else [f"{len(paths)} files"]
    lines = [imported_words(found, files, dry_run=dry_run), *doubt_lines(found.doubts)]
    caution = None if dry_run else caution_on(found.checks)
    return [*lines, f"Caution: {caution}"] if caution else lines


def _page(
    desk: Desk, name: str, told: Mapping[str, str], problems: Sequence[dict[str, str]]
) -> str:
    log = desk.shelf.notebook(name).log
    cohort = log.cohort
    return render_template(
        "sheets.html.j2",
        name=name,
        tab="sheets",
        cohort=cohort,
        told=defaultdict(str, told),
        problems=problems,
        said=said(desk),
        first=first_day(log, present(desk, cohort.zone)),
        most_days=MOST_DAYS,
    )
