"""What is due today, of one cohort or of all in the folder."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rearlog.cli.answer_options import full_option
from rearlog.cli.options import WHEN, CohortName, answering, cohorts_here, notice_in_doubt
from rearlog.cli.present import show
from rearlog.notebook import Notebook, labelled
from rearlog.present.due import Today, TodayRow, due_rows, due_tables
from rearlog.present.tables import Table
from rearlog.records import times
from rearlog.records.errors import RearlogError, UsageError

if TYPE_CHECKING:
    from rearlog.analysis.forecasting.due import Due


@click.command("today")
@click.argument("cohorts", metavar="[COHORT]...", type=CohortName(), nargs=-1)
@click.option(
    "--as-of", type=WHEN, metavar="WHEN", help="Another moment, with what was known by then."
)
@full_option
@answering
def today_command(cohorts: tuple[Path, ...], as_of: str | None, form: str) -> None:
    """What is due: who should hatch, molt, pupate or emerge, who is overdue or was not looked at.

    Without a name, of all cohorts in this folder. Days without a temperature are named too.

    \b
    rearlog today
    rearlog today room --as-of 2026-03-20 --format json
    """
    paths = cohorts or tuple(cohorts_here())
    if not paths:
        raise UsageError("there is no cohort in this folder", "name one: rearlog today COHORT")
    found: list[tuple[Due, Notebook]] = []
    failed: list[RearlogError] = []
    for notebook in labelled(_readable(paths, failed)):
        try:
            found.append((_due(notebook, as_of), notebook))
        except RearlogError as error:  # one cohort must not hide what is due in the others
            failed.append(error)
    found.sort(key=lambda each: _urgency(each[0]))
    result = Today(tuple(each for each, _ in found))
    if found:
        orders = [list(notebook.log.by_code) for _, notebook in found]
        show(result, form, lambda found: due_tables(found, orders), _rows, _lead)
    for each in result.cohorts:
        notice_in_doubt(each.in_doubt)
    if failed:
        problems = dict.fromkeys(problem for error in failed for problem in error.problems)
        raise type(failed[0])(problems)


def _readable(paths: Iterable[Path], failed: list[RearlogError]) -> list[Notebook]:
    """The cohorts whose files can be read; why others cannot goes into `failed`."""
    found = []
    for path in paths:
        notebook = Notebook(path)
        try:
            notebook.log  # noqa: B018
        except RearlogError as error:
            failed.append(error)
        else:
            found.append(notebook)
    return found


def _rows(result: Today) -> Table:
    from rearlog.present.flat import flat  # start-up time: only for CSV

    return flat(TodayRow, list(due_rows(result)))


def _lead(result: Today) -> str:
    from rearlog.sentences.due import lead  # start-up time: not for --help

    return lead(result.cohorts)


def _due(notebook: Notebook, as_of: str | None) -> Due:
    if as_of is None:
        return notebook.due()
    header = notebook.log.cohort
    now = times.now(header.zone)
    return notebook.due(times.read_moment(as_of, header.zone, header.check_time, now))


def _urgency(found: Due) -> int:
    """Cohorts with an overdue event come first, then those with one that is due, or soon."""
    from rearlog.analysis.forecasting.due import When  # start-up time

    order = list(When)
    return order.index(found.events[0].when) if found.events else len(order)
