"""What is said of values that a keeper's own cohorts tell."""

from __future__ import annotations

from collections.abc import Iterator

from rearlog.analysis.comparing.learning import (
    FEWEST,
    Learned,
    LearnedStage,
    LearnedThreshold,
    LearnedValue,
)
from rearlog.records.wording import counted
from rearlog.sentences.phrases import listed


def citation(found: Learned) -> str:
    """Where the values come from, as a profile cites it."""
    cohorts = f"{'cohorts' if len(found.cohorts) > 1 else 'cohort'} {listed(found.cohorts)}"
    return (
        f"Own {cohorts}: means of those who completed a stage, by the middles of the intervals "
        "between checks; n, cohorts and standard error stand beside each value."
    )


def note(value: LearnedValue) -> str:
    """Of how many individuals of which cohorts it is, and how sure."""
    return f"n = {value.n} in {listed(value.cohorts)}, standard error {value.se:.2g}"


def threshold_note(found: LearnedThreshold) -> str:
    """What a threshold rests on, and how sure it is."""
    at = listed([f"{celsius:.1f}" for celsius in found.at])
    sure = "" if found.se is None else f", standard error {found.se:.2g} °C"
    few = "; two temperatures say nothing of its error" if len(found.at) == 2 else ""
    return f"{found.stage} at {at} °C{sure}{few}"


def left_out(stage: LearnedStage, *, is_instar: bool, lower: float | None) -> Iterator[str]:
    """What is not learned of a stage, and why; and what of it was left aside."""
    if stage.unfinished:
        yield f"Some are still in it in {listed(stage.unfinished)}: not counted."
    if stage.days is None:
        yield _too_few("days", stage.completed)
    elif stage.days.sd is None:
        yield "Days: individuals differ by less than the checks can show, so no spread."
    if stage.at_other_temperatures:
        others = listed(stage.at_other_temperatures)
        yield f"Days hold for one temperature; {others} had another: see the degree-days."
    if stage.degree_days is None:
        if lower is None:
            yield "No degree-days: no lower threshold is known."
        else:
            yield _too_few("degree-days", stage.heated)
    elif stage.degree_days.sd is None:
        yield "Degree-days: individuals differ by less than the checks can show, so no spread."
    if is_instar and stage.head_width_mm is None:
        yield _too_few("head widths", stage.measured)


def _too_few(what: str, n: int) -> str:
    return f"No {what}: {n} tell of them, fewer than {FEWEST}."


def summary(found: Learned) -> str:
    """How much was learned, in a line."""
    parts = [
        f"{what} of {counted(n, word)}"
        for what, word, n in (
            ("days", "stage", sum(each.days is not None for each in found.stages)),
            ("degree-days", "stage", sum(each.degree_days is not None for each in found.stages)),
            ("head widths", "instar", sum(each.head_width_mm is not None for each in found.stages)),
        )
        if n
    ]
    if found.threshold is not None:
        parts.append(f"a lower threshold of {found.threshold.celsius:.1f} °C")
    return f"Learned of {listed(found.cohorts)}: {listed(parts)}"
