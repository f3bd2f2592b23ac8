"""How long stages took, beside what was expected."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from rearlog.analysis.stages.durations import Durations, StageDuration
from rearlog.analysis.stages.expected import BasisKind, Timing
from rearlog.analysis.stages.left_open import LeftOpen, MeanOf
from rearlog.analysis.statistics.levels import LEAST_TOLD
from rearlog.sentences.expected import basis_words, beyond_doubt, less_or_more, off, rests_on, sure
from rearlog.sentences.phrases import (
    INTERVAL,
    LIMITS,
    beyond,
    cohorts_named,
    is_are,
    listed,
    sentence_case,
    there,
    with_short_names,
)
from rearlog.sentences.texts import Texts


def lead(result: Durations) -> str:
    """Whether the stages took as long as expected, with the days of the one that says most."""
    done = [each for each in result.stages if each.completed]
    where = f"in {result.cohort}"
    if not done:
        return f"No stage is over yet {where}."
    away = off(done)
    shown = [each for each in away if beyond_doubt(each)]
    if shown:
        worst = max(shown, key=lambda each: there(each.off_days))
        alike = [each.stage for each in shown if each.verdict is worst.verdict]
        most = f"{worst.stage} most, " if len(alike) > 1 else ""
        return (
            f"{sentence_case(listed(alike))} took {_time(worst)} than expected {where}: "
            f"{most}{_beside_expected(worst)}."
        )
    if away:
        worst = max(away, key=lambda each: there(each.off_days))
        gap = f"{_off_days(worst)} {less_or_more(worst)} than expected"
        return (
            f"{sentence_case(worst.stage)} took {gap} {where}: {_beside_expected(worst)}, as it "
            "may be by chance."
        )
    longest = max(done, key=lambda each: there(each.mean))
    held = [each for each in done if each.verdict is Timing.AS_EXPECTED]
    if not held:
        took = f"{longest.mean:.1f} days{_average(longest)}"
        return (
            f"{sentence_case(longest.stage)} took longest {where}, {took}; how long to expect is "
            "not known."
        )
    text = f"{_which(result, held)} took about as long as expected {where}"
    unsure = [each.stage for each in held if not sure(each)]
    if unsure:
        of = "" if len(held) == 1 else f"of {listed(unsure)} "
        text += f", though {of}the looks do not tell for sure"
    took = f"{longest.mean:.1f} days{_average(longest)}"
    if longest in held:
        took = _beside_expected(longest)
    return f"{text}{':' if done == [longest] else f'; {longest.stage} was longest,'} {took}."


def _which(result: Durations, held: Sequence[StageDuration]) -> str:
    """Every stage, where all are over, else which."""
    entered = [each for each in result.stages if each.entered]
    whole = entered == list(held) and held[-1] is result.stages[-1] and len(held) > 1
    return "Every stage" if whole else sentence_case(listed([each.stage for each in held]))


def words(result: Durations) -> tuple[str, ...]:
    """How long each stage took, a sentence each, and which averages would not get surer."""
    lines = [_stage(each) for each in result.stages if each.mean is not None]
    in_step = ", ".join(each.stage for each in result.stages if each.in_step)
    if in_step:
        lines.append(
            f"In step ({in_step}): most passed between the same two checks, so that more "
            "individuals would not make the average surer; checks closer together would."
        )
    return tuple(lines)


def _stage(each: StageDuration) -> str:
    if each.mean_low is None:
        text = f"{each.stage}: {each.mean:.1f} days in the one that completed it; "
    else:
        text = (
            f"{each.stage}: {each.mean:.1f} days on average ({INTERVAL} {each.mean_low:.1f} to "
            f"{each.mean_high:.1f}, n = {each.completed}); "
        )
    return text + _against_expected(each) + _left_open(each)


def _left_open(each: StageDuration) -> str:
    """Whom the average leaves out, and what that makes of it."""
    if each.mean_of is MeanOf.EVERYBODY:
        return ""
    early = each.mean_of is MeanOf.EARLY
    means = "the early ones, and may yet rise" if early else "the others, and may be too short"
    return f" {left_open_words(each.left_open)}: the average is of {means}."


def left_open_words(found: LeftOpen) -> str:
    """How many were watched for as long as others took, and what they are or became."""
    still, gone = found.still_in, found.gone
    parts = []
    if still:
        parts.append(f"{is_are(still)} still in it")
    if gone:
        parts.append("died or left when others were through")
    counts = filter(None, (still, gone))
    (first, *others) = [f"{count} {part}" for count, part in zip(counts, parts, strict=True)]
    number, _, what = first.partition(" ")
    return listed([f"{number} of {found.known} {what}", *others])


def _against_expected(each: StageDuration) -> str:
    if each.expected is None:
        return "nothing to compare with."
    low, high = each.expected
    text = f"{low:.1f} to {high:.1f} are expected: "
    if each.verdict is Timing.AS_EXPECTED:
        return f"{text}as expected."
    text += f"{_off_days(each)} {less_or_more(each)} than that"
    return f"{text}." if beyond_doubt(each) else f"{text}, as it may be by chance."


def _off_days(each: StageDuration) -> str:
    """By how much the average lies beyond the expected range."""
    low, high = there(each.expected)
    end = low if each.verdict is Timing.SHORTER else high
    gap = abs(round(there(each.mean), 1) - end)  # of the mean as it is shown beside it
    return f"{'less than 0.1' if gap < LEAST_TOLD else f'{gap:.1f}'} days"


def compared(each: StageDuration) -> str | None:
    """How the average lies to the expected range, for a cell; None where nothing is expected."""
    match each.verdict:
        case Timing.AS_EXPECTED:
            return "as expected"
        case Timing.SHORTER | Timing.LONGER:
            chance = "" if beyond_doubt(each) else ", or chance"
            return f"{_off_days(each)} {less_or_more(each)}{chance}"
    return None


def _beside_expected(each: StageDuration) -> str:
    """The average beside the range: 4.0 days on average (2.3 to 3.4 expected)."""
    low, high = there(each.expected)
    return f"{each.mean:.1f} days{_average(each)} ({low:.1f} to {high:.1f} expected)"


def _average(each: StageDuration) -> str:
    """Of whom the days are."""
    if each.completed == 1:
        return " in the one that completed it"
    return " on average of the early ones" if each.mean_of is MeanOf.EARLY else " on average"


def bases(stages: Sequence[StageDuration]) -> list[str]:
    """What the expected ranges rest on, neighbouring stages with the same basis together."""
    return [
        f"Expected for {', '.join(each.stage for each in group)}: {text}."
        for text, group in groupby(stages, key=lambda each: basis_words(each.rests_on))
    ]


def title(results: Sequence[Durations]) -> str:
    """The finding: the stage off its expected range, or where the cohorts differ most."""
    names = [each.cohort for each in results]
    if not any(each.completed for result in results for each in result.stages):
        return with_short_names(f"No stage is over yet in {cohorts_named(names)}", names)
    return with_short_names(
        _alone(results[0]) if len(results) == 1 else _side_by_side(results), names
    )


def alt_text(results: Sequence[Durations]) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(each.cohort for each in results)
    return f"Chart of the days that each stage took in {names}. {title(results)}."


def _time(each: StageDuration) -> str:
    return "less time" if each.verdict is Timing.SHORTER else "longer"


def _alone(result: Durations) -> str:
    away = off(result.stages)
    shown = [each for each in away if beyond_doubt(each)]
    if shown:
        worst = max(shown, key=lambda each: there(each.off_days))
        low, high = there(worst.expected)
        average = f"{worst.mean:.1f} days on average"
        stage = sentence_case(worst.stage)
        expected = f"not {low:.1f} to {high:.1f}"
        return f"{stage} took {_time(worst)} than expected: {average}, {expected}"
    if away:
        return f"No stage is shown to be off its expected range in {result.cohort}"
    done = [each for each in result.stages if each.completed]
    if all(each.verdict is Timing.AS_EXPECTED for each in done):
        return f"{_which(result, done)} took about as long as expected in {result.cohort}"
    longest = max(done, key=lambda each: there(each.median))
    where = f"in {result.cohort}"
    return f"The longest stage {where} was {longest.stage}: median {longest.median:.1f} days"


def _side_by_side(results: Sequence[Durations]) -> str:
    medians = {
        stage: [
            (each.median, result.cohort)
            for result in results
            for each in result.stages
            if each.stage == stage and each.median is not None
        ]
        for stage in dict.fromkeys(each.stage for result in results for each in result.stages)
    }
    shared = {stage: found for stage, found in medians.items() if len(found) == len(results)}
    if not shared:
        names = cohorts_named([each.cohort for each in results])
        return f"No stage is over in all of {names} yet"
    stage, found = max(shared.items(), key=lambda item: max(item[1])[0] - min(item[1])[0])
    (low, shortest), (high, longest) = min(found), max(found)
    if low == high:
        return f"The medians are the same in all: {stage} {low:.1f} days"
    fastest = f"{low:.1f} days in {shortest}"
    return f"Medians farthest apart: {stage}, {fastest} and {high:.1f} in {longest}"


NO_COUNTS = "The numbers of individuals are left out here for want of room."


def notes(results: Sequence[Durations]) -> list[str]:
    """What the marks of the chart are, and what is expected."""
    sentences = [
        "Marks: completed stages to the nearest half day, larger for more individuals",
        "Bar: between which days the median of these lies, as far as the checks tell, with deaths "
        f"and the living counted; thin line: {LIMITS} of the median of all such",
    ]
    if any(each.median_bounds is None for result in results for each in result.stages):
        sentences.append("No bar: half have not completed it")
    if any(one.outside for result in results for one in result.individuals):
        sentences.append("Hollow: certainly outside the expected range")
    expected = [
        (result.cohort, each.rests_on)
        for result in results
        for each in result.stages
        if each.expected is not None
    ]
    if expected:
        kinds = dict.fromkeys(
            "degree-days at the cohort's own temperatures"
            if basis.kind is BasisKind.HEAT
            else rests_on(basis)
            for _, basis in expected
        )
        sentences.append(f"Box: expected, from {' or '.join(kinds)}")
    far = dict.fromkeys(cohort for cohort, basis in expected if basis.extrapolated)
    if far:
        sentences.append(beyond(list(far)))
    return [". ".join(sentences) + "."]


def plainly(whole: Durations) -> list[str]:
    """How long the whole development took, for those who do not know the trade's words."""
    found = whole.stages[0] if whole.stages else None
    if found is None or found.mean is None:
        return []
    return [
        f"From egg to adult they took {found.mean:.1f} days on average (n = {found.completed})."
    ]


TEXTS: Texts = {
    Durations: {"words": words, "lead": lead},
    StageDuration: {"basis": lambda each: basis_words(each.rests_on)},
}
