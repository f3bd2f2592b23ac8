"""What was written down of a cohort, in the order of writing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from rearlog.analysis.stages.in_doubt import InDoubt
    from rearlog.records.log import Individual, Observation, Temperature
    from rearlog.records.rounds import WrittenRound
    from rearlog.store.redaction import Redaction


class History(Struct, frozen=True):
    """Records of a cohort in the order of writing, and the rounds that its observations make up.

    `withdrawn` are the individuals that were entered by mistake, `of_withdrawn` what was said of
    them; neither is among the others. `redactions` tell when words were taken out, by whom, and of
    which fields; where only some records are asked for, those that concern them. `in_doubt` is what
    is, among these records.
    """

    cohort: str
    observations: tuple[Observation, ...]
    temperatures: tuple[Temperature, ...]
    rounds: tuple[WrittenRound, ...]
    withdrawn: tuple[Individual, ...] = ()
    of_withdrawn: tuple[Observation, ...] = ()
    redactions: tuple[Redaction, ...] = ()
    in_doubt: tuple[InDoubt, ...] = ()
