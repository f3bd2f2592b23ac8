"""Of which individuals something may be in doubt: found without reading record by record."""

from __future__ import annotations

from collections import Counter

from rearlog.analysis.stages.events import EventHistory
from rearlog.records.columns import columns_of
from rearlog.records.fields import COUNTS
from rearlog.records.log import CohortLog


def in_question(log: CohortLog, history: EventHistory) -> set[str]:
    """The codes of those whose looks contradict each other in their stages (as `history` has it) or
    their sex, and of those of whom eggs were counted."""
    stages = {history.codes[row] for row in history.questionable}
    return stages | _with_counts(log) | _of_both_sexes(log)


def _with_counts(log: CohortLog) -> set[str]:
    """The individuals whose eggs were counted, or which eggs hatched of them."""
    looks = columns_of(log)
    counts = [looks[each.name] for each in COUNTS]
    if all(set(each.distinct) <= {None} for each in counts):
        return set()
    rows = zip(looks["individual"], *counts, strict=True)
    return {code for code, *found in rows if any(each is not None for each in found)}


def _of_both_sexes(log: CohortLog) -> set[str]:
    """The individuals of which two sexes were noted."""
    looks = columns_of(log)
    if len(set(looks["sex"].distinct) - {None}) < 2:
        return set()
    told = {(code, sex) for code, sex in zip(looks["individual"], looks["sex"], strict=True) if sex}
    return {code for code, count in Counter(code for code, _ in told).items() if count > 1}
