"""Cohorts invented with numpy alone: one stage, looked at by the day, with cages and latecomers."""

import numpy as np

from rearlog.analysis.comparing.cohorts import ComparedCohort
from rearlog.analysis.stages.events import ALIVE, DEAD, EventHistory

NEVER = np.inf


def looked_at(
    rng, days, *, begun=None, now=NEVER, dies=None, every=1.0, name="a", cages=None, clutches=None
):
    """A cohort whose stage L1 took so many `days` (n,) from `begun` on (else some time within five
    days), who `dies` (n,) so many days after, looked at `every` so many days until `now`."""
    n = len(days)
    begun = rng.uniform(10, 15, n) if begun is None else begun
    ended = begun + days
    died = np.full(n, NEVER) if dies is None else begun + dies
    phase = every * rng.random()

    def before(moment):
        return phase + np.floor((moment - phase) / every) * every

    last = before(now) if np.isfinite(now) else before(float(ended.max())) + 2 * every
    into_low, into_high = np.full((n, 3), np.nan), np.full((n, 3), np.nan)
    entered = before(begun) + every <= last
    into_low[entered, 1] = before(begun)[entered]
    into_high[entered, 1] = into_low[entered, 1] + every
    # nobody here passes through between two looks
    passed = entered & (ended < died) & (before(ended) + every <= last)
    passed &= before(ended) > before(begun)
    into_low[passed, 2] = before(ended)[passed]
    into_high[passed, 2] = into_low[passed, 2] + every
    dead = entered & ~passed & (before(died) + every <= last)
    alive = np.where(dead, np.maximum(before(np.where(dead, died, 0.0)), into_high[:, 1]), last)
    rank = np.where(passed, 2, np.where(entered, 1, 0))
    return ComparedCohort(
        name,
        "Moth",
        EventHistory(
            stages=("egg", "L1", "L2"),
            optional=np.zeros(3, dtype=bool),
            codes=tuple(map(str, range(n))),
            entered=np.zeros(n),
            entry_rank=np.zeros(n, dtype=np.int64),
            last_rank=rank,
            into_low=into_low,
            into_high=into_high,
            fate=np.where(dead, DEAD, ALIVE),
            end_low=np.where(dead, alive, np.nan),
            end_high=np.where(dead, alive + every, np.nan),
            last_alive=alive,
            last_in_stage=alive,
            last_check=np.where(dead, alive + every, alive),
            causes=(None,) * n,
        ),
        None,
        () if cages is None else tuple(map(str, cages)),
        () if clutches is None else tuple(map(str, clutches)),
    )


def lasting(rng, n, mean=8.0, cv=0.1):
    """Durations (n,) of a gamma distribution."""
    return rng.gamma(cv**-2, mean * cv**2, n)


def finished(rng, days, part, **more):
    """A cohort looked at until a `part` of it has finished."""
    begun = rng.uniform(10, 15, len(days))
    now = float(np.quantile(begun + days, part))
    return looked_at(rng, days, begun=begun, now=now, **more)


def caged(rng, sizes, effect, mean=8.0, cv=0.06):
    """Durations of animals in cages of these sizes, whose means differ by `effect` (a part), and
    their cages."""
    cages = np.repeat(np.arange(len(sizes)), sizes)
    of_cages = mean * np.exp(effect * rng.normal(size=len(sizes)))
    return lasting(rng, len(cages), 1.0, cv) * of_cages[cages], cages
