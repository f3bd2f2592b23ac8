"""Whether a mean of those that completed a stage stands for all that entered it."""

from __future__ import annotations

from enum import StrEnum

import numpy as np
from msgspec import Struct

from rearlog.analysis.stages.stage_times import StageOutcome, StageTimes


class MeanOf(StrEnum):
    """Of whom a mean of completed durations is, those who might have taken longer apart."""

    EVERYBODY = "everybody"
    EARLY = "the_early_ones"
    """Some are still in the stage."""
    SURVIVORS = "the_survivors"
    """Some died, were lost or were taken out on the way."""


class LeftOpen(Struct, frozen=True):
    """Of the `known` whose start in a stage is known, those that were not seen to complete it
    although they were watched for longer than the quickest can have taken: `still_in` it or `gone`.

    Who was watched for less says nothing of how long the stage takes, and is not among them.
    """

    known: int
    still_in: int
    gone: int

    @property
    def n(self) -> int:
        """How many there are."""
        return self.still_in + self.gone

    @property
    def mean_of(self) -> MeanOf:
        """Of whom the mean of the others is: what is the more common of the two stands for both."""
        if not self.n:
            return MeanOf.EVERYBODY
        return MeanOf.EARLY if self.still_in >= self.gone else MeanOf.SURVIVORS


def left_open(spans: StageTimes) -> LeftOpen:
    """Who was left open in a stage, in a span of several."""
    known, over = spans.start_known, spans.which(StageOutcome.COMPLETED)
    watched = known & ~over & (spans.low > spans.low[over].min(initial=np.inf))
    still_in = int((watched & spans.which(StageOutcome.IN_STAGE)).sum())
    return LeftOpen(int(known.sum()), still_in, int(watched.sum()) - still_in)
