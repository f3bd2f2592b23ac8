"""The stages of looks that said “no change”, as all looks together are settled."""

from __future__ import annotations

import numpy as np

from rearlog.analysis.stages.events import event_history
from rearlog.records.derived_stages import derived_stages
from rearlog.records.log import CohortLog, Observation


def settled_stages(log: CohortLog) -> dict[Observation, str]:
    """The stage of each look that stands and said “no change”.

    It is the stage called last, unless the looks of the individual contradict each other and what
    they are settled to mean leaves no room for it: then the nearest stage that it leaves room for.
    """
    found, history = derived_stages(log), event_history(log)
    doubtful = {each.individual for each in history.doubts}
    looks = [each for each in found if each.individual in doubtful]
    if not looks:
        return found
    row, rank = {code: n for n, code in enumerate(history.codes)}, log.cohort.species.rank
    rows = np.array([row[each.individual] for each in looks])
    days = np.array([log.cohort.clock.days(each.at) for each in looks])
    low, high = history.stages_at(rows, days)
    called = np.array([rank[found[each]] for each in looks])
    settled = np.clip(called, low, high)
    return found | {
        each: history.stages[place] for each, place in zip(looks, settled.tolist(), strict=True)
    }
