"""Generations as a tree in a table. Nothing is computed here, only laid out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace

from rearlog.present.between import comparison_tables
from rearlog.present.tables import Table, between, tenth
from rearlog.sentences import lineage as lineage_words
from rearlog.sentences.survival import share_reached

if TYPE_CHECKING:
    from rearlog.analysis.comparing.lineage import Lineage, LineageMember
    from rearlog.analysis.reproduction.estimates import Estimate

_COLUMNS = ["generation", "comes from", "n", "days", "adults", "R0"]
_EXPLAINED = (
    "Days: from egg to adult, on average. Adults: how many became adults. R0: eggs of the next "
    "generation for each egg, with 95 % limits."
)


def lineage_tables(result: Lineage) -> list[Table]:
    """The tree of each family; then, in full, its generations compared."""
    tables, last = [], len(result.families) - 1
    for place, family in enumerate(result.families):
        tables.append(
            Table(
                f"{family.members[0].cohort} and what comes of it",
                ["cohort", *_COLUMNS],
                [[_branch(each), *_told(each)] for each in family.members],
                () if place < last else [_EXPLAINED, "", *lineage_words.words(result)],
            )
        )
    for family in result.families:
        if family.comparison is not None:
            tables += [replace(each, full=True) for each in comparison_tables(family.comparison)]
    return tables


def flat_lineage(result: Lineage) -> Table:
    """A row a cohort, family after family, then those of none."""
    rows: list[Sequence[Any]] = []
    for number, family in enumerate(result.families, start=1):
        for each in family.members:
            found = each.figures
            rows.append(
                [
                    number,
                    each.cohort,
                    each.generation,
                    lineage_words.parents(each),
                    each.missing,
                    *(
                        [None] * 6
                        if found is None
                        else [
                            *(found.n, found.completed, found.days, found.reached.fraction),
                            *(found.r0 and found.r0.estimate, found.r0 and found.r0.se),
                        ]
                    ),
                ]
            )
    rows += [[None, name, None, None, False, *[None] * 6] for name in result.alone]
    return Table(
        "",
        ["family", "cohort", "generation", "comes_from", "missing", "n", "completed", "days",
         "reached_fraction", "r0", "r0_se"],
        rows,
    )  # fmt: skip


def _branch(member: LineageMember) -> str:
    return f"{'  ' * (member.depth - 1)}└ {member.cohort}" if member.depth else member.cohort


def _told(member: LineageMember) -> list[Any]:
    found = member.figures
    whom = lineage_words.parents(member)
    if found is None:
        return [member.generation, "not among these", None, None, None, None]
    return [
        member.generation,
        whom,
        found.n,
        tenth(found.days),
        share_reached(found.reached),
        None if found.r0 is None else _with_limits(found.r0),
    ]


def _with_limits(r0: Estimate) -> str | None:
    if r0.estimate is None or r0.low is None:
        return None if r0.estimate is None else f"{r0.estimate:.1f}"
    return f"{r0.estimate:.1f} ({between((r0.low, r0.high))})"
