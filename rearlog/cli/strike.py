"""Striking records out, and taking that back."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import click

from rearlog.cli.effects import show_effect
from rearlog.cli.options import because_option, by_option, cohort_argument, notice, reason_of
from rearlog.cli.streams import printable
from rearlog.cli.writing import writing
from rearlog.notebook import Notebook
from rearlog.present.history import records_table, struck_lines
from rearlog.records import times
from rearlog.records.entries import shortened
from rearlog.records.errors import UsageError
from rearlog.records.log import Mark
from rearlog.records.rounds import last_round as records_of_last_round
from rearlog.records.striking import struck_out, taken_back
from rearlog.records.wording import counted
from rearlog.store.calling import called
from rearlog.store.cohort_file import CohortFile

_NUMBERS = re.compile(r"(@?)([Tt]?)([0-9]{1,9})(?:[-–]@?\2?([0-9]{1,9}))?")


_LONGEST_RANGE = 100_000


@click.command("strike")
@cohort_argument
@click.argument("numbers", nargs=-1, metavar="[NUMBER]...")
@click.option("--last-round", is_flag=True, help="The round that was entered last.")
@because_option
@click.option("--take-back", is_flag=True, help="These were right: they count again.")
@click.option("--dry-run", is_flag=True, help="Show what it would change, and change nothing.")
@by_option
@writing
def strike_command(
    cohort: Path,
    numbers: tuple[str, ...],
    last_round: bool,
    because: str | None,
    take_back: bool,
    dry_run: bool,
    by: str | None,
) -> None:
    """Strike records out by their numbers, as history shows them. They are kept, and do not count.

    \b
    rearlog strike room @57 @T3 --because "wrong cup; thermometer in the sun"
    rearlog strike room @37-47 --because "the round of another cohort"
    rearlog strike room --last-round --because "wrong cohort" --by KT
    rearlog strike room @57 --dry-run
    rearlog strike room --take-back @57 --because "it was the right cup"
    """
    if take_back and last_round:
        raise UsageError("--take-back takes the numbers of records that are struck out")
    if bool(numbers) == last_round:
        raise UsageError("say what to strike out", "either the numbers of records, or --last-round")
    reason = reason_of(because, asked=not dry_run)
    notebook = Notebook(cohort)
    observations, temperatures = _chosen(notebook, numbers)
    now = times.now(notebook.log.cohort.zone)
    struck = Mark(now, reason, by)
    if dry_run:
        changed = taken_back if take_back else struck_out
        after = changed(notebook.log, observations, temperatures, struck)
        what = "To count again" if take_back else "To be struck out"
        chosen = [each for each in notebook.log.all_observations if each.number in observations]
        show_effect(notebook, after, [records_table(what, chosen)] if chosen else [])
        told = counted(len(observations) + len(temperatures), "record")
        done = "taken back" if take_back else "struck out"
        notice(f"Nothing {done}: {told} would be.")
        return
    if take_back:
        CohortFile(cohort).take_back(observations, temperatures, struck)
        for line in _lines(notebook, observations, temperatures):
            notice(f"Counts again: {line}")
        return
    count = len(observations) + len(temperatures)
    told = counted(count, "record")
    CohortFile(cohort).strike(observations, temperatures, struck)
    lines = _lines(notebook, observations, temperatures)
    if count == 1:
        notice(f"Struck out {lines[0]}; history still shows it.")
        return
    notice(f"Struck out {told}; history still shows them.")
    for line in lines:
        notice(f"  {line}")


def _lines(
    notebook: Notebook, observations: Sequence[int], temperatures: Sequence[int]
) -> list[str]:
    """What these records say, a line each."""
    return struck_lines(
        [each for each in notebook.log.all_observations if each.number in observations],
        [each for each in notebook.log.all_temperatures if each.number in temperatures],
    )


def _chosen(notebook: Notebook, numbers: Sequence[str]) -> tuple[list[int], list[int]]:
    """The numbers of observations and of temperatures: those given, or those of the last round."""
    if not numbers:
        latest = records_of_last_round(notebook.log)
        if not latest:
            raise UsageError(f"{notebook.name} has no round to strike out")
        return [each.number for each in latest if each.number is not None], []
    observations: list[int] = []
    temperatures: list[int] = []
    left = _LONGEST_RANGE
    for words in numbers:
        match = _NUMBERS.fullmatch(words)
        first, last = (int(match[3]), int(match[4] or match[3])) if match else (1, 0)
        if match is None or not first <= last < first + _LONGEST_RANGE:
            remedy = "use the numbers that “rearlog history” shows, such as @57, @37-47 or @T3"
            raise UsageError(f"“{shortened(printable(words))}” is not a record number", remedy)
        left -= last + 1 - first
        if left < 0:
            raise UsageError(f"more than {_LONGEST_RANGE:,} records are not struck out at once")
        if not match[1]:
            _no_code(notebook, words, match[2].upper(), range(first, last + 1))
        chosen = temperatures if match[2] else observations
        chosen.extend(range(first, last + 1))
    return list(dict.fromkeys(observations)), list(dict.fromkeys(temperatures))


def _no_code(notebook: Notebook, words: str, kind: str, numbers: range) -> None:
    """Raise UsageError where numbers without @ are codes of individuals too."""
    codes = {code.upper() for code in notebook.log.by_code}
    code = next((code for each in numbers if (code := f"{kind}{each}") in codes), None)
    if code is not None:
        shown = f"“rearlog history {called(notebook.path)} {code}”"
        remedy = f"write @{words} for the record; {shown} shows those of the individual"
        raise UsageError(f"“{words}”: record @{code} or individual {code}?", remedy)
