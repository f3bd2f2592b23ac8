"""Generations: which cohort comes from which, and how each of them fared."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from itertools import pairwise
from typing import ClassVar

from msgspec import Struct

from rearlog.analysis.answer import Answer
from rearlog.analysis.comparing.compare import Comparison
from rearlog.analysis.reproduction.estimates import Estimate
from rearlog.analysis.survival.survival import ReachedEnd
from rearlog.records.command_text import CommandText
from rearlog.records.errors import UsageError
from rearlog.records.factors import origin
from rearlog.records.log import CohortLog


class NamedParent(Struct, frozen=True):
    """A cohort that another names as its origin, and the individuals of it that it names; of these
    it does not have the `strangers`. `later`: it began after its offspring."""

    cohort: str
    individuals: tuple[str, ...]
    strangers: tuple[str, ...]
    later: bool


class GenerationFigures(Struct, frozen=True):
    """How a cohort fared: `n` individuals, of `completed` the mean days from egg to adult, how many
    became adults, and its net reproductive rate R0 (None: no eggs were told)."""

    n: int
    completed: int
    days: float | None
    reached: ReachedEnd
    r0: Estimate | None


class LineageMember(Struct, frozen=True):
    """One cohort of a family. `generation` counts from 0, those that come from none, by the longest
    way; `depth` is its place in the tree, beneath the first parent. `started` and `figures` are
    None where it is named as an origin, but is not among the cohorts that were looked at."""

    cohort: str
    generation: int
    depth: int
    parents: tuple[NamedParent, ...]
    children: tuple[str, ...]
    started: date | None
    figures: GenerationFigures | None

    @property
    def missing(self) -> bool:
        """Whether it is only named."""
        return self.figures is None


class LineageFamily(Struct, frozen=True):
    """Cohorts that come from each other, as a tree from above, and their generations compared,
    survival up to the last stage; `comparison` is None where there are no two of them."""

    members: tuple[LineageMember, ...]
    comparison: Comparison | None

    @property
    def generations(self) -> tuple[tuple[str, ...], ...]:
        """The cohorts of each generation, the first first."""
        last = max(each.generation for each in self.members)
        return tuple(
            tuple(each.cohort for each in self.members if each.generation == generation)
            for generation in range(last + 1)
        )


class Lineage(Answer, frozen=True):
    """Families of cohorts, the largest first, and the cohorts that are of none."""

    main: ClassVar[str] = "families.members"

    families: tuple[LineageFamily, ...]
    alone: tuple[str, ...]


class Kin(Struct, frozen=True):
    """Who comes from whom: parents and children by cohort, those that are only named among them,
    and the generation of each."""

    parents: dict[str, tuple[str, ...]]
    children: dict[str, tuple[str, ...]]
    generation: dict[str, int]

    def families(self) -> list[list[str]]:
        """The cohorts that hang together, each family from above; the largest first."""
        found: list[list[str]] = []
        seen: set[str] = set()
        for name in self.parents:
            if name not in seen:
                family = self._of(name)
                seen |= family
                found.append([each for each in self.parents if each in family])
        return sorted(found, key=len, reverse=True)

    def _of(self, name: str) -> set[str]:
        family, open_ones = {name}, [name]
        while open_ones:
            one = open_ones.pop()
            new = {*self.parents[one], *self.children[one]} - family
            family |= new
            open_ones += new
        return family

    def tree(self, family: Sequence[str]) -> list[tuple[str, int]]:
        """The cohorts of a family beneath their first parents, each with its depth."""
        found: list[tuple[str, int]] = []
        waiting = [(each, 0) for each in reversed(family) if not self.parents[each]]
        while waiting:
            name, depth = waiting.pop()
            found.append((name, depth))
            own = [each for each in self.children[name] if self.parents[each][0] == name]
            waiting += [(each, depth + 1) for each in reversed(own)]
        return found


def kin(origins: Mapping[str, Sequence[str]]) -> Kin:
    """Who comes from whom, of what each cohort says (texts such as `summer:A01,A02`).

    Raises UsageError where cohorts come from each other in a circle.
    """
    said = {name: tuple(origin(each).cohort for each in texts) for name, texts in origins.items()}
    named = [parent for parents in said.values() for parent in parents]
    parents = {name: said.get(name, ()) for name in dict.fromkeys((*said, *named))}
    children: dict[str, list[str]] = {name: [] for name in parents}
    for name, of_it in parents.items():
        for parent in of_it:
            children[parent].append(name)
    generation: dict[str, int] = {}
    waiting = {name: len(of_it) for name, of_it in parents.items()}
    ready = [name for name, count in waiting.items() if not count]
    for name in ready:  # it grows on the way
        generation[name] = 1 + max((generation[each] for each in parents[name]), default=-1)
        for child in children[name]:
            waiting[child] -= 1
            if not waiting[child]:
                ready.append(child)
    circle = _circle(parents, generation)
    if circle:
        remedy = CommandText("say with “rearlog describe COHORT --origin” what is so", "")
        told = ", ".join(f"{one} comes from {other}" for one, other in pairwise(circle))
        raise UsageError(f"{told}: that is a circle", remedy)
    return Kin(parents, {name: tuple(each) for name, each in children.items()}, generation)


def _circle(parents: Mapping[str, Sequence[str]], settled: Mapping[str, int]) -> list[str]:
    """Cohorts of which each comes from the next, and the last from the first; none: []."""
    name = next((each for each in parents if each not in settled), None)
    way: list[str] = []
    while name is not None:
        if name in way:
            return [*way[way.index(name) :], name]
        way.append(name)
        name = next(each for each in parents[name] if each not in settled)
    return []


def named_parents(log: CohortLog, others: Mapping[str, CohortLog]) -> tuple[NamedParent, ...]:
    """The origins of a cohort, and what does not fit the cohorts that are there."""
    found = []
    for text in log.cohort.origins:
        cohort, codes = origin(text)
        parent = others.get(cohort)
        known = set() if parent is None else {each.casefold() for each in parent.by_code}
        strangers = () if parent is None else tuple(c for c in codes if c.casefold() not in known)
        later = parent is not None and parent.cohort.started > log.cohort.started
        found.append(NamedParent(cohort, codes, strangers, later))
    return tuple(found)
