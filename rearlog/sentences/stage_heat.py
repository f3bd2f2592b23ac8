"""How much heat a cohort had, and by when."""

from __future__ import annotations

from collections.abc import Sequence

from rearlog.analysis.stages.stage_heat import Heat
from rearlog.sentences.expected import thresholds_differ
from rearlog.sentences.phrases import Finding, by_cohort, short_date
from rearlog.sentences.texts import Texts


def title(results: Sequence[Heat]) -> str:
    """The finding: how much heat there was, by when."""
    if len(results) > 1:
        findings = []
        for each in results:
            total, day = each.known_total
            words = f"{total:.0f} by {short_date(day)}" if day else "unknown"
            findings.append(Finding(each.cohort, total, words))
        return f"Degree-days: {by_cohort(findings)}"
    total, day = results[0].known_total
    if day is None:
        return f"The first day of {results[0].cohort} has no temperature: the total is not known"
    limit = f"above {results[0].lower:g} °C"
    text = f"{total:.0f} degree-days {limit} by {short_date(day)} in {results[0].cohort}"
    return text if day == results[0].daily[-1].date else f"{text}, not known after"


def alt_text(results: Sequence[Heat]) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(each.cohort for each in results)
    missing = sum(each.coverage.missing for each in results)
    gap = f"; {missing} days have no temperature" if missing else ""
    return f"Chart of the degree-days of {names} by date. {title(results)}{gap}."


def notes(results: Sequence[Heat], *, stages_marked: bool) -> list[str]:
    """What the marks of the chart are, and how degree-days are counted."""
    sentences = []
    if stages_marked:
        sentences.append("Marks on the line: when half of those who came into a stage had done so")
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


TEXTS: Texts = {Heat: {"no_expected": no_expected}}
