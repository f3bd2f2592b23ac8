"""What is said of cohorts that stand out from many: how far they lie, and what may be why."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from rearlog.analysis.pooling.standing_out import (
    MUCH_DOUBT,
    MUCH_LOST,
    MUCH_MISSED,
    Direction,
    Reason,
    StandsOut,
)
from rearlog.sentences.phrases import during, listed, p_text, percent, sentence_case, there
from rearlog.sentences.texts import Texts

MOST_TOLD = 6
"""More cohorts that stand out than this are counted, not told one by one."""

_SIDES = {
    Direction.LONGER: "slower",
    Direction.SHORTER: "faster",
}
_WARMTH = (Reason.WARMER, Reason.COOLER)
_REASONS = {
    Reason.TEMPERATURES_STRUCK: (
        "a temperature was struck out of its records, so that which stands may be wrong"
    ),
    Reason.CHECKS_MISSED: f"more than {percent(MUCH_MISSED)} of the daily looks were not made",
    Reason.DOUBTS: f"looks contradict each other for more than {percent(MUCH_DOUBT)} of them",
    Reason.LOST: f"more than {percent(MUCH_LOST)} of them were lost or taken out on the way",
}


def stand_out_words(found: Sequence[StandsOut], stages: Sequence[str]) -> Iterator[str]:
    """Which cohorts lie far from the others, a sentence each, and what may be why; the `stages` in
    their order."""
    order = {stage: place for place, stage in enumerate(stages)}
    by_cohort: defaultdict[str, list[StandsOut]] = defaultdict(list)
    for each in found:
        by_cohort[each.id].append(each)
    groups = [*by_cohort.values()]
    for group in groups[:MOST_TOLD]:
        yield _stands_out(sorted(group, key=lambda one: _place(one, order)))
    if len(groups) > MOST_TOLD:
        left = len(groups) - MOST_TOLD
        who = "One more cohort stands" if left == 1 else f"{left} more cohorts stand"
        yield f"{who} out: the full tables have all of them."


def _place(each: StandsOut, order: Mapping[str, int]) -> tuple[int, int]:
    """The whole development before its stages, survival last."""
    if each.stage is None:
        return 2, 0
    return int(" to " not in each.stage), order.get(each.stage, len(order))


def _stands_out(group: Sequence[StandsOut]) -> str:
    """How one cohort lies beside the others, the whole development first, and what may be why."""
    first, *others = group
    text = f"{first.cohort} {_how_far(first)}"
    for side in dict.fromkeys(each.direction for each in group):
        names = [each.stage for each in others if each.direction is side and each.stage]
        if names:
            also = "also " if side is first.direction else ""
            text += f"; {also}{_SIDES[side]} in {listed(names)}"
    text += "".join(f"; {_came_through(each)}" for each in others if each.stage is None)
    return f"{text}. {_why(group)}."


def _how_far(each: StandsOut) -> str:
    if each.stage is None:
        return f"stands out: {_came_through(each)}"
    was = f"was {_SIDES[each.direction]} {during(each.stage)} than"
    if each.off_the_line:
        return (
            f"{was} others at its temperature: {each.value:.1f} days, {each.at_temperature:.1f} by "
            f"the line of all ({_corrected(there(each.p_line_holm))})"
        )
    return (
        f"{was} the others: {each.value:.1f} days, {each.centre:.1f} on average "
        f"({_corrected(each.p_holm)})"
    )


def _came_through(each: StandsOut) -> str:
    return (
        f"{percent(each.value)} came through, {percent(each.centre)} of all "
        f"({_corrected(each.p_holm)})"
    )


def why(each: StandsOut) -> str:
    """What may be why a cohort stands out, without a full stop."""
    return _why([each])


def _why(group: Sequence[StandsOut]) -> str:
    """The same of all in which one cohort does."""
    told = []
    first, *others = group
    if first.explained:
        alone = any(not each.explained for each in others if each.stage is not None)
        told.append(
            "Its temperature explains "
            + (f"how long it took {during(there(first.stage))}" if alone else "that")
        )
    # where its temperature is allowed for, that it is warm or cool is no reason
    reasons = {
        one: _reason(one, each)
        for each in reversed(group)
        for one in each.reasons
        if one not in _WARMTH or not (each.explained or each.off_the_line)
    }
    if reasons:
        text = listed([reasons[one] for one in Reason if one in reasons])
        told.append(f"besides, {text}" if told else sentence_case(text))
    return "; ".join(told) or "Nothing in its records says why"


def _reason(one: Reason, each: StandsOut) -> str:
    if one in _WARMTH:
        return f"it was at {each.celsius:.1f} °C, the middle cohort at {each.middle_celsius:.1f} °C"
    return _REASONS[one]


def _corrected(p: float) -> str:
    return f"{p_text(p)}, corrected for all of them"


TEXTS: Texts = {StandsOut: {"why": why}}
