"""Which cohort comes from which."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rearlog.notebook.apart import with_parents
from rearlog.notebook.cohort import told_of
from rearlog.notebook.comparing import compare

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from rearlog.analysis.comparing.lineage import GenerationFigures, Kin, Lineage, LineageFamily
    from rearlog.notebook.cohort import Notebook


def lineage(notebooks: Sequence[Notebook]) -> Lineage:
    """Which cohort comes from which, how each fared, and whether generations differ.

    Generations of a family are compared as groups of cohorts are. Raises UsageError where one is
    given twice, or cohorts come from each other in a circle.
    """
    from rearlog.analysis.comparing.lineage import Lineage, kin

    by_name = {each.name: each for each in with_parents(notebooks)}
    found = kin({name: each.log.cohort.origins for name, each in by_name.items()})
    families = [family for family in found.families() if len(family) > 1]
    alone = [family[0] for family in found.families() if len(family) == 1]
    return told_of(
        Lineage(tuple(_family(each, found, by_name) for each in families), tuple(alone)), notebooks
    )


def _family(names: Sequence[str], found: Kin, by_name: Mapping[str, Notebook]) -> LineageFamily:
    from rearlog.analysis.comparing.lineage import LineageFamily, LineageMember, named_parents

    logs = {name: each.log for name, each in by_name.items()}
    members = []
    for name, depth in found.tree(names):
        notebook = by_name.get(name)
        members.append(
            LineageMember(
                name,
                found.generation[name],
                depth,
                () if notebook is None else named_parents(notebook.log, logs),
                found.children[name],
                None if notebook is None else notebook.log.cohort.started.date(),
                None if notebook is None else _figures(notebook),
            )
        )
    there = [by_name[each.cohort] for each in members if not each.missing]
    numbered = [each.with_factor("generation", str(found.generation[each.name])) for each in there]
    kinds = {each.log.cohort.species.scientific_name for each in there}
    several = len({found.generation[each.name] for each in there}) > 1 and len(kinds) == 1
    return LineageFamily(tuple(members), compare(numbered, by="generation") if several else None)


def _figures(notebook: Notebook) -> GenerationFigures:
    from rearlog.analysis.comparing.lineage import GenerationFigures
    from rearlog.analysis.reproduction.estimates import Measure

    stages = notebook.log.cohort.species.codes
    whole = next(iter(notebook.durations(stages[0], stages[-1]).stages), None)
    r0 = notebook.reproduction().of(Measure.R0) if notebook.has_life_table else None
    reached = notebook.survival().reached
    return GenerationFigures(
        len(notebook.log.individuals),
        whole.completed if whole else 0,
        whole.mean if whole else None,
        reached,
        r0,
    )
