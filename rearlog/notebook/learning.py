"""What cohorts that are over tell of their species."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rearlog.notebook.apart import told_apart
from rearlog.notebook.by_temperature import thermal
from rearlog.notebook.cohort import told_of
from rearlog.records.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rearlog.analysis.comparing.learning import Learned
    from rearlog.notebook.cohort import Notebook


def learn(notebooks: Sequence[Notebook]) -> Learned:
    """What cohorts that are over tell of their species; see `comparing.learning`.

    Raises UsageError where they are of different species or stages, or one is given twice.
    """
    from rearlog.analysis.comparing.learning import HeadsMeasured, credible_threshold, learn

    notebooks = told_apart(notebooks)
    first = notebooks[0].log.cohort.species
    for each in notebooks:
        theirs = each.log.cohort.species
        if (theirs.scientific_name, theirs.codes) != (first.scientific_name, first.codes):
            remedy = f"{notebooks[0].name} and {each.name} differ: learn of each by itself"
            raise UsageError("the cohorts are not of the same species and stages", remedy)
    compared = [each.compared(each.warmth_curve) for each in notebooks]
    warm = [each for each in compared if each.curve is not None]
    threshold = credible_threshold(thermal(notebooks) if len(warm) > 1 else None)
    lower = first.lower.centre if threshold is None and first.lower else None
    lower = threshold.celsius if threshold else lower
    heats = [None if lower is None else each._above(lower) for each in notebooks]
    heads = [
        [
            HeadsMeasured(one.stage, one.n, one.head_width_mm_mean, one.sd)
            for one in each.growth().instars
        ]
        for each in notebooks
    ]
    return told_of(learn(compared, heats, heads, threshold, lower), notebooks)
