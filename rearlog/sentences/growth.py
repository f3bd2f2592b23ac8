"""How a cohort grew."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rearlog.analysis.growth.growth import Growth
from rearlog.analysis.growth.instars import NoDyar
from rearlog.analysis.growth.width_groups import NoGroups
from rearlog.records.wording import counted
from rearlog.sentences.phrases import (
    Finding,
    by_cohort,
    cohorts_named,
    listed,
    there,
    with_short_names,
)
from rearlog.sentences.texts import Texts

FEWEST_FOR_A_RULE = 3
"""Instars: two show one step, and no rule from instar to instar."""

WHY_NO_DYAR = {
    NoDyar.NO_WIDTHS: "no head widths were measured",
    NoDyar.ONE_INSTAR: "widths of at least two instars are needed",
    NoDyar.NO_GROWTH: "the widths do not grow from instar to instar",
}


def lead(result: Growth) -> str:
    """How the head grew from stage to stage, else how the mass did, or that neither is known."""
    fit, where = result.dyar, f"in {result.cohort}"
    if fit is not None:
        first, *_, last = result.instars
        return (
            f"From one larval stage to the next the head grew {fit.ratio:.2f} times as wide "
            f"{where}: {first.head_width_mm_mean:.2f} mm in {first.stage}, "
            f"{last.head_width_mm_mean:.2f} mm in {last.stage}."
        )
    if result.mass_fold is not None:
        return (
            f"The mass grew {result.mass_fold:.0f}-fold on average {where} from the first weighing "
            f"to the heaviest ({result.weighed_again} weighed again)."
        )
    if not result.series:
        return f"Nothing was measured {where}."
    looks = counted(len(result.series), "look")
    return f"{looks} {where} came with a measure, too few to say how fast they grew."


def words(result: Growth) -> tuple[str, ...]:
    """How the head and the mass grew, or why that cannot be said."""
    lines = []
    fit = result.dyar
    if fit is not None:
        error = f" (standard error {fit.se:.3f})" if fit.se is not None else ""
        lines.append(
            f"From instar to instar the head grows {fit.ratio:.2f} times as wide{error}; "
            f"{fit.n} widths{'' if fit.followed is None else _followed(fit.followed)}."
        )
        if fit.missed_after is not None:
            lines.append(
                f"The step after instar {fit.missed_after} is about two steps: "
                "an instar may have been missed there."
            )
    elif result.no_dyar is not None:
        lines.append(f"No growth ratio: {WHY_NO_DYAR[result.no_dyar]}.")
    lines += _groups(result)
    if result.mass_fold is not None:
        lines.append(
            f"Mass grew {result.mass_fold:.0f}-fold on average from the first weighing to the "
            f"heaviest (n = {result.weighed_again})."
        )
    return tuple(lines)


def _groups(result: Growth) -> Iterator[str]:
    """How many instars the widths show by themselves, and how well they lie apart."""
    found = result.groups
    if result.no_groups is NoGroups.COARSE:
        yield "The widths were read in steps too coarse to find instars by them alone."
    if found is None or len(found.groups) < 2:
        return
    means = listed([f"{each.mean_mm:.2f}" for each in found.groups])
    limits = [f"{each.limit_mm:.2f}" for each in found.groups if each.limit_mm is not None]
    yield (
        f"By {found.n} widths alone there are {len(found.groups)} groups, about {means} mm wide, "
        f"with {'limits' if len(limits) > 1 else 'a limit'} at {listed(limits)} mm; "
        f"{100 * found.mistaken:.1f} % would be taken for a neighbour."
    )


def _followed(animals: int) -> str:
    return f", by the growth of {animals} animals from one instar to another"


def title(results: Sequence[Growth]) -> str:
    """The finding: the ratio of head widths, else how many fold the mass grew."""
    return with_short_names(_title(results), [each.cohort for each in results])


def _title(results: Sequence[Growth]) -> str:
    ratios = [(each.cohort, each.dyar) for each in results]
    found = [Finding(name, fit.ratio, f"{fit.ratio:.2f}") for name, fit in ratios if fit]
    if len(results) == 1 and found:
        fit = there(results[0].dyar)
        error = f" ± {fit.se:.2f}" if fit.se is not None else ""
        times = f"{fit.ratio:.2f}{error} times as wide"
        first, *_, last = results[0].instars
        n = sum(each.n for each in results[0].instars)
        if len(results[0].instars) < FEWEST_FOR_A_RULE:
            return (
                f"From {first.stage} to {last.stage} the head grew {times} at each molt (n = {n})"
            )
        return f"From instar to instar the head grows {times} (n = {n})"
    if found:
        return f"Growth of the head from instar to instar: {by_cohort(found)} times"
    folds = [(each.cohort, each.mass_fold) for each in results]
    grown = [Finding(name, fold, f"{fold:.0f}-fold") for name, fold in folds if fold is not None]
    if grown:
        return f"Mass grew: {by_cohort(grown)}"
    if any(each.series for each in results):
        looks = [(each.cohort, len(each.series)) for each in results]
        counts = by_cohort([Finding(name, n, counted(n, "look")) for name, n in looks])
        return f"Too few measures to say how fast they grew: {counts}"
    return f"Nothing was measured in {cohorts_named([each.cohort for each in results])}"


def alt_text(results: Sequence[Growth]) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(each.cohort for each in results)
    n = sum(len(each.series) for each in results)
    checks = f"{counted(n, 'check')} with measurements"
    return f"Chart of growth in {names}: {checks}. {title(results)}."


def notes(results: Sequence[Growth]) -> list[str]:
    """What the marks and the lines are."""
    sentences = []
    if any(each.instars for each in results):
        sentences.append("Marks: mean head width, bars: SD between individuals")
        if any(each.expected for one in results for each in one.instars):
            sentences.append("Short strokes: the profile's means")
        if any(each.dyar for each in results):
            sentences.append("Line: growth by a constant ratio (± standard error)")
        if any(each.dyar and len(each.instars) < FEWEST_FOR_A_RULE for each in results):
            sentences.append(
                "With fewer than three instars it cannot be seen whether it is constant"
            )
        sentences += [
            f"No line for {each.cohort}: {WHY_NO_DYAR[each.no_dyar]}"
            for each in results
            if each.no_dyar
        ]
    if any(each.length_mm or each.mass_mg for one in results for each in one.series):
        sentences.append("Lines by age: one individual each")
    return [". ".join(sentences) + "."] if sentences else []


TEXTS: Texts = {
    Growth: {
        "words": words,
        "lead": lead,
        "no_dyar": lambda result: result.no_dyar and WHY_NO_DYAR[result.no_dyar],
    }
}
