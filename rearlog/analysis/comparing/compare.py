"""Whether cohorts differ: in how long stages took, in the heat they needed, in survival."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar

from msgspec.structs import replace

from rearlog.analysis.answer import Answer
from rearlog.analysis.comparing.cohorts import ComparedCohort, names_of, sharing
from rearlog.analysis.comparing.compare_stage import compare_stage
from rearlog.analysis.comparing.stage_comparison import (
    DAYS,
    DEGREE_DAYS,
    MOST_IN_PAIRS,
    WHOLE,
    StageComparison,
)
from rearlog.analysis.comparing.survival_difference import SurvivalComparison, survival_between
from rearlog.analysis.heat.gap_filling import TemperatureGaps
from rearlog.analysis.stages.events import EventHistory
from rearlog.analysis.stages.stage_times import StageTimes, stage_times, stage_times_of
from rearlog.analysis.statistics.differences import Verdict, holm, verdict
from rearlog.analysis.statistics.pairs import letters


class Comparison(Answer, frozen=True):
    """Cohorts compared, stage by stage, as a whole, and in survival.

    `species` are those of the cohorts, each once: of several, stages of the same name are compared
    whatever they are. `days_only` are cohorts without temperatures or without a threshold; `gaps`
    are those in the temperatures of the others. All may be of the same `clutches_divided` among
    them. Of many cohorts only all at once were compared, and none `in_pairs`. Where groups are
    compared, `by` is the factor that parts them, and the level of
    `not_known` individuals is not known, so that they are in none. Cohorts of one group differ
    in what they are `pooled_over` besides, as in temperature, which may be `inseparable` from it.
    """

    main: ClassVar[str] = "stages.groups"

    cohorts: tuple[str, ...]
    species: tuple[str, ...]
    stages: tuple[StageComparison, ...]
    survival: SurvivalComparison
    days_only: tuple[str, ...]
    gaps: tuple[TemperatureGaps, ...]
    clutches_divided: bool
    by: str | None = None
    not_known: int = 0
    pooled_over: tuple[str, ...] = ()
    inseparable: bool = False
    in_pairs: bool = True

    @property
    def whole(self) -> tuple[StageComparison, ...]:
        """The whole development, in each unit; none where nobody completed it."""
        return self._of(WHOLE)

    @property
    def overall(self) -> tuple[StageComparison, ...]:
        """The whole development, or else the last stage or span that was compared, in each unit."""
        return self.whole or self._of(self.stages[-1].stage if self.stages else WHOLE)

    def _of(self, stage: str) -> tuple[StageComparison, ...]:
        return tuple(each for each in self.stages if each.stage == stage)


def compare(
    cohorts: Sequence[ComparedCohort],
    first: str | None = None,
    until: str | None = None,
    *,
    in_pairs: bool | None = None,
) -> Comparison:
    """Compare cohorts stage by stage and as a whole, or in the one span that is asked for.

    A cohort without a heat curve is compared in days only.

    Each stage in days and in degree-days (see `compare_stage`), with Holm's correction over the
    stages; the whole development is tested by itself. Of more than MOST_IN_PAIRS cohorts the pairs
    are compared only with `in_pairs`. Bootstrap intervals for the differences of medians; survival
    by `survival_between`. From the last stage on there is nothing to complete: only how long they
    lived in it is compared.

    Raises UsageError for fewer than two cohorts, one given twice, or a span that is none.
    """
    names = names_of(cohorts, "a comparison needs two cohorts or more")
    shared = sharing(cohorts)
    if in_pairs is None:
        in_pairs = len(cohorts) <= MOST_IN_PAIRS
    lasting = until is None and {each.history.stages[-1] for each in cohorts} == {first}
    spans = [] if lasting else spans_of([each.history for each in cohorts], first, until)
    stages: list[StageComparison] = []
    for unit in (DAYS, DEGREE_DAYS):
        stages += _corrected(
            compare_stage(stage, unit, cohorts, times, shared, in_pairs=in_pairs)
            for stage, times in spans
        )
    return Comparison(
        names,
        tuple(sorted({each.species for each in cohorts})),
        tuple(stages),
        survival_between(cohorts, first, until),
        tuple(each.cohort for each in cohorts if each.curve is None and not lasting),
        tuple(gaps for each in cohorts if (gaps := each.gaps) is not None and not lasting),
        shared.divided,
        in_pairs=in_pairs,
    )


def spans_of(
    histories: Sequence[EventHistory], first: str | None, until: str | None
) -> list[tuple[str, Sequence[StageTimes | None]]]:
    """The times of each cohort in every stage that some can complete, and in the whole; or in the
    one span that is asked for. None where a cohort has no such stage. Raises UsageError for a span
    that is none."""
    if first is not None or until is not None:
        spans = [stage_times_of(each, first, until)[0] for each in histories]
        return [(f"{spans[0].first} to {spans[0].until}", spans)]
    known = dict.fromkeys(code for each in histories for code in each.stages[:-1])
    every_stage = [(stage, [_times(each, stage) for each in histories]) for stage in known]
    whole = [stage_times(each, each.stages[0], each.stages[-1]) for each in histories]
    return [*every_stage, (WHOLE, whole)]


def _times(history: EventHistory, stage: str) -> StageTimes | None:
    return stage_times(history, stage) if stage in history.stages[:-1] else None


def _corrected(rows: Iterable[StageComparison]) -> list[StageComparison]:
    """The rows in which somebody completed something, the whole last, with Holm's correction of
    the others and what it says."""
    rows = [row for row in rows if any(group.n for group in row.groups)]
    alone = (row.p for row in rows if row.stage == WHOLE)
    adjusted = (*holm([row.p for row in rows if row.stage != WHOLE]), *alone)
    return [_judged(row, p) for row, p in zip(rows, adjusted, strict=True)]


def _judged(row: StageComparison, p_holm: float | None) -> StageComparison:
    """The row with what its corrected p says of it, and of its pairs."""
    found = verdict(p_holm)
    alone = found is Verdict.NOT_SHOWN and row.verdict is Verdict.DIFFER
    # of two cohorts what is said of the stage, and of more no difference where it shows none
    pairs = tuple(
        replace(pair, verdict=found) if pair.verdict is Verdict.DIFFER else pair
        for pair in row.pairs
    )
    row = replace(row, p_holm=p_holm, verdict=found, shown_alone=alone, pairs=pairs)
    return _lettered(row) if pairs else row


def _lettered(row: StageComparison) -> StageComparison:
    """The row with the letters of its pairs, a for the lowest mean."""
    tested = [each.cohort for each in row.by_mean if each.cohort not in row.left_out]
    differ = [
        (tested.index(pair.cohort), tested.index(pair.other))
        for pair in row.pairs
        if pair.verdict is Verdict.DIFFER
    ]
    told = dict(zip(tested, letters(len(tested), differ), strict=True))
    return replace(
        row, groups=tuple(replace(each, letters=told.get(each.cohort)) for each in row.groups)
    )
