"""The stages of looks that said “no change”, and of individuals, as all looks are settled."""

from __future__ import annotations

from datetime import datetime

import numpy as np

from rearlog.analysis.stages.events import FATE_NAMES, EventHistory, event_history
from rearlog.records.derived_stages import derived_stages
from rearlog.records.log import CohortLog, Observation, State


def settled_stages(log: CohortLog) -> dict[Observation, str]:
    """The stage of each look that stands and said “no change” (see `settled_stage`)."""
    found, history = derived_stages(log), event_history(log)
    doubtful = doubtful_rows(history)
    days_of = log.cohort.clock.days
    for look, called in found.items():
        if (row := doubtful.get(look.individual)) is not None:
            found[look] = settled_stage(history, row, days_of(look.at), called)
    return found


def settled_states(log: CohortLog, history: EventHistory, moment: datetime) -> dict[str, State]:
    """What is known of each individual at a moment, `history` being the events by then.

    Whose looks contradict each other is in the stage, and has the fate, that its looks are settled
    to mean, `seen` first when it was surely so; of others it is their last look that counts.
    """
    states, instant = log.states_at(moment), log.cohort.clock.instant
    for code, row in doubtful_rows(history).items():
        last, fate = history.last_rank[row], history.fate[row]
        came = history.into_high[row, last]
        since = history.entered[row] if np.isnan(came) else came
        seen = history.end_high[row] if fate else since
        states[code] = State(history.stages[last], instant(float(seen)), FATE_NAMES[fate])
    return states


def doubtful_rows(history: EventHistory) -> dict[str, int]:
    """The rows of those whose looks contradict each other, by their codes."""
    codes = {each.individual for each in history.doubts}
    return {code: row for row, code in enumerate(history.codes) if code in codes}


def settled_stage(history: EventHistory, row: int, day: float, called: str) -> str:
    """The stage of an individual on a day (since zero) on which nobody said a stage.

    It is the one `called` last, unless what the looks are settled to mean leaves no room for it:
    then the nearest stage that it leaves room for.
    """
    low, high = history.stages_at(np.array([row]), np.array([day]))
    place = min(max(history.stages.index(called), int(low[0])), int(high[0]))
    return history.stages[place]
