"""The check sheet for the clipboard: to print, to fill in with a spreadsheet, or to tap."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path

import click
from click.core import ParameterSource

from rearlog.cli.options import (
    WHEN,
    cohort_argument,
    force_option,
    notice,
    output_option,
    quiet_option,
    refuse_other,
)
from rearlog.disk.outputs import refuse_taken, write_output
from rearlog.exchange.celsius import Unit
from rearlog.exchange.sheet import MOST_DAYS, Sheet, check_sheet, first_day
from rearlog.exchange.sheet_print import TYPED_PAPERS, Paper
from rearlog.records import times
from rearlog.records.errors import UsageError
from rearlog.records.log import CohortLog
from rearlog.records.wording import weekday
from rearlog.settings import usual
from rearlog.store.calling import called
from rearlog.store.cohort_file import CohortFile

NOT_TO_TAP = {"days": "--days", "first": "--from", "paper": "--paper", "unit": "--unit"}


@click.command("sheet")
@cohort_argument
@output_option(
    "FILE", ".pdf or .png to print, .csv to fill in with a spreadsheet, .html with --tap.", ".csv"
)
@click.option("--tap", is_flag=True, help="A page for a tablet: one round, tapped offline.")
@click.option("--days", type=click.IntRange(1, MOST_DAYS), default=7, help="How many (default: 7).")
@click.option(
    "--from",
    "first",
    type=WHEN,
    metavar="DATE",
    help="The first one (default: today, or tomorrow where all were looked at today).",
)
@click.option("--paper", type=click.Choice(list(TYPED_PAPERS)), default="a4", help="To print on.")
@click.option("--unit", type=click.Choice(["C", "F"]), help="Of its temperatures.")
@force_option
@quiet_option
def sheet_command(
    cohort: Path,
    output: Path,
    tap: bool,
    days: int,
    first: str | None,
    paper: str,
    unit: Unit | None,
    force: bool,
) -> None:
    """Write a check sheet: a row an individual, a column a day, the last stage filled in.

    A filled CSV is taken into the log by “rearlog import”, and so is the file that the page to
    tap saves.

    \b
    rearlog sheet room -o week.pdf --paper letter
    rearlog sheet room -o week.csv --from 2026-03-16 --days 5
    rearlog sheet room --tap -o round.html
    """
    log = CohortFile(cohort).outline()
    if tap:
        _write_tap_page(cohort, log, output, force)
        return
    now = times.now(log.cohort.zone)
    day = times.read_date(first, now.date()) if first else first_day(log, now)
    sheet = check_sheet(log, day, now, days)
    written = _write(sheet, output, TYPED_PAPERS[paper], unit or usual.unit(), force)
    files = ", ".join(map(str, written))
    notice(f"{len(sheet.rows)} individuals, {days} days from {weekday(day)} on: {files}")


def _write_tap_page(cohort: Path, log: CohortLog, output: Path, force: bool) -> None:
    from rearlog.present.tap import tap_page, tap_round  # start-up time: the page's templates

    source = click.get_current_context().get_parameter_source
    for name, option in NOT_TO_TAP.items():
        if source(name) is ParameterSource.COMMANDLINE:
            raise UsageError(f"{option} is for sheets on paper", "leave it out beside --tap")
    refuse_other(output, "page", ".html", ".htm")
    round_ = tap_round(log, times.now(log.cohort.zone))
    refuse_taken(output, force)
    write_output(output, tap_page(round_).encode(), force=force)
    notice(
        f"{len(round_.cards)} individuals to tap: {output}. What it saves comes back with: "
        f"rearlog import {called(cohort)} FILE"
    )


def _write(sheet: Sheet, output: Path, paper: Paper, unit: Unit, force: bool) -> Sequence[Path]:
    """Write the sheet in the form that the file's ending says; the files that were written."""
    kind = output.suffix.lower()
    if kind == ".csv":
        from rearlog.exchange import sheet_csv

        text = io.StringIO(newline="")
        sheet_csv.write(sheet, text, unit=unit)
        write_output(output, text.getvalue().encode(), force=force)
        return [output]
    if kind not in (".pdf", ".png"):
        raise UsageError(
            f"{output.name} is no kind of sheet",
            "end its name in .pdf, .png or .csv (.html with --tap)",
        )
    from rearlog.exchange.sheet_print import page_paths, pages, save  # start-up time: matplotlib

    figures = pages(sheet, paper, unit=unit)
    for path in page_paths(output, len(figures)):
        refuse_taken(path, force)
    return save(figures, output, force=force)
