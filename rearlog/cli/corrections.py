"""Looking back at the records, and striking out what was wrong."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.main import printable
from rearlog.cli.options import answering, by_option, cohort_argument, notice, quiet_option
from rearlog.cli.present import show
from rearlog.notebook import History, Notebook
from rearlog.records import times
from rearlog.records.errors import UsageError
from rearlog.records.log import ConstantTemperature, DayExtremes, Struck, Temperature
from rearlog.records.wording import line_of, stamp
from rearlog.report.tables import Table
from rearlog.store.cohort_file import CohortFile


@click.command("history")
@cohort_argument
@click.argument("individual", required=False)
@answering
def history_command(cohort: Path, individual: str | None, form: str) -> None:
    """Show the records in the order of writing, struck ones marked.

    \b
    rearlog history room 11
    rearlog history room --format csv
    """
    result = Notebook(cohort).history(individual)
    show(result, form, lambda: history_tables(result), result.observations)


@click.command("strike")
@cohort_argument
@click.argument("numbers", nargs=-1, required=True, metavar="NUMBER...")
@click.option("--because", required=True, metavar="TEXT", help="Why; kept with the records.")
@by_option
@quiet_option
def strike_command(cohort: Path, numbers: tuple[str, ...], because: str, by: str | None) -> None:
    """Strike records out by the numbers that history shows. They are kept, and no longer count.

    \b
    rearlog strike room 57 --because "wrong cup"
    rearlog strike room T3 --because "thermometer stood in the sun"
    """
    if not because.strip():
        raise UsageError("say why with --because")
    observations: list[int] = []
    temperatures: list[int] = []
    for number in numbers:
        plain = number.removeprefix("T").removeprefix("t")
        if not plain.isascii() or not plain.isdigit():
            remedy = "use the numbers that “rearlog history” shows, such as 57 or T3"
            raise UsageError(f"“{printable(number)}” is not a record number", remedy)
        (observations if plain == number else temperatures).append(int(plain))
    file = CohortFile(cohort)
    now = times.now(file.outline(()).cohort.zone)
    file.strike(observations, temperatures, Struck(now, because.strip(), by))
    notice(f"Struck out {len(numbers)} record{'s' * (len(numbers) > 1)}; history still shows them.")


def history_tables(result: History) -> list[Table]:
    """The records in the order of writing."""
    checks = Table(
        f"{result.cohort}: records",
        ["no.", "seen", "entry", "by", "struck out"],
        [
            [str(each.number), stamp(each.at), line_of(each), each.by or "", _struck(each.struck)]
            for each in result.observations
        ],
    )
    temperatures = Table(
        "Temperatures",
        ["no.", "when", "°C", "struck out"],
        [
            [f"T{each.number}", *_temperature(each), _struck(each.struck)]
            for each in result.temperatures
        ],
    )
    return [checks, *([temperatures] if result.temperatures else [])]


def _struck(struck: Struck | None) -> str:
    if struck is None:
        return ""
    who = f" by {struck.by}" if struck.by else ""
    return f"{stamp(struck.at)}{who}: {struck.because}"


def _temperature(record: Temperature) -> tuple[str, str]:
    if isinstance(record, DayExtremes):
        return str(record.date), f"{record.min_c:g} to {record.max_c:g}"
    if isinstance(record, ConstantTemperature):
        return f"{record.first} to {record.last or 'now'}", f"{record.celsius:g} constant"
    span = f"{min(record.celsius):g} to {max(record.celsius):g}"
    return f"from {stamp(record.at)}", f"{span} in {len(record.celsius)} readings"
