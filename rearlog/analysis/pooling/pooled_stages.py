"""How long a stage took, over all cohorts that have come through it."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

from msgspec import Struct

from rearlog.analysis.pooling.cohort_summary import CohortSummary
from rearlog.analysis.pooling.random_effects import (
    Estimator,
    RandomEffects,
    SiteEffects,
    random_effects,
    site_effects,
)

APART_C = 2.0
"""A cohort that was so far (°C) from the middle one is called warmer or cooler."""


class CohortInStage(Struct, frozen=True):
    """What a cohort shows of a stage: the mean (days) of the `n` that completed it, with its
    standard error, and the mean temperature (°C) that they had; None where it is not known."""

    cohort: CohortSummary
    n: int
    mean: float
    se: float
    celsius: float | None


class PooledStage(Struct, frozen=True):
    """How long a stage took, over all cohorts that have come through it.

    Of these `cohorts`, with `individuals` that completed it, at `sites` (0: none is told),
    `left_out` more had fewer than three, or too many still in it. `over_cohorts` is the mean over
    cohorts; where there are three sites or more, some of several cohorts, `over_sites` counts these
    instead, and is what holds. `tau_one_step` is the SD between cohorts by the estimator of
    DerSimonian & Laird 1986.

    They were at `coldest` to `warmest` °C, as far as that is known (None: of nobody), and are
    `unlike` where one of them was APART_C or more from the middle one.
    """

    stage: str
    cohorts: int
    individuals: int
    sites: int
    left_out: int
    over_cohorts: RandomEffects
    over_sites: SiteEffects | None
    tau_one_step: float | None
    coldest: float | None
    warmest: float | None
    unlike: bool

    @property
    def best(self) -> RandomEffects | SiteEffects:
        """The mean that holds: over sites where there are enough, else over cohorts."""
        return self.over_sites or self.over_cohorts


def in_stage(stage: str, cohorts: Sequence[CohortSummary]) -> list[CohortInStage]:
    """Those of the cohorts whose mean of a stage has weight."""
    return [
        CohortInStage(each, found.completed, *found.weighed, found.celsius)
        for each in cohorts
        for found in each.stages
        if found.stage == stage and found.weighed
    ]


def pooled_stage(
    stage: str, rows: Sequence[CohortInStage], cohorts: Sequence[CohortSummary]
) -> PooledStage:
    """The mean of those of the `cohorts` whose own has weight, the `rows`: over cohorts by
    `random_effects`, over sites by `site_effects`."""
    means, errors = estimates(rows)
    sites = [each.cohort.site or each.cohort.id for each in rows]  # who tells none is one by itself
    known = {each.cohort.site for each in rows} - {None}
    having = sum(
        1 for each in cohorts for found in each.stages if found.stage == stage and found.completed
    )
    warmth = sorted(each.celsius for each in rows if each.celsius is not None)
    middle = median(warmth) if warmth else None
    return PooledStage(
        stage=stage,
        cohorts=len(rows),
        individuals=sum(each.n for each in rows),
        sites=len(known),
        left_out=having - len(rows),
        over_cohorts=random_effects(means, errors),
        over_sites=site_effects(means, errors, sites) if len(known) > 1 else None,
        tau_one_step=random_effects(means, errors, Estimator.DERSIMONIAN_LAIRD).tau,
        coldest=warmth[0] if warmth else None,
        warmest=warmth[-1] if warmth else None,
        unlike=middle is not None and max(warmth[-1] - middle, middle - warmth[0]) >= APART_C,
    )


def estimates(rows: Sequence[CohortInStage]) -> tuple[list[float], list[float]]:
    """Means and standard errors, in days."""
    return [each.mean for each in rows], [each.se for each in rows]
