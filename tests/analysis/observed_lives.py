"""What checks of invented lives can tell, without writing every check down: for many cohorts."""

import numpy as np
import numpy.typing as npt

from rearlog.analysis.arrays import Floats
from rearlog.analysis.simulation.lives import Lives
from rearlog.analysis.stages.events import ALIVE, DEAD, EventHistory


def observe(
    lives: Lives, checks: Floats, laid: tuple[npt.ArrayLike, npt.ArrayLike]
) -> EventHistory:
    """What checks at the days `checks` (m,), ascending and after zero, can tell of these lives.

    The same as to write every check down and derive the events from the records, but fast. Each
    individual enters at zero as an egg, known to be laid between the days `laid`, and is looked at
    until it is seen as adult, dead or lost. What happens is seen at the next check, so it lies
    between the check before (or zero) and that one; what happens after the last check is not seen.
    The dead tell the stage in which they died; of the lost, nothing is seen after the last check.
    """
    looks = np.concatenate(([0.0], checks, [np.inf]))
    never = len(looks) - 1
    gone = np.searchsorted(looks, lives.end)
    seen = np.searchsorted(looks, lives.into)  # NaN comes after all
    last_seen = np.where(lives.fate == DEAD, gone, gone - 1)
    known = seen <= np.minimum(last_seen, never - 1)[:, None]
    seen = np.where(known, np.maximum(seen, 1), 1)
    into_low = np.where(known, looks[seen - 1], np.nan)
    into_high = np.where(known, looks[seen], np.nan)
    into_low[:, 0], into_high[:, 0] = laid
    found = gone < never
    last = np.where(found, gone, np.where(known[:, -1], seen[:, -1], never - 1))
    alive = np.where(found, last - 1, last)
    return EventHistory(
        stages=lives.stages,
        optional=lives.optional,
        codes=tuple(str(number) for number in range(1, len(gone) + 1)),
        entered=np.zeros(len(gone)),
        entry_rank=np.zeros(len(gone), dtype=np.int64),
        last_rank=np.where(known, np.arange(len(lives.stages)), 0).max(axis=1),
        into_low=into_low,
        into_high=into_high,
        fate=np.where(found, lives.fate, ALIVE),
        end_low=np.where(found, looks[alive], np.nan),
        end_high=np.where(found, looks[last], np.nan),
        last_alive=looks[alive],
        last_in_stage=looks[alive],
        last_check=looks[last],
        causes=tuple(
            cause if dead else None for cause, dead in zip(lives.causes, found, strict=True)
        ),
    )
