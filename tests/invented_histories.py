"""Histories of invented cohorts whose true times are known, without any code of the project but
the type that holds them: what looks every so many days show of lives that go on between."""

import numpy as np
from numpy.typing import NDArray

from rearlog.analysis.stages.events import ALIVE, DEAD, LOST, EventHistory

Floats = NDArray[np.float64]


def looked_at(
    passages: Floats,
    death: Floats,
    lost: Floats | None = None,
    every: float = 1.0,
    last: float = 60,
) -> EventHistory:
    """What is seen of n individuals in looks on day 0, `every`, 2 × `every` … until `last`.

    `passages` (n, S) are the true times of entering each stage, the first on day 0; `death` and
    `lost` (n,) the true times of both, inf for never.
    """
    n, stages = passages.shape
    lost = np.full(n, np.inf) if lost is None else lost
    final = np.floor(last / every) * every
    end = np.minimum(death, lost)
    seen_alive = np.minimum(np.where(end > 0, np.ceil(end / every) - 1, 0) * every, final)
    found = np.ceil(passages / every) * every
    passed = (found <= seen_alive[:, None]) & (np.arange(stages) > 0)
    end_found = np.where(np.isfinite(end), np.ceil(end / every) * every, np.inf)
    over = end_found <= final
    fate = np.where(over & (death <= lost), DEAD, np.where(over, LOST, ALIVE))
    return EventHistory(
        stages=("egg", *(f"L{k}" for k in range(1, stages - 1)), "adult"),
        optional=np.zeros(stages, dtype=bool),
        codes=tuple(map(str, range(n))),
        entered=np.zeros(n),
        entry_rank=np.zeros(n, dtype=np.int64),
        last_rank=passed.sum(axis=1),
        into_low=np.where(passed, found - every, np.nan),
        into_high=np.where(passed, found, np.nan),
        fate=fate.astype(np.int64),
        end_low=np.where(over, seen_alive, np.nan),
        end_high=np.where(over, end_found, np.nan),
        last_alive=seen_alive,
        last_in_stage=seen_alive,
        last_check=np.where(over, end_found, final),
        causes=(None,) * n,
    )
