"""Invented lives: when each of n individuals truly passes from stage to stage, dies or is lost.

The model, an assumption of this project. Development is heat alone: individual i leaves stage s
once it has gathered the degree-days K_is there, whatever the temperatures. K_is is log-normal with
the profile's mean and SD. What two stages of one individual share is its `pace`: the correlation,
on the log scale, of K between any two stages (0: none; 1: who is slow once is slow always). Death
comes in a stage with a given probability, at a share of the stage's heat that is uniform; it does
not depend on the pace. The result is the truth that checks of a cohort can only bracket.

Development by accumulated heat with a distribution of needs between individuals is the model of
Sharpe, Curry, DeMichele & Cole 1977, J. Theor. Biol. 66:21–38 (cited from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Booleans, Floats, Integers
from rearlog.analysis.heat.heat_curve import HeatCurve
from rearlog.analysis.stages.events import ALIVE, DEAD, LOST
from rearlog.analysis.stages.heat_needs import Needs
from rearlog.analysis.stages.profile_values import USUAL_PACE
from rearlog.analysis.statistics.log_normal import log_normal, related
from rearlog.records.errors import UsageError


class Mortality(Struct, frozen=True):
    """Deaths in one stage: the probability for who enters it, and the causes (equally likely)."""

    probability: float
    causes: tuple[str, ...] = ()


class Chances(Struct, frozen=True):
    """What may befall an individual: death by stage, and to go missing before it is adult (`loss`,
    a probability). `pace` is the correlation of K between its stages."""

    mortality: Mapping[str, Mortality] = {}
    loss: float = 0.0
    pace: float = USUAL_PACE


class Lives(Struct, frozen=True, eq=False):
    """The truth of n individuals in S stages, in days since the cohort's zero.

    `into[i, s]` (n, S) is the passage of individual i into stage s, from the laying of its egg on;
    NaN for stages left out or never reached. `heat` (n, S − 1) are the degree-days that each stage
    takes. `fate` (n,) is ALIVE, DEAD or LOST, `end` (n,) its day (inf while alive), `causes` (n,)
    the cause of each death.
    """

    stages: tuple[str, ...]
    optional: Booleans
    into: Floats
    heat: Floats
    fate: Integers
    end: Floats
    causes: tuple[str | None, ...]

    @property
    def finished(self) -> Floats:
        """The day on which each individual became adult, died or was lost, shape (n,)."""
        return np.where(self.fate == ALIVE, self.into[:, -1], self.end)

    def ranks_at(self, day: float) -> Integers:
        """The place of the stage that each individual is in (or was, at its end) on a day, (n,)."""
        ranks: Integers = np.where(self.into <= day, np.arange(len(self.stages)), 0).max(axis=1)
        return ranks

    def grown(self, curve: HeatCurve, day: float) -> Floats:
        """The part of its stage's heat, 0 to 1, that each individual has had by a day, shape (n,).

        Of no meaning in the last stage, which has no end.
        """
        rows, ranks = np.arange(len(self.fate)), self.ranks_at(day)
        had = curve.at(day) - curve.at(self.into[rows, ranks])
        return had / self.heat[rows, np.minimum(ranks, len(self.stages) - 2)]


def live(
    needed: Needs, curve: HeatCurve, laid: Floats, chances: Chances, rng: np.random.Generator
) -> Lives:
    """The lives of n individuals whose eggs were laid on the days `laid` (n,), zero or before.

    `curve` is the heat that they get; beyond its end the recent rate goes on. Everyone is a living
    egg at zero. Raises UsageError where the temperatures do not carry everyone to the last stage,
    or an egg would hatch before zero.
    """
    n, stages = len(laid), len(needed.stages)
    heat = log_normal(needed.mean, needed.sd, related(rng, (n, stages - 1), chances.pace))
    goals = np.column_stack((np.zeros(n), np.cumsum(heat, axis=1)))
    into = curve.when(laid[:, None], goals)
    if np.isnan(into).any():
        raise UsageError(
            "these temperatures do not carry the cohort to its last stage",
            f"give every day from the laying on, above {curve.settings.lower:g} °C",
        )
    if (into[:, 1] <= 0).any():
        raise UsageError(
            "some eggs would hatch before the cohort starts", "start it sooner after the laying"
        )
    had = curve.between(laid, np.zeros(n))
    dies, causes = _deaths(rng, needed.stages, goals, had, chances.mortality)
    goes = had + rng.random(n) * (goals[:, -1] - had)
    goes = np.where(rng.random(n) < chances.loss, goes, np.inf)
    last_heat = np.minimum(dies, goes)
    fate = np.where(np.isinf(last_heat), ALIVE, np.where(dies < goes, DEAD, LOST))
    over = fate != ALIVE
    end = np.full(n, np.inf)
    end[over] = curve.when(laid[over], last_heat[over])
    into[(goals > last_heat[:, None]) | needed.optional] = np.nan
    return Lives(
        needed.stages,
        needed.optional,
        into,
        heat,
        fate,
        end,
        tuple(cause if state == DEAD else None for cause, state in zip(causes, fate, strict=True)),
    )


def _deaths(
    rng: np.random.Generator,
    stages: Sequence[str],
    goals: Floats,
    had: Floats,
    mortality: Mapping[str, Mortality],
) -> tuple[Floats, list[str | None]]:
    """The heat at which each individual dies (inf: it does not), after `had`, and the cause."""
    n = len(goals)
    dies = np.full(n, np.inf)
    causes: list[str | None] = [None] * n
    for rank, stage in enumerate(stages[:-1]):
        risk = mortality.get(stage, Mortality(0.0))
        strikes = (rng.random(n) < risk.probability) & np.isinf(dies)
        first, last = np.maximum(goals[:, rank], had), goals[:, rank + 1]
        dies = np.where(strikes, first + rng.random(n) * (last - first), dies)
        for place in np.flatnonzero(strikes) if risk.causes else ():
            causes[place] = risk.causes[rng.integers(len(risk.causes))]
    return dies, causes
