"""Withdrawing individuals that were entered by mistake."""

from __future__ import annotations

from pathlib import Path

import click

from rearlog.cli.options import by_option, cohort_argument, notice, reason_of
from rearlog.cli.writing import writing
from rearlog.records import times
from rearlog.records.log import Mark
from rearlog.records.wording import counted
from rearlog.store.cohort_file import CohortFile


@click.command("withdraw")
@cohort_argument
@click.argument("codes", nargs=-1, required=True, metavar="INDIVIDUAL...")
@click.option("--take-back", is_flag=True, help="It was no mistake: it counts again.")
@click.option("--because", metavar="TEXT", help="Why; kept with the individual.")
@by_option
@writing
def withdraw_command(
    cohort: Path, codes: tuple[str, ...], take_back: bool, because: str | None, by: str | None
) -> None:
    """Withdraw individuals that were entered by mistake. They are kept, and count nowhere.

    \b
    rearlog withdraw room 24 --because "there are only 23 cups"
    rearlog withdraw room 24 --take-back --because "it was behind the box"
    """
    reason = reason_of(because)
    file = CohortFile(cohort)
    log = file.read()
    spelled = {each.code.casefold(): each.code for each in log.everybody}
    named = list(dict.fromkeys(spelled.get(each.casefold(), each) for each in codes))
    now = times.now(log.cohort.zone)
    file.withdraw(named, Mark(now, reason, by, back=take_back))
    if take_back:
        notice(f"Taken back: {', '.join(named)} counts again.")
        return
    left = sum(len(log.checks[code]) for code in named)
    notice(f"Withdrawn: {', '.join(named)}, with {counted(left, 'record')}; history shows it.")
