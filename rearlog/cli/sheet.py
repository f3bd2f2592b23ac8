"""The check sheet for the clipboard: to print, or to fill in with a spreadsheet."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path

import click

from rearlog.cli.options import cohort_argument, force_option, free_path, notice, quiet_option
from rearlog.exchange.celsius import Unit
from rearlog.exchange.sheet import MOST_DAYS, Sheet, check_sheet
from rearlog.exchange.sheet_print import Paper
from rearlog.records import times
from rearlog.records.errors import StoreError, UsageError
from rearlog.store.cohort_file import CohortFile

PAPERS: dict[str, Paper] = {"a4": "A4", "letter": "letter"}


@click.command("sheet")
@cohort_argument
@click.option(
    "-o",
    "--output",
    required=True,
    type=click.Path(path_type=Path),
    metavar="FILE",
    help=".pdf or .png to print, .csv to fill in with a spreadsheet.",
)
@click.option("--days", type=click.IntRange(1, MOST_DAYS), default=7, help="How many (default: 7).")
@click.option("--from", "first", metavar="DATE", default="today", help="The first one.")
@click.option("--paper", type=click.Choice(list(PAPERS)), default="a4", help="To print on.")
@click.option("--unit", type=click.Choice(["C", "F"]), default="C", help="Of its temperatures.")
@force_option
@quiet_option
def sheet_command(
    cohort: Path, output: Path, days: int, first: str, paper: str, unit: Unit, force: bool
) -> None:
    """Write a check sheet: a row an individual, a column a day, the last stage filled in.

    A filled CSV is taken into the log by “rearlog import”.

    \b
    rearlog sheet room -o week.pdf --paper letter
    rearlog sheet room -o week.csv --from 2026-03-16 --days 5
    """
    log = CohortFile(cohort).outline()
    day = times.read_date(first, times.now(log.cohort.zone).date())
    sheet = check_sheet(log, day, days)
    try:
        written = _write(sheet, output, PAPERS[paper], unit, force)
    except OSError as error:
        raise StoreError(f"{output} cannot be written: {error.strerror}") from error
    notice(f"{len(sheet.rows)} individuals, {days} days: {', '.join(map(str, written))}")


def _write(sheet: Sheet, output: Path, paper: Paper, unit: Unit, force: bool) -> Sequence[Path]:
    """Write the sheet in the form that the file's ending says; the files that were written."""
    kind = output.suffix.lower()
    if kind == ".csv":
        from rearlog.exchange import sheet_csv

        free_path(output, force)
        text = io.StringIO(newline="")
        sheet_csv.write(sheet, text, unit=unit)
        output.write_text(text.getvalue(), encoding="utf-8", newline="")
        return [output]
    if kind not in (".pdf", ".png"):
        raise UsageError(f"{output.name} is no kind of sheet", "end its name in .pdf, .png or .csv")
    from rearlog.exchange.sheet_print import page_paths, pages, save  # start-up time: matplotlib

    figures = pages(sheet, paper, unit=unit)
    for path in page_paths(output, len(figures)):
        free_path(path, force)
    return save(figures, output)
