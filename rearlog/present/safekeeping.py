"""The tables of files and their backups: what is sound, what is wrong, what can be brought back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from rearlog.present.tables import Table
from rearlog.records.wording import counted
from rearlog.store.calling import called

if TYPE_CHECKING:
    from rearlog.analysis.stages.in_doubt import InDoubt
    from rearlog.store.restoring import States
    from rearlog.store.verification import Verification

MOST_SHOWN = 50
"""More things that are wrong than this are left to the CSV."""


class Verifications(Struct, frozen=True):
    """What was found in each cohort file, and what is in doubt in those that are sound."""

    cohorts: tuple[Verification, ...]
    in_doubt: tuple[InDoubt, ...] = ()


class Defect(Struct, frozen=True):
    """One thing that is wrong, as a row."""

    cohort: str
    place: str
    message: str
    remedy: str


def defects(result: Verifications) -> list[Defect]:
    """All that is wrong, a row each."""
    return [
        Defect(each.cohort, problem.place, problem.message, problem.remedy)
        for each in result.cohorts
        for problem in each.problems
    ]


def verification_tables(result: Verifications) -> list[Table]:
    """What was found in each file, and all that is wrong."""
    told = Table.of(
        "What was found",
        result.cohorts,
        [
            ("cohort", lambda each: each.cohort),
            ("sound", lambda each: "yes" if each.sound else "NO"),
            ("individuals", lambda each: each.individuals),
            ("checks", lambda each: each.observations),
            ("struck", lambda each: each.struck),
            ("temperatures", lambda each: each.temperatures),
            ("problems", lambda each: len(each.problems)),
            ("backups", _size_of_backups),
        ],
        [_pictures_of(each) for each in result.cohorts if each.photos or each.photos_unnamed],
    )
    found = defects(result)
    if not found:
        return [told]
    more = len(found) - MOST_SHOWN
    problems = Table.of(
        "What is wrong",
        found[:MOST_SHOWN],
        [
            ("cohort", lambda each: each.cohort),
            ("where", lambda each: each.place),
            ("what", lambda each: each.message),
            ("what to do", lambda each: each.remedy),
        ],
        [f"… and {more} more: --format csv lists all."] if more > 0 else [],
    )
    return [told, problems]


def _pictures_of(found: Verification) -> str:
    """How many pictures its looks name, and how many are beside it for nothing."""
    told = f"{found.cohort}: {counted(found.photos, 'picture')} named by looks"
    unnamed = found.photos_unnamed
    return f"{told}; {unnamed} more named by none, which does no harm." if unnamed else f"{told}."


def _size_of_backups(found: Verification) -> str:
    """How many there are, and how much room they take together."""
    if found.backups is None or found.backup_bytes is None:
        return "cannot be listed"
    return f"{found.backups} ({size_words(found.backup_bytes)})" if found.backups else "none"


def size_words(count: int) -> str:
    """A number of bytes, as people read it."""
    return f"{count / 1e6:,.1f} MB" if count >= 1e6 else f"{count / 1000:,.0f} kB"


def backup_tables(result: States) -> list[Table]:
    """The states that a cohort can be brought back to."""
    rows = [
        [
            each.number,
            f"{each.written:%Y-%m-%d %H:%M:%S}",
            each.individuals,
            each.observations,
            size_words(each.bytes),
            each.problem or each.why or "",
        ]
        for each in result.backups
    ]
    columns = ["number", "as it was on", "individuals", "checks", "size", "note"]
    words = [f"Bring one back with: rearlog restore {called(Path(result.file))} NUMBER"]
    return [Table(f"Backups of {result.file}", columns, rows, words)]
