"""How many came into the last stage, in many cohorts and at their sites."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence

from msgspec import Struct

from rearlog.analysis.pooling.cohort_summary import MOST_WAITING, CohortSummary
from rearlog.analysis.pooling.funnel import Funnel, funnel


class SeasonSurvival(Struct, frozen=True):
    """How many came into the last stage, over all cohorts whose end is known.

    `left_out` others are told by what they are called: `on_the_way` those of which more than a
    tenth may yet come, `unknown` those of which nobody's end is known. `over_cohorts` are
    held against all of them, in the order of `ids`; `over_sites` are the sites, in the order of
    `sites`, where there are enough.
    """

    stage: str
    left_out: int
    on_the_way: tuple[str, ...]
    unknown: tuple[str, ...]
    reached: int
    n: int
    ids: tuple[str, ...]
    over_cohorts: Funnel | None
    sites: tuple[str, ...]
    over_sites: Funnel | None


def season_survival(cohorts: Sequence[CohortSummary]) -> SeasonSurvival:
    """Hold cohorts, and sites, against all of them: see `funnel`."""
    settled: list[CohortSummary] = []
    on_the_way, unknown = [], []
    for each in cohorts:
        if each.waiting > MOST_WAITING * (each.known + each.waiting):
            on_the_way.append(each.name)
        elif not each.known:
            unknown.append(each.name)
        else:
            settled.append(each)
    sites: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for each in settled:
        if each.site is not None:
            sites[each.site] += Counter(reached=each.reached, n=each.known)
    names = list(sites)
    return SeasonSurvival(
        stage=cohorts[0].last_stage,
        left_out=len(cohorts) - len(settled),
        on_the_way=tuple(on_the_way),
        unknown=tuple(unknown),
        reached=sum(each.reached for each in settled),
        n=sum(each.known for each in settled),
        ids=tuple(each.id for each in settled),
        over_cohorts=funnel([each.reached for each in settled], [each.known for each in settled]),
        sites=tuple(names),
        over_sites=funnel(
            [sites[name]["reached"] for name in names], [sites[name]["n"] for name in names]
        ),
    )
