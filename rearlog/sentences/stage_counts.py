"""How many were in which stage, and when half had come into the last."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from rearlog.analysis.stages.stage_counts import StageCounts
from rearlog.sentences.phrases import Finding, by_cohort, plural, short_date

NOTES = ("In the stage in which each was last seen by the end of the day.",)


def title(results: Sequence[StageCounts]) -> str:
    """The finding: when half of the arrivals in the last stage had come, or what is there now."""
    if len(results) == 1:
        return _finding(results[0])
    goal = results[0].stages[-1]
    days = [_median_day(each, goal) for each in results]
    if not any(days):
        return f"No {plural(goal)} yet in {', '.join(each.cohort for each in results)}"
    findings = [
        Finding(
            each.cohort,
            day.toordinal() if day else float("inf"),
            short_date(day) if day else "not yet",
        )
        for each, day in zip(results, days, strict=True)
    ]
    return f"Half of the {plural(goal)} had come: {by_cohort(findings)}"


def alt_text(results: Sequence[StageCounts]) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(each.cohort for each in results)
    return f"Chart of the number in each stage by date in {names}. {title(results)}."


def _median_day(result: StageCounts, stage: str) -> date | None:
    for each in result.arrivals:
        if each.stage == stage:
            return each.median.date()
    return None


def _finding(result: StageCounts) -> str:
    if not result.n:
        return f"{result.cohort} has no individuals yet"
    goal, last = result.stages[-1], result.days[-1]
    day = _median_day(result, goal)
    if day is not None:
        return f"Half of the {plural(goal)} had come by {short_date(day)}"
    living = [
        f"{count} in {stage}"
        for stage, count in zip(result.stages, last.in_stage, strict=True)
        if count
    ]
    if living:
        return f"On {short_date(last.date)}: {', '.join(living)}"
    return f"None was left on {short_date(last.date)}: {last.dead} of {result.n} died"
