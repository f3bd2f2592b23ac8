"""Putting right by hand: say a stage anew, withdraw an individual that was entered by mistake."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import click

from rearlog.cli.completion import individuals, stages
from rearlog.cli.options import by_option, cohort_argument, notice, quiet_option
from rearlog.cli.recording import profile_stage
from rearlog.records import times
from rearlog.records.errors import RecordError, UsageError
from rearlog.records.incoming import telling
from rearlog.records.log import CohortLog, Mark, Observation
from rearlog.records.rules import problems_with
from rearlog.records.striking import struck_out
from rearlog.records.wording import counted, day_stamp, line_of, record_name
from rearlog.store.cohort_file import CohortFile


@click.command("correct")
@cohort_argument
@click.argument("individual", shell_complete=individuals)
@click.argument("stage", shell_complete=stages)
@click.option("--from", "first", metavar="DATE", required=True, help="The first day to correct.")
@click.option("--to", "last", metavar="DATE", help="The last one (default: the first).")
@click.option("--because", metavar="TEXT", help="Why; kept with the records.")
@click.option("--dry-run", is_flag=True, help="Show what would be said, and change nothing.")
@by_option
@quiet_option
def correct_command(
    cohort: Path,
    individual: str,
    stage: str,
    first: str,
    last: str | None,
    because: str | None,
    dry_run: bool,
    by: str | None,
) -> None:
    """Say anew which stage an individual was in: old records are struck out, new ones written.

    Looks that said no change follow by themselves; what was measured is kept.

    \b
    rearlog correct room 7 egg --from 2026-03-11 --because "it was no L1 yet"
    rearlog correct room 7 egg --from 2026-03-11 --to 2026-03-12 --dry-run
    """
    if not dry_run and not (because or "").strip():
        raise UsageError("say why with --because")
    file = CohortFile(cohort)
    log = file.read()
    now = times.now(log.cohort.zone)
    begin = times.read_date(first, now.date())
    end = begin if last is None else times.read_date(last, now.date())
    stage = profile_stage(log.cohort.species.codes, stage)
    mark = Mark(now, (because or "").strip(), by)
    if dry_run:
        old, new = _said_anew(log, individual, stage, (begin, end), by)
        after = struck_out(log, _numbers(old), [], mark)
        if problems := problems_with(after, new, now):
            raise RecordError(problems)
        _show(old, new)
        notice(f"Nothing changed: {counted(len(old), 'record')} would be.")
        return
    with file.held():
        old, new = _said_anew(file.read(), individual, stage, (begin, end), by)
        file.strike(_numbers(old), [], mark)
        new = file.record([telling(new)], now, [old[0].individual]).checks
    _show(old, new)
    notice(f"Corrected {counted(len(old), 'record')}; history still shows the old ones.")


def _said_anew(
    log: CohortLog, code: str, stage: str, days: tuple[date, date], by: str | None
) -> tuple[list[Observation], list[Observation]]:
    """The calls of another stage on some days, and what is to be said in their place."""
    known = {each.casefold(): each for each in log.by_code}
    if code.casefold() not in known:
        raise UsageError(f"there is no individual {code}", f"this cohort has {', '.join(known)}")
    day = log.cohort.clock.day
    old = [
        each
        for each in log.checks[known[code.casefold()]]
        if each.stage not in (None, stage) and days[0] <= day(each.at) <= days[1]
    ]
    if not old:
        message = f"nobody said of {code} from {days[0]} to {days[1]} that it was not {stage}"
        raise UsageError(message, f"“rearlog history {log.cohort.name} {code}” shows its records")
    new = [replace(each, stage=stage, by=by or each.by, number=None, marks=()) for each in old]
    return old, new


def _numbers(records: list[Observation]) -> list[int]:
    return [each.number for each in records if each.number is not None]


def _show(old: list[Observation], new: list[Observation]) -> None:
    for before, after in zip(old, new, strict=True):
        number = f" as {record_name(after.number)}" if after.number else ""
        click.echo(
            f"{day_stamp(before.at)}: {line_of(before)} ({record_name(before.number)}) → "
            f"{line_of(after)}{number}"
        )


@click.command("withdraw")
@cohort_argument
@click.argument("codes", nargs=-1, required=True, metavar="INDIVIDUAL...")
@click.option("--take-back", is_flag=True, help="It was no mistake: it counts again.")
@click.option("--because", metavar="TEXT", help="Why; kept with the individual.")
@by_option
@quiet_option
def withdraw_command(
    cohort: Path, codes: tuple[str, ...], take_back: bool, because: str | None, by: str | None
) -> None:
    """Withdraw individuals that were entered by mistake. They are kept, and count nowhere.

    \b
    rearlog withdraw room 24 --because "there are only 23 cups"
    rearlog withdraw room 24 --take-back --because "it was behind the box"
    """
    if not (because or "").strip():
        raise UsageError("say why with --because")
    file = CohortFile(cohort)
    log = file.read()
    spelled = {each.code.casefold(): each.code for each in (*log.individuals, *log.withdrawn)}
    named = list(dict.fromkeys(spelled.get(each.casefold(), each) for each in codes))
    now = times.now(log.cohort.zone)
    file.withdraw(named, Mark(now, (because or "").strip(), by, back=take_back))
    if take_back:
        notice(f"Taken back: {', '.join(named)} counts again.")
        return
    left = sum(len(log.checks[code]) for code in named)
    notice(f"Withdrawn: {', '.join(named)}, with {counted(left, 'record')}; history shows it.")
