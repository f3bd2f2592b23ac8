"""How long females and males lived, and whether they differ in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rearlog.analysis.comparing.survival_difference import SurvivalComparison, survival_difference
from rearlog.analysis.stages.events import EventHistory
from rearlog.analysis.survival.sexes import sexes_of
from rearlog.analysis.survival.survival import Sex, Survival, survival, watched_in_order
from rearlog.analysis.survival.watch import watched
from rearlog.records.errors import UsageError
from rearlog.records.log import CohortLog


@dataclass(frozen=True, slots=True)
class SurvivalBySex:
    """The survival of each sex in a cohort, and of those whose sex is not known.

    `comparison` is between females and males, by their codes; None where there is one sex only.
    The sexes of many insects show in the last stages alone: who died before is of no known sex.
    """

    cohort: str
    since: str | None
    groups: tuple[Survival, ...]
    comparison: SurvivalComparison | None


def survival_by_sex(
    log: CohortLog, history: EventHistory, first: str | None = None, until: str | None = None
) -> SurvivalBySex:
    """Survival from entry or from `first`, until `until` or ever, group by group: see `survival`.

    Raises UsageError as `survival` does, and where no sex was noted of anybody that it counts.
    """
    name, sexes = log.cohort.name, sexes_of(log)
    watched_in_order(name, history, first, until)  # lest a wrong call be told of a group
    parts = [
        (sex, history.only(np.array([each is sex for each in sexes], dtype=bool))) for sex in Sex
    ]
    watches = [(sex, part, watched(part, first, until)) for sex, part in parts]
    known = [(sex, part, seen) for sex, part, seen in watches if len(seen.days)]
    groups = tuple(survival(name, part, first, until, sex=sex) for sex, part, _ in known)
    told = [place for place, each in enumerate(groups) if each.sex is not Sex.NOT_KNOWN]
    if not told:
        who = f"of those in {first}" if first else f"in {name}"
        raise UsageError(
            f"no sex was noted {who}", "note one with a check, such as “3 adult sex=f”"
        )
    comparison = None
    if len(told) > 1:
        comparison = survival_difference(
            [str(groups[place].sex) for place in told],
            [known[place][2] for place in told],
            [groups[place].reached for place in told],
            first,
        )
    return SurvivalBySex(name, first, groups, comparison)
