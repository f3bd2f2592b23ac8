"""How many were in which stage, and by when half were seen in the last."""

from __future__ import annotations

from collections.abc import Sequence

from rearlog.analysis.stages.stage_counts import Arrival, StageCounts
from rearlog.sentences.expected import brackets
from rearlog.sentences.phrases import (
    Finding,
    by_cohort,
    cohorts_named,
    plural,
    short_date,
    with_short_names,
)


def title(results: Sequence[StageCounts]) -> str:
    """The finding: by when half of those in the last stage were seen, or what is there now."""
    names = [each.cohort for each in results]
    return with_short_names(_finding(results[0]) if len(results) == 1 else _of_all(results), names)


def _of_all(results: Sequence[StageCounts]) -> str:
    goal = results[0].stages[-1]
    arrivals = [_arrival(each, goal) for each in results]
    if not any(arrivals):
        return f"No {plural(goal)} yet in {cohorts_named([each.cohort for each in results])}"
    findings = [
        Finding(
            each.cohort,
            came.half_seen.toordinal() if came else float("inf"),
            f"{short_date(came.half_seen)} ({came.n} of {each.n})" if came else "not yet",
        )
        for each, came in zip(results, arrivals, strict=True)
    ]
    return f"Half of the {plural(goal)} came by: {by_cohort(findings)}"


def notes(results: Sequence[StageCounts]) -> list[str]:
    """What the layers and the brackets of the chart are."""
    layers = "In the stage in which each was last seen by the end of the day"
    expected = brackets([each.expected for each in results])
    return [". ".join(filter(None, (layers, expected))) + "."]


def alt_text(results: Sequence[StageCounts]) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(each.cohort for each in results)
    return f"Chart of the number in each stage by date in {names}. {title(results)}."


def _arrival(result: StageCounts, stage: str) -> Arrival | None:
    return next((each for each in result.arrivals if each.stage == stage), None)


def _finding(result: StageCounts) -> str:
    if not result.n:
        return f"{result.cohort} has no individuals yet"
    goal, last = result.stages[-1], result.days[-1]
    came = _arrival(result, goal)
    if came is not None:
        half = "" if came.n == 1 else "half of these "
        return f"{came.n} of {result.n} became {goal}, {half}by {short_date(came.half_seen)}"
    living = [
        f"{count} in {stage}"
        for stage, count in zip(result.stages, last.in_stage, strict=True)
        if count
    ]
    if living:
        return f"On {short_date(last.date)}: {', '.join(living)}"
    return f"None was left on {short_date(last.date)}: {last.dead} of {result.n} died"
