"""Taking words out of a cohort for good."""

from __future__ import annotations

import re
from pathlib import Path

import click

from rearlog.cli.options import cohort_argument, initials_option, notice
from rearlog.cli.present import show
from rearlog.cli.writing import writing
from rearlog.present.redactions import Redactions, redactions_table
from rearlog.records import times
from rearlog.records.errors import UsageError
from rearlog.records.wording import counted
from rearlog.store.cohort_file import CohortFile
from rearlog.store.redacting import Redacted, redact, redactions_of
from rearlog.store.redaction import FIELDS, Wanted

_ANY = "any"
_NUMBER = re.compile("@[0-9]{1,9}")


@click.command("redact")
@cohort_argument
@click.argument("field", type=click.Choice([*FIELDS, _ANY]), required=False)
@click.argument("numbers", nargs=-1, metavar="[NUMBER]...")
@click.option("--saying", metavar="TEXT", help="Only where these words stand in it.")
@click.option("--dry-run", is_flag=True, help="Show how much would go, and change nothing.")
@initials_option("Who redacts")
@writing
def redact_command(
    cohort: Path,
    field: str | None,
    numbers: tuple[str, ...],
    saying: str | None,
    dry_run: bool,
    by: str | None,
) -> None:
    """Take words out of a cohort for good: out of its file, its backups, a round being asked.

    FIELD is what goes: of the records with these numbers, of those with the words of --saying, or
    everywhere; “any” is all the fields with these words. A mark stays that something was there,
    when it went and by whom; observers become ?1, ?2 …. It cannot be undone. Backups that are
    damaged are removed, because nobody can look through them. What you copied elsewhere, or a disk
    keeps of deleted files, is out of reach. “photo” takes the picture itself away, if no other look
    names it. Without FIELD, the marks are listed.

    \b
    rearlog redact room note @57
    rearlog redact room by --saying KT
    rearlog redact room any --saying Anna --dry-run
    rearlog redact room place
    rearlog redact room
    """
    if field is None:
        if saying or dry_run:
            raise UsageError("say what to redact", f"one of {', '.join((*FIELDS, _ANY))}")
        marks = tuple(redactions_of(cohort))
        label = CohortFile(cohort).outline(()).cohort.name
        table = redactions_table(label, marks)
        show(Redactions(label, marks), "table", lambda _: [table], "redactions")
        return
    wanted = _wanted(field, numbers, saying)
    if by and saying and wanted.concerns(by):
        raise UsageError("the mark would say it again", "give other initials with --by")
    gone = redact(cohort, wanted, times.now("UTC"), by, dry_run=dry_run)
    if not gone.anything:
        notice("There is nothing of it, in the file or in a backup.")
    else:
        notice(f"{'Would redact' if dry_run else 'Redacted'} {_told(gone)}.")


def _wanted(field: str, numbers: tuple[str, ...], saying: str | None) -> Wanted:
    if saying is not None and not saying.strip():
        raise UsageError("--saying has no words")
    if field == _ANY and saying is None:
        raise UsageError("say which words with --saying")
    wrong = [each for each in numbers if not _NUMBER.fullmatch(each)]
    if wrong:
        remedy = "use the numbers that “rearlog history” shows, such as @57"
        raise UsageError(f"“{wrong[0][:40]}” is not a record number", remedy)
    fields = FIELDS if field == _ANY else (field,)
    return Wanted(fields, saying, frozenset(int(each[1:]) for each in numbers))


def _told(found: Redacted) -> str:
    told = f"{counted(found.fields, 'field')} of the file, {counted(found.backups, 'backup')}"
    told += f", {counted(found.asked, 'field')} of the round being asked" if found.asked else ""
    told += f", {counted(found.pictures, 'picture')}" if found.pictures else ""
    if found.removed:
        told += f"; {counted(found.removed, 'damaged backup')} removed"
    return told
