"""Several cohorts, or groups of them, beside each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from rearlog.notebook.apart import told_apart
from rearlog.notebook.cohort import told_of
from rearlog.notebook.groups import grouped
from rearlog.records.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rearlog.analysis.comparing.cohorts import ComparedCohort
    from rearlog.analysis.comparing.compare import Comparison
    from rearlog.analysis.comparing.factorial import Factorial
    from rearlog.analysis.reproduction.euler_lotka import EggAge
    from rearlog.analysis.reproduction.reproduction import ReproductionComparison
    from rearlog.notebook.cohort import Notebook


def compare(
    notebooks: Sequence[Notebook],
    first: str | None = None,
    until: str | None = None,
    by: str | None = None,
    *,
    in_pairs: bool | None = None,
) -> Comparison:
    """Whether cohorts differ in durations, heat and survival; see `comparing.compare`.

    Of more than ten cohorts the pairs are compared only with `in_pairs`.

    With `by` the groups of this factor are compared, of those whose level is known. Raises
    UsageError where there are no two of them.
    """
    from rearlog.analysis.comparing.compare import compare
    from rearlog.analysis.comparing.design import go_together
    from rearlog.analysis.survival.watch import watched
    from rearlog.records.groups import factor_called, level_of, pooled_over

    notebooks = told_apart(notebooks)
    if by is None:
        cohorts = [each.compared(each.heat_curve) for each in notebooks]
        return told_of(compare(cohorts, first, until, in_pairs=in_pairs), notebooks)
    factor = factor_called(by, [each.log for each in notebooks])
    groups = grouped(notebooks, by)
    known = [each for each in groups if each.group.level is not None]
    if len(known) < 2:
        raise UsageError(f"there is no other {factor} than {known[0].name} to compare it with")
    cohorts = [each.compared(each.heat_curve) for each in known]
    found = compare(cohorts, first, until, in_pairs=in_pairs)
    others = sum(
        int(watched(each.event_history, first).who.sum())
        for each in groups
        if each.group.level is None
    )
    logs = [each.log for each in notebooks]
    over = pooled_over(logs, factor)
    levels = [tuple(level_of(log.cohort, each) for each in (factor, *over)) for log in logs]
    return told_of(
        replace(
            found,
            by=factor,
            not_known=others,
            pooled_over=over,
            inseparable=bool(over) and go_together(levels),
        ),
        notebooks,
    )


def compare_reproduction(
    notebooks: Sequence[Notebook], egg_age: EggAge | None = None
) -> ReproductionComparison:
    """Whether cohorts differ in how fast numbers grow; see `reproduction.reproduction`."""
    from rearlog.analysis.reproduction.euler_lotka import EggAge
    from rearlog.analysis.reproduction.reproduction import compared_reproduction

    cohorts = [(each.log, each.event_history) for each in told_apart(notebooks)]
    return told_of(compared_reproduction(cohorts, egg_age or EggAge.MIDDLE), notebooks)


def factorial(
    notebooks: Sequence[Notebook],
    factors: Sequence[str],
    first: str | None = None,
    until: str | None = None,
) -> Factorial:
    """Which factors of a design matter for how long stages took; see `comparing.factorial`."""
    from rearlog.analysis.comparing.factorial import factorial
    from rearlog.records.groups import factor_called

    notebooks = told_apart(notebooks)
    logs = [each.log for each in notebooks]
    called = [factor_called(each, logs) for each in factors]
    cohorts = [_in_design(each, called) for each in notebooks]
    return told_of(factorial(cohorts, called, first, until), notebooks)


def _in_design(notebook: Notebook, factors: Sequence[str]) -> ComparedCohort:
    """The cohort with the levels of its individuals; what is a factor is nothing they share."""
    from rearlog.records.groups import levels_of

    cohort = notebook.compared(None)
    return replace(
        cohort,
        levels=tuple(zip(*(levels_of(notebook.log, each) for each in factors), strict=True)),
        containers=() if "container" in factors else cohort.containers,
        clutches=() if "clutch" in factors else cohort.clutches,
    )
