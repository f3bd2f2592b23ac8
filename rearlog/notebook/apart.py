"""Several cohorts, told apart by their identities and called so that people can tell them apart."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from rearlog.records.command_text import CommandText
from rearlog.records.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from rearlog.notebook.cohort import Notebook


def told_apart(notebooks: Sequence[Notebook]) -> list[Notebook]:
    """Several cohorts, each called so that no two are called alike: see `records.labels`.

    Raises UsageError as `refuse_copies` does.
    """
    refuse_copies(notebooks)
    return labelled(notebooks)


def refuse_copies(notebooks: Sequence[Notebook]) -> None:
    """Raise UsageError for a cohort that is given twice, and for copies of one."""
    from rearlog.records.labels import refuse_twice

    cohorts = [each.log.cohort for each in notebooks]
    paths: dict[str, Path] = {}
    for each, cohort in zip(notebooks, cohorts, strict=True):
        refuse_copy(paths.setdefault(cohort.id, each.path), each.path)
    refuse_twice(cohorts)


def refuse_copy(first: Path, path: Path) -> None:
    """Raise UsageError where two paths at which one cohort was found are not of one file."""
    if not _is_one_file(first, path):
        remedy = CommandText(
            "“rearlog merge” brings together what was written to either", "take one of them out"
        )
        raise UsageError(f"{first} and {path} are copies of one cohort", remedy)


def labelled(notebooks: Sequence[Notebook]) -> list[Notebook]:
    """As `told_apart`, but a cohort may be there twice, which is then called the same twice."""
    from rearlog.records.labels import labels

    called = zip(notebooks, labels([each.log.cohort for each in notebooks]), strict=True)
    return [each if label == each.name else each.called(label) for each, label in called]


def with_parents(notebooks: Sequence[Notebook]) -> list[Notebook]:
    """Cohorts told apart, which say by these labels what they come from.

    Of those that are called alike it is the one of the same site; raises UsageError where there is
    no one such cohort.
    """
    from rearlog.records.factors import origin

    apart = told_apart(notebooks)
    called: dict[str, list[Notebook]] = {}
    for each, one in zip(notebooks, apart, strict=True):
        called.setdefault(each.name, []).append(one)
    found = []
    for one in apart:
        cohort = one.log.cohort
        origins = []
        for text in cohort.origins:
            name = origin(text).cohort
            known = called.get(name, [])
            near = [each for each in known if each.log.cohort.site == cohort.site]
            if len(known) > 1 and len(near) != 1:
                remedy = "give them labels of their own" + CommandText(" with “rearlog rename”", "")
                told = f"{one.name} comes from {name}, and several cohorts are called so"
                raise UsageError(told, remedy)
            parent = near if len(known) > 1 else known
            origins.append(text.replace(name, parent[0].name, 1) if parent else text)
        if tuple(origins) == cohort.origins:
            found.append(one)
        else:
            header = replace(cohort, origins=tuple(origins))
            found.append(one.with_log(replace(one.log, cohort=header)))
    return found


def _is_one_file(one: Path, other: Path) -> bool:
    try:
        return one == other or one.samefile(other)
    except OSError:
        return False
