"""How a design of several factors is laid out: its cells, its terms, and what individuals share."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.arrays import Floats, Integers
from rearlog.analysis.comparing.cohorts import ComparedCohort, Level, Shared, is_shared, labelled
from rearlog.records.errors import UsageError
from rearlog.records.groups import in_order

Term = tuple[int, ...]
"""The places of the factors of a term."""


class Design(Struct, frozen=True, eq=False):
    """The cells of a design (combinations of levels that are there), and of its factors all levels;
    each individual's cell (−1: none) and cluster, cohort by cohort. `complete`: all combinations
    are there."""

    factors: tuple[str, ...]
    cells: tuple[tuple[str, ...], ...]
    levels: tuple[tuple[str, ...], ...]
    cell_of: tuple[Integers, ...]
    cluster_of: tuple[Integers, ...] | None
    complete: bool

    @property
    def terms(self) -> list[Term]:
        """The factors by themselves, and where all combinations were there, all interactions."""
        most = len(self.factors) if self.complete else 1
        places = range(len(self.factors))
        return [
            term for size in range(1, most + 1) for term in itertools.combinations(places, size)
        ]

    def df(self, term: Term) -> int:
        """The degrees of freedom of a term."""
        return math.prod(len(self.levels[place]) - 1 for place in term)

    def columns(self, terms: Sequence[Term]) -> Floats:
        """The columns (cells, p) of a mean and some terms, in contrasts that sum to 0 over the
        levels of each factor."""
        of_level = [dict(zip(each, contrasts(each), strict=True)) for each in self.levels]
        rows = []
        for cell in self.cells:
            own = [known[level] for known, level in zip(of_level, cell, strict=True)]
            blocks = [np.ones(1)]
            for term in terms:
                product = np.ones(1)
                for place in term:
                    product = np.multiply.outer(product, own[place]).ravel()
                blocks.append(product)
            rows.append(np.concatenate(blocks))
        return np.array(rows)

    @property
    def undetermined(self) -> bool:
        """Whether the effects of its terms cannot be told apart."""
        freedom = 1 + sum(self.df(each) for each in self.terms)
        return bool(np.linalg.matrix_rank(self.columns(self.terms)) < freedom)


def contrasts(levels: Sequence[str]) -> Floats:
    """A row for each level of a factor, a column fewer, each of which sums to 0."""
    return np.vstack((np.eye(len(levels) - 1), -np.ones(len(levels) - 1)))


def go_together(levels: Sequence[tuple[Level, ...]]) -> bool:
    """Whether the effects of factors cannot be told apart, of which these are the levels, cohort by
    cohort: some have one without the other nowhere."""
    told = (each for each in levels if None not in each)
    known = sorted({tuple(one for one in each if one is not None) for each in told})
    if not known:
        return True
    found = tuple(tuple(in_order(column)) for column in zip(*known, strict=True))
    names = tuple(map(str, range(len(found))))
    return Design(names, tuple(known), found, (), None, False).undetermined


def laid_out(
    cohorts: Sequence[ComparedCohort], factors: tuple[str, ...]
) -> tuple[Design, Shared | None]:
    """The design, and what is counted as clusters.

    Raises UsageError for a factor of one level, and where factors cannot be told apart because
    their levels go together.
    """
    every = [levels for each in cohorts for levels in each.levels]
    levels = tuple(tuple(in_order(column)) for column in zip(*every, strict=True))
    for factor, found in zip(factors, levels, strict=True):
        if len(found) < 2:
            told = f"there is no other {factor} than {found[0]}" if found else f"no {factor} is"
            raise UsageError(f"{told}{' known' if not found else ''}", "name one that differs")
    there = {each for each in every if None not in each}
    cells = tuple(each for each in itertools.product(*levels) if each in there)
    place: dict[tuple[Level, ...], int] = {each: number for number, each in enumerate(cells)}
    cell_of = tuple(
        np.array([place.get(each, -1) for each in cohort.levels], dtype=np.int64)
        for cohort in cohorts
    )
    complete = len(cells) == math.prod(map(len, levels))
    design = Design(factors, cells, levels, cell_of, None, complete)
    if design.undetermined:
        remedy = "some cohorts must have one without the other"
        raise UsageError(f"{' and '.join(factors)} go together: they cannot be told apart", remedy)
    shared, labels = _clusters(cohorts, design)
    return replace(design, cluster_of=labels), shared


def _clusters(
    cohorts: Sequence[ComparedCohort], design: Design
) -> tuple[Shared | None, tuple[Integers, ...] | None]:
    """What individuals share, and labels of it: cohorts where some combination, or some level of a
    factor of whole cohorts, has several; else containers or clutches, of both the one of which
    there are fewer."""
    held = [set(each[each >= 0].tolist()) for each in design.cell_of]
    several = any(sum(cell in each for each in held) > 1 for cell in range(len(design.cells)))
    if several or any(_several_of_a_level(held, design, k) for k in range(len(design.factors))):
        sizes = enumerate(len(each.levels) for each in cohorts)
        return Shared.COHORT, tuple(np.full(n, place, dtype=np.int64) for place, n in sizes)
    found = []
    for thing, names in (
        (Shared.CONTAINER, [each.containers for each in cohorts]),
        (Shared.CLUTCH, [each.clutches for each in cohorts]),
    ):
        if any(is_shared(of_cohort) for of_cohort in names):
            labels = labelled(names, apart=thing is Shared.CONTAINER)
            found.append((len(np.unique(np.concatenate(labels))), thing, labels))
    if not found:
        return None, None
    _, thing, chosen = min(found, key=lambda each: each[0])
    return thing, chosen


def _several_of_a_level(held: Sequence[set[int]], design: Design, factor: int) -> bool:
    """Whether a factor sets whole cohorts apart, and several are of one level."""
    levels = [{design.cells[cell][factor] for cell in each} for each in held if each]
    each_once = [next(iter(each)) for each in levels if len(each) == 1]
    return len(each_once) == len(levels) > len(set(each_once))
