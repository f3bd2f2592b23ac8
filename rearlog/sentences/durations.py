"""How long stages took, beside what was expected."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from rearlog.analysis.stages.durations import Durations, StageDuration
from rearlog.analysis.stages.expected import BasisKind, Timing
from rearlog.analysis.stages.left_open import LeftOpen, MeanOf
from rearlog.analysis.statistics.levels import LEAST_TOLD
from rearlog.sentences.expected import basis_words, rests_on
from rearlog.sentences.phrases import INTERVAL, LIMITS, beyond, listed, sentence_case
from rearlog.sentences.texts import Texts


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
    if each.mean_low is None or each.mean_high is None:
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
        parts.append(f"{'is' if still == 1 else 'are'} still in it")
    if gone:
        parts.append("died or left on the way")
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
    shorter = each.verdict is Timing.SHORTER
    # of the figures as they are shown, lest they contradict each other
    off = abs(round(each.mean or 0.0, 1) - round(low if shorter else high, 1))
    figure = "less than 0.1" if off < LEAST_TOLD else f"{off:.1f}"
    text += f"{figure} days {'less' if shorter else 'more'} than that"
    return f"{text}, as it may be by chance." if _may_be_as_expected(each) else f"{text}."


def _may_be_as_expected(each: StageDuration) -> bool:
    """Whether the limits of the average reach into the expected range."""
    if each.expected is None or each.mean_low is None or each.mean_high is None:
        return False
    low, high = each.expected
    return each.mean_low <= high and each.mean_high >= low


def bases(stages: Sequence[StageDuration]) -> list[str]:
    """What the expected ranges rest on, neighbouring stages with the same basis together."""
    return [
        f"Expected for {', '.join(each.stage for each in group)}: {text}."
        for text, group in groupby(stages, key=lambda each: basis_words(each.rests_on))
    ]


def title(results: Sequence[Durations]) -> str:
    """The finding: the stage off its expected range, or where the cohorts differ most."""
    if not any(each.completed for result in results for each in result.stages):
        return f"No stage is over yet in {' or '.join(each.cohort for each in results)}"
    return _alone(results[0]) if len(results) == 1 else _side_by_side(results)


def alt_text(results: Sequence[Durations]) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(each.cohort for each in results)
    return f"Chart of the days that each stage took in {names}. {title(results)}."


def _alone(result: Durations) -> str:
    off = [each for each in result.stages if each.verdict in (Timing.SHORTER, Timing.LONGER)]
    shown = [each for each in off if _beyond_all_doubt(each)]
    if shown:
        worst = max(shown, key=lambda each: each.off_days or 0.0)
        low, high = worst.expected or (0.0, 0.0)
        average = f"{worst.mean:.1f} days on average"
        stage = sentence_case(worst.stage)
        return f"{stage} took {worst.verdict} than expected: {average}, not {low:.1f} to {high:.1f}"
    if off:
        return f"No stage is shown to be off its expected range in {result.cohort}"
    done = [each for each in result.stages if each.completed]
    if all(each.verdict is Timing.AS_EXPECTED for each in done):
        entered = [each for each in result.stages if each.entered]
        whole = entered == done and done[-1] is result.stages[-1]
        which = "Every stage" if whole else sentence_case(listed([each.stage for each in done]))
        return f"{which} took about as long as expected in {result.cohort}"
    longest = max(done, key=lambda each: each.median or 0.0)
    if longest.median is None:
        return f"Stages completed in {result.cohort}"
    return f"The longest stage was {longest.stage}: median {longest.median:.1f} days"


def _beyond_all_doubt(each: StageDuration) -> bool:
    """Whether all of the interval of the mean lies on that side of the expected range."""
    if each.expected is None or each.mean_low is None or each.mean_high is None:
        return False
    return each.mean_high < each.expected[0] or each.mean_low > each.expected[1]


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
        return f"Stages completed in {', '.join(each.cohort for each in results)}"
    stage, found = max(shared.items(), key=lambda item: max(item[1])[0] - min(item[1])[0])
    (low, shortest), (high, longest) = min(found), max(found)
    if low == high:
        return f"The median durations do not differ: {stage} {low:.1f} days"
    fastest = f"{low:.1f} days in {shortest}"
    return f"The largest difference: {stage} took {fastest}, {high:.1f} in {longest} (medians)"


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
    Durations: {"words": words},
    StageDuration: {"basis": lambda each: basis_words(each.rests_on)},
}
