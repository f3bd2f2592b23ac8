"""A round of checks in one line of the compact notation."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from rearlog.cli.completion import entries
from rearlog.cli.options import (
    by_option,
    cohort_argument,
    notice,
    notice_caution,
    notice_doubts,
    on_option,
    strict_option,
)
from rearlog.cli.standard import input_text
from rearlog.cli.streams import printable
from rearlog.cli.writing import writing
from rearlog.records import times
from rearlog.records.entries import parse
from rearlog.records.fates import FATES, Fate
from rearlog.records.fields import DETAILS, Kind, detail_examples
from rearlog.records.rules import doubts_of
from rearlog.records.wording import counted, day_stamp, line_of, said
from rearlog.store.cohort_file import CohortFile
from rearlog.store.recording import RecordedRound, record_round

_DETAILS = ", ".join(
    f"{example} ({each.unit})" if each.unit and each.kind is Kind.MEASURE else example
    for example, each in zip(detail_examples().split(), DETAILS.values(), strict=True)
)


_LOG_HELP = f"""Record a round of checks in the compact notation, WHO STATE [DETAIL…] ["note"].

- alone reads the lines of standard input.

WHO: 3, 1-12, A01-A12,A15, all, rest (every living one not named), or a cage, as cage-1 of
mate=cage-1. STATE: a stage, same, {", ".join(FATES[:-1])} or {FATES[-1]}. DETAIL: {_DETAILS}.

Eggs are those laid since the look before, hatched those of all laid so far that hatched since; of
adults, or once of a cage. 0 is a count too.

Understood too: died, escaped, released, hatched, pupated, emerged, no change, L 2, 1 to 5.

\b
rearlog log room '1-9 L3; 10 L2 head=0.61; 11 dead(mould) "wet"; rest same'
rearlog log room 'all same' --on yesterday --by KT
rearlog log room '3 adult sex=f mate=7; 4-6 adult mate=cage-1'
rearlog log room '3 same eggs=34; cage-1 same eggs=120 hatched=88'
"""


@click.command("log", help=_LOG_HELP)
@cohort_argument
@click.argument("entry", nargs=-1, required=True, metavar="ENTRY...", shell_complete=entries)
@on_option
@by_option
@click.option("--dry-run", is_flag=True, help="Show what would be recorded, and record nothing.")
@strict_option
@writing
def log_command(
    cohort: Path,
    entry: tuple[str, ...],
    on: str | None,
    by: str | None,
    dry_run: bool,
    strict: bool,
) -> None:
    """Record a round."""
    text = input_text() if entry == ("-",) else " ".join(entry)
    now = times.now("UTC")
    round_ = record_round(
        CohortFile(cohort), parse(text), on, by, now, dry_run=dry_run, strict=strict
    )
    profile, before = round_.cohort.species, round_.before
    for each in round_.checks:
        for doubt in doubts_of(profile, each, each.stage or before[each.individual].stage):
            notice(f"Note: {doubt}")
    notice_doubts(round_.doubts)
    _notice_passed(round_.passed)
    if dry_run:
        for each in round_.checks:
            click.echo(printable(line_of(each)))
        told = counted(len(round_.checks), "check")
        notice(f"Nothing recorded: {told} at {day_stamp(round_.at)} would be.")
        return
    notice(_summary(round_))
    if any(each.fate == Fate.DEAD and each.note and not each.cause for each in round_.checks):
        notice("Note: a cause counts only in brackets, as in dead(mould), not in a note")
    notice_caution(round_.checks)


def _notice_passed(passed: Sequence[str]) -> None:
    if passed:
        notice(f"Passed over inside ranges, dead, lost or removed before: {', '.join(passed)}")


def _summary(round_: RecordedRound) -> str:
    changed = [
        f"{each.individual} {said(each)}"
        for each in round_.checks
        if each.fate or each.stage not in (None, round_.before[each.individual].stage)
    ]
    shown = ", ".join(changed[:12]) + (" …" if len(changed) > 12 else "")
    left = set(round_.alive) - {each.individual for each in round_.checks}
    checks = counted(len(round_.checks), "check")
    text = f"Recorded {checks} at {day_stamp(round_.at)}: {len(changed)} changed"
    text += f" ({shown})" if changed else ""
    if laid := sum(each.eggs or 0 for each in round_.checks):
        text += f"; {counted(laid, 'egg')}"
    return text + (f"; {len(left)} of those alive were not named" if left else "")
