"""What thermal constants say, how sure they are, and why there are none."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from rearlog.analysis.comparing.rate_curves import Limits, RateCurve, RateLaw
from rearlog.analysis.comparing.rate_models import (
    FEWEST_FOR_CURVE,
    FEWEST_WEIGHED,
    NEAR_C,
    WARMEST_UPPER,
    LinearRate,
    NoRate,
)
from rearlog.analysis.comparing.thermal import (
    COLDEST_THRESHOLD,
    LARGEST_SE,
    NOT_CREDIBLE,
    Objection,
    StageThermal,
    Thermal,
)
from rearlog.analysis.statistics.levels import DIFFERENT
from rearlog.analysis.statistics.weighted_line import LackOfFit
from rearlog.sentences.phrases import (
    BAND,
    LIMITS,
    during,
    interval,
    listed,
    p_text,
    percent,
    sentence_case,
)
from rearlog.sentences.texts import Texts

THRESHOLD = "The threshold (the temperature below which nothing develops)"

_NUMBERS = ("none", "one", "two", "three", "four", "five", "six")

WHY_NOT = {
    NoRate.FEW_COHORTS: "fewer than two cohorts have finished it with known temperatures",
    NoRate.ONE_TEMPERATURE: f"the cohorts had the same temperature, within {NEAR_C:g} °C",
    NoRate.FEW_TEMPERATURES: "at least two different mean temperatures are needed",
    NoRate.NOT_FASTER: "development was not faster at the higher temperatures",
    NoRate.EQUALLY_LONG: "the stage took equally long at all temperatures",
    NoRate.FEW_FOR_CURVE: (
        f"at least {_NUMBERS[FEWEST_FOR_CURVE]} different mean temperatures are needed"
    ),
    NoRate.BEYOND_CURVE: (
        f"the curve holds for temperatures between 0 and {WARMEST_UPPER:g} °C only"
    ),
    NoRate.NOT_SETTLED: "no curve settles on these points, with thresholds that they show",
    NoRate.FEW_ANIMALS: (
        f"a cohort has fewer than {_NUMBERS[FEWEST_WEIGHED]} individuals, "
        "or they all took equally long"
    ),
}
"""Why a model of the rate could not be had."""

LAW_NAMES = {
    RateLaw.LINE: "the straight line",
    RateLaw.BRIERE_1: "Brière's first curve",
    RateLaw.BRIERE_2: "Brière's second curve",
    RateLaw.LACTIN_2: "Lactin's second curve",
    RateLaw.LOGAN_6: "Logan's sixth curve",
    RateLaw.RATKOWSKY: "Ratkowsky's square root curve",
    RateLaw.BETA: "the beta curve",
}
"""The laws as they are called in a sentence."""

UNPASSED = "No cohort lies past the highest point of the curve, so none is given."

OBJECTIONS = {
    Objection.NOT_STRAIGHT: (
        "the rates lie off the straight line by more than chance: leave out the temperatures "
        "where they bend, or take the curve"
    ),
    Objection.HOTTEST_NOT_FASTER: (
        "the hottest cohort is no faster than the next: compare without it, or take the curve"
    ),
    Objection.STILL_IN_STAGE: (
        "some are still in the stage, so far only the early ones are counted: wait for the others"
    ),
    Objection.THRESHOLD_UNSURE: (
        f"the threshold is hardly known: its standard error is above {LARGEST_SE:g} °C"
    ),
    Objection.THRESHOLD_TOO_COLD: (
        f"a threshold below {COLDEST_THRESHOLD:g} °C is not possible: do not use it"
    ),
    Objection.THRESHOLD_ABOVE_COLDEST: (
        "the threshold lies above the coldest cohort, which did develop: do not use it"
    ),
}
"""What is said against a straight line and its threshold."""


def lead(result: Thermal) -> str:
    """Below what temperature they do not develop, and how much heat above it takes them through."""
    stage = result.shown()
    if stage is None:
        return "No cohort has finished a stage at a temperature that is known."
    line, when = stage.linear, during(stage.stage)
    if line is None:
        return f"{THRESHOLD} {when} cannot be told yet: {_why_not('no_linear', stage)}."
    if not is_credible(stage):
        why = next(OBJECTIONS[each] for each in stage.objections if each in NOT_CREDIBLE)
        return f"{THRESHOLD} {when} cannot be told from these cohorts: {why}."
    between = " (from two temperatures, so that there is no telling how far off that is)"
    if line.threshold_low is not None:
        between = f" ({line.threshold_low:.1f} to {line.threshold_high:.1f} °C are possible)"
    return (
        f"Below about {line.threshold:.1f} °C{between} nothing develops; above that it takes "
        f"{line.constant:.0f} degree-days (heat, added up) {when}."
    )


def remark(stage: StageThermal) -> str:
    """In a few words, whether the threshold may be used."""
    if stage.linear is None:
        return "no line yet"
    if not is_credible(stage):
        return "not to be used"
    if stage.linear.threshold_low is None:
        return "two temperatures only"
    return "with a doubt" if stage.objections else ""


def unusable(result: Thermal) -> Iterator[str]:
    """The reasons for which thresholds are not to be used, each with its stages."""
    for why in filter(NOT_CREDIBLE.__contains__, Objection):
        of = [during(each.stage) for each in result.stages if why in each.objections]
        if of:
            yield f"Not to be used {listed(of)}, because {OBJECTIONS[why]}."


def words(stage: StageThermal) -> tuple[str, ...]:
    """What the line and the curve of a stage say."""
    return (
        *_line_words(stage),
        *_swinging_words(stage),
        *_objections(stage),
        *_curve_words(stage),
    )


def notices(result: Thermal) -> list[str]:
    """Which cohorts give no points."""
    return [
        f"{cohort} has no temperatures, so it gives no points"
        for cohort in result.without_temperatures
    ]


def title(result: Thermal, name: str | None = None) -> str:
    """The finding: threshold and thermal constant, each with the limits within which it may lie."""
    stage = result.shown(name)
    if stage is None:
        return "No development rate yet"
    line = stage.linear
    if line is None:
        return f"No line for {stage.stage}: {_why_not('no_linear', stage)}"
    if line.threshold_se is None:
        values = f"threshold {line.threshold:.1f} °C, constant {line.constant:.0f} degree-days"
        return f"{sentence_case(stage.stage)}: {values}, from two temperatures only{_doubt(stage)}"
    limits = f"{line.threshold_low:.1f} to {line.threshold_high:.1f}"
    threshold = f"threshold {line.threshold:.1f} °C ({limits})"
    limits = f"{line.constant_low:.0f} to {line.constant_high:.0f}"
    constant = f"{line.constant:.0f} degree-days ({limits})"
    return f"{sentence_case(stage.stage)}: {threshold}, {constant}{_doubt(stage)}"


def is_credible(stage: StageThermal) -> bool:
    """Whether nothing makes the threshold one that is not to be used."""
    return NOT_CREDIBLE.isdisjoint(stage.objections)


def _doubt(stage: StageThermal) -> str:
    return "" if is_credible(stage) else " (not to be used)"


def alt_text(result: Thermal) -> str:
    """One sentence that stands for the chart."""
    return (
        f"Chart of development rate against temperature in {', '.join(result.cohorts)}. "
        f"{title(result)}."
    )


def notes(result: Thermal, stage: StageThermal) -> list[str]:
    """What the marks and lines of the chart are."""
    sentences = ["Bars: SD of temperature between individuals, standard error of the rate"]
    if stage.linear is not None:
        band = "" if stage.linear.slope_se is None else f" and its {BAND}"
        sentences.append(f"Line{band}, dashed beyond the temperatures measured")
        if stage.linear.threshold_se is not None:
            sentences.append(f"In brackets: {LIMITS}, from {stage.linear.n} cohorts")
    dotted, optimum = _dotted(stage)
    if dotted is not None:
        highest = "" if optimum is None else f", optimum {optimum:.1f} °C"
        sentences.append(f"Dotted: {LAW_NAMES[dotted]}{highest}")
    if result.left_out:
        sentences.append(f"Hollow, left out: {', '.join(result.left_out)}")
    return [". ".join([*sentences, *notices(result)]) + "."]


def _dotted(stage: StageThermal) -> tuple[RateLaw | None, float | None]:
    """The law that is drawn beside the line, and its optimum if a cohort lies past it."""
    best = stage.best_curve
    return (None, None) if best is None else (best.law, best.optimum)


def _line_words(stage: StageThermal) -> Iterator[str]:
    """What the straight line says, how sure it is, and how far it was drawn out."""
    line = stage.linear
    if line is None:
        yield f"No line: {_why_not('no_linear', stage)}."
        return
    yield _constants(line)
    measured = f"Measured from {min(line.celsius):.1f} to {max(line.celsius):.1f} °C"
    if line.drawn_out:
        measured += f"; the threshold is extrapolated to {line.drawn_out:.1f} °C below that"
    yield f"{measured}."
    fit = stage.weighted.lack_of_fit if stage.weighted else None
    if fit is not None:
        yield _straightness(fit)


def _swinging_words(stage: StageThermal) -> Iterator[str]:
    """What the real temperatures say where they rise and fall, beside the line on their means."""
    found = stage.swinging
    if found is None:
        return
    limits = interval(found.threshold_low, found.threshold_high)
    yield (
        f"Temperatures rose and fell by {found.swing:.1f} °C a day, which the line on their means "
        f"does not see: degree-days over the real temperatures are most alike above "
        f"{found.threshold:.1f} °C{limits}, {found.constant:.0f} of them, give or take "
        f"{100 * found.cv:.1f} %."
    )


def _straightness(fit: LackOfFit) -> str:
    """The test of lack of fit; no lack shown does not mean that there is none."""
    found = "The rates bend from the line" if fit.p < DIFFERENT else "No bend is shown"
    return f"{found} (lack of fit F = {fit.f:.1f}, {p_text(fit.p)})."


def _objections(stage: StageThermal) -> Iterator[str]:
    """What speaks against the line, and of whom the mean is too short."""
    for each in stage.objections:
        text = f"Objection: {OBJECTIONS[each]}"
        if each is Objection.STILL_IN_STAGE:
            waiting = [point for point in stage.points if point.used and point.in_stage]
            text += f" ({', '.join(f'{point.cohort} {point.in_stage}' for point in waiting)})"
        yield f"{text}."


def _constants(line: LinearRate) -> str:
    threshold, constant = f"{line.threshold:.1f} °C", f"{line.constant:.0f} degree-days"
    if line.threshold_low is None:
        return (
            f"Lower threshold {threshold}, thermal constant {constant}, from two temperatures "
            "only: there is no telling how far off they are."
        )
    return (
        f"Lower threshold {threshold}{interval(line.threshold_low, line.threshold_high)}, "
        f"thermal constant {constant} "
        f"({line.constant_low:.0f} to {line.constant_high:.0f}), from {line.n} cohorts."
    )


def _curve_words(stage: StageThermal) -> Iterator[str]:
    """Which law fits best and where it is highest; no highest point that no cohort has passed."""
    best = stage.curves[0] if stage.curves else None
    if best is not None and len(stage.curves) > 1:
        yield (
            f"Of {len(stage.curves)} laws {LAW_NAMES[best.law]} has the least AICc "
            f"({percent(best.weight)} of the evidence)."
        )
    if stage.best_curve is not None:
        yield _landmarks(stage.best_curve)
        return
    bent = next((each for each in stage.curves if each.law is not RateLaw.LINE), None)
    if bent is not None and bent.optimum is None:
        yield UNPASSED


def _landmarks(curve: RateCurve) -> str:
    """Where the best curve begins, is highest and ends, with their limits."""
    named = (
        ("0 at", curve.threshold, curve.threshold_limits),
        ("highest at", curve.optimum, curve.optimum_limits),
        ("0 again at", curve.upper, curve.upper_limits),
    )
    parts = [
        f"{what} {value:.1f} °C{in_limits(limits)}"
        for what, value, limits in named
        if value is not None
    ]
    said = f"It is {listed(parts)}." if parts else ""
    return said if curve.optimum is not None else f"{said} {UNPASSED}".strip()


def in_limits(limits: Limits | None) -> str:
    """The limits of a landmark, to stand behind it."""
    return "" if limits is None else interval(limits.low, limits.high)


def _why_not(key: str, stage: StageThermal) -> str | None:
    reason: NoRate | None = getattr(stage, key)
    return None if reason is None else WHY_NOT[reason]


TEXTS: Texts = {
    StageThermal: {
        "words": words,
        **{key: partial(_why_not, key) for key in ("no_linear", "no_ikemoto_takai", "no_curve")},
    },
    Thermal: {"notices": notices, "lead": lead},
}
