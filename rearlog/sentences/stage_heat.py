"""How much heat a cohort had, and by when."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from rearlog.analysis.stages.expected import Timing
from rearlog.analysis.stages.stage_heat import Heat, StageHeat
from rearlog.records.wording import counted
from rearlog.sentences.expected import beyond_doubt, less_or_more, off, thresholds_differ
from rearlog.sentences.phrases import (
    Finding,
    by_cohort,
    degree_days,
    listed,
    long_date,
    sentence_case,
    short_date,
    there,
    with_short_names,
)
from rearlog.sentences.texts import Texts

if TYPE_CHECKING:
    from rearlog.analysis.comparing.compare import Comparison


def lead(result: Heat) -> str:
    """How much heat there was by when, and whether the stages needed as much as expected."""
    total, day = result.known_total
    if day is None:
        return (
            f"How much heat {result.cohort} had is not known, since its first day has no "
            "temperature."
        )
    known = "" if day == result.daily[-1].date else " (not known after)"
    text = f"{result.cohort} had {total:.0f} {degree_days(result.lower)} by {long_date(day)}{known}"
    return f"{text}{_needs([each for each in result.stages if each.mean is not None])}."


def _needs(done: Sequence[StageHeat]) -> str:
    """How what the stages needed lies to what was expected; nothing where that is not known."""
    away = off(done)
    shown = [each for each in away if beyond_doubt(each)]
    if shown:
        worst = max(shown, key=_share_off)
        alike = [each.stage for each in shown if each.verdict is worst.verdict]
        most = f"{worst.stage} most, " if len(alike) > 1 else ""
        return (
            f"; {listed(alike)} needed {less_or_more(worst)} than expected: {most}{_beside(worst)}"
        )
    if away:
        worst = max(away, key=_share_off)
        return f"; {worst.stage} needed {less_or_more(worst)} than expected, as it may be by chance"
    held = [each.stage for each in done if each.verdict is Timing.AS_EXPECTED]
    if not held:
        return ""
    which = "every stage that is over" if len(held) == len(done) > 1 else listed(held)
    return f"; {which} needed about as much of it as expected"


def _share_off(each: StageHeat) -> float:
    """By what part of the mean it lies off the range, for stages differ in length; without bounds
    where it needed nothing."""
    (low, high), mean = there(each.expected), there(each.mean)
    return max(low - mean, mean - high) / mean if mean else math.inf


def _beside(each: StageHeat) -> str:
    low, high = there(each.expected)
    return f"{each.mean:.0f} degree-days, {low:.0f} to {high:.0f} were expected"


def compared(each: StageHeat) -> str | None:
    """How the mean lies to the expected range, for a cell; None where nothing is expected."""
    match each.verdict:
        case Timing.AS_EXPECTED:
            return "as expected"
        case Timing.SHORTER | Timing.LONGER:
            return f"{less_or_more(each)}{'' if beyond_doubt(each) else ', or chance'}"
    return None


def title(results: Sequence[Heat], compared: Comparison | None = None) -> str:
    """The finding: whether the stages needed as much heat as expected, or the cohorts about the
    same, where a test of them (`compared`) tells; else how much there was, by when."""
    names = [each.cohort for each in results]
    if len(results) == 1:
        return with_short_names(_alone(results[0]), names)
    return with_short_names(_of_all(compared) or _totals(results), names)


def _of_all(compared: Comparison | None) -> str | None:
    if compared is None:
        return None
    from rearlog.sentences.compare import heat_title  # start-up time: one cohort needs it not

    return heat_title(compared)


def _alone(result: Heat) -> str:
    total, day = result.known_total
    where = f"in {result.cohort}"
    if day is None:
        return f"The first day of {result.cohort} has no temperature: the total is not known"
    done = [each for each in result.stages if each.mean is not None]
    shown = [each for each in off(done) if beyond_doubt(each)]
    had = f"{total:.0f} degree-days above {result.lower:g} °C by {short_date(day)}"
    if day != result.daily[-1].date:
        had += ", not known after"
    if shown:
        worst = max(shown, key=_share_off)
        stage = sentence_case(worst.stage)
        low, high = there(worst.expected)
        needed = f"{worst.mean:.0f} degree-days, not {low:.0f} to {high:.0f}"
        return f"{stage} needed {less_or_more(worst)} heat than expected {where}: {needed}"
    held = [each.stage for each in done if each.verdict is Timing.AS_EXPECTED]
    if held and len(held) == len(done):
        which = "Stages" if len(held) > 1 else sentence_case(held[0])
        return f"{which} needed about the heat expected {where}: {had}"
    return f"{had} {where}"


def _totals(results: Sequence[Heat]) -> str:
    known = [(each.cohort, *each.known_total) for each in results]
    days = {day for _, _, day in known}
    (first, *others) = days
    if first is not None and not others:
        totals = [Finding(name, total, f"{total:.0f}") for name, total, _ in known]
        return f"Degree-days had by {short_date(first)}: {by_cohort(totals)}"
    findings = [
        Finding(name, total, f"{total:.0f} by {short_date(day)}" if day else "unknown")
        for name, total, day in known
    ]
    return f"Degree-days had: {by_cohort(findings)}"


def alt_text(results: Sequence[Heat]) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(each.cohort for each in results)
    missing = sum(each.coverage.missing for each in results)
    gap = f"; no temperature on {counted(missing, 'day')}" if missing else ""
    return f"Chart of the degree-days of {names} by date. {title(results)}{gap}."


def label(result: Heat) -> str:
    """The name of a cohort, and how warm it had it."""
    return result.cohort + ("" if result.celsius is None else f", {result.celsius:.1f} °C")


def notes(
    results: Sequence[Heat], *, stages_marked: bool, expected_marked: bool = True
) -> list[str]:
    """What the marks of the chart are, and how degree-days are counted."""
    sentences = []
    if stages_marked:
        sentences.append("Marks on the line: when half of those who came into a stage had done so")
        if expected_marked and any(each.expected_totals for each in results):
            sentences.append("Upright bars: the heat by which the profile expects it")
    changed = dict.fromkeys(short_date(day) for each in results for day in each.clock_changes)
    if changed:
        sentences.append(f"Clocks changed on {', '.join(changed)}: not a day of 24 hours")
    if any(each.coverage.filled for each in results):
        sentences.append("Hollow: filled from the days beside it")
    if any(each.coverage.missing for each in results):
        sentences.append("Hatched: no temperature, so no total from there on")
    ways = dict.fromkeys(
        f"{each.method}, threshold {each.lower:g} °C"
        + (f", upper {each.upper:g} °C ({each.cutoff} cutoff)" if each.upper is not None else "")
        for each in results
    )
    return [". ".join([*sentences, f"Counted by {' or '.join(ways)}"]) + "."]


def no_expected(result: Heat) -> str | None:
    """Why the profile's ranges are left out; None where they are not."""
    others = result.other_thresholds
    return None if others is None else thresholds_differ(others)


TEXTS: Texts = {Heat: {"no_expected": no_expected, "lead": lead}}
