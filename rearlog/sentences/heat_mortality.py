"""What is said of the mortality at different temperatures."""

from __future__ import annotations

from collections.abc import Iterator

from rearlog.analysis.comparing.heat_mortality import (
    FEWEST_FOR_LINE,
    HeatMortality,
    MortalityCurve,
    NoMortalityCurve,
)
from rearlog.analysis.comparing.thermal import Thermal
from rearlog.analysis.statistics.levels import DIFFERENT
from rearlog.sentences.phrases import (
    BAND,
    LIMITS,
    during,
    interval,
    p_text,
    percent,
    sentence_case,
    there,
)
from rearlog.sentences.texts import Texts

_NUMBERS = ("none", "one", "two", "three", "four")

WHY_NO_CURVE = {
    NoMortalityCurve.FEW_TEMPERATURES: (
        f"cohorts at {_NUMBERS[FEWEST_FOR_LINE]} different temperatures are needed, better five"
    ),
    NoMortalityCurve.NOBODY_DIED: "nobody died",
    NoMortalityCurve.ALL_DIED: "all died",
    NoMortalityCurve.NOT_SETTLED: (
        "at some temperatures nobody died, or all did, and no slope is too steep for that"
    ),
}
"""Why there is no curve of the mortality."""


def words(result: HeatMortality) -> tuple[str, ...]:
    """Whether the mortality hangs on the temperature, where it is least, and how sure that is."""
    where, curve = sentence_case(during(result.stage)), result.curve
    if curve is None:
        why = WHY_NO_CURVE[there(result.no_curve)]
        return (f"{where} there is no curve of the mortality: {why}.",)
    test = f"F = {curve.f:.1f}, {p_text(curve.p)}"
    if curve.p >= DIFFERENT:
        return (
            f"{where} no dependence of the mortality on the temperature was shown ({test}), which "
            "is no proof that there is none.",
            *_scatter(curve),
        )
    return f"{where} {_course(curve)} ({test}).", *_scatter(curve)


def title(result: HeatMortality | None) -> str:
    """The finding: where the mortality is least, or that it does not seem to hang on heat."""
    if result is None:
        return "No mortality by temperature yet"
    where, curve = sentence_case(result.stage), result.curve
    if curve is None:
        return f"{where}: no curve of the mortality, {WHY_NO_CURVE[there(result.no_curve)]}"
    if curve.p >= DIFFERENT:
        return f"{where}: no dependence of mortality on temperature shown"
    if curve.best is None:
        return f"{where}: {_course(curve)}"
    return f"{where}: mortality is least at {curve.best:.1f} °C, {percent(there(curve.least))}"


def alt_text(result: Thermal) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(result.cohorts)
    return f"Chart of mortality against temperature in {names}. {title(result.died_in())}."


def nothing_to_draw() -> str:
    """What stands in place of the chart where no cohort tells anything."""
    return "No cohort has come through a stage, or died in it, at a temperature that is known."


def notes(result: HeatMortality) -> list[str]:
    """What the marks and lines of the chart are."""
    sentences = [f"Bars: {LIMITS} of each cohort"]
    if result.curve is not None:
        sentences.append(f"Line: logistic regression, with its {BAND}")
        if result.curve.best is not None:
            limits = "" if result.curve.best_low is None else f" and its {LIMITS}"
            sentences.append(f"Triangle: the least mortality{limits}")
    left_out = [each.cohort for each in result.points if not each.used]
    if left_out:
        sentences.append(f"Hollow: left out, {', '.join(left_out)}")
    return [". ".join(sentences) + "."]


def _course(curve: MortalityCurve) -> str:
    """Where the mortality is least, and what it is at the ends of what was measured."""
    ends = [float(each) for each in curve.mortality([curve.coldest, curve.hottest])]
    cold, hot = (percent(each) for each in ends)
    if curve.best is None:
        verb = "falls" if ends[1] < ends[0] else "rises"
        return (
            f"the mortality {verb} from {cold} at {curve.coldest:.1f} °C to {hot} at "
            f"{curve.hottest:.1f} °C"
        )
    least, low, high = map(there, (curve.least, curve.least_low, curve.least_high))
    return (
        f"the mortality is least at {curve.best:.1f} °C"
        f"{interval(curve.best_low, curve.best_high)}, {percent(least)} "
        f"({percent(low)} to {percent(high)}), and rises to {cold} at "
        f"{curve.coldest:.1f} °C and {hot} at {curve.hottest:.1f} °C"
    )


def _scatter(curve: MortalityCurve) -> Iterator[str]:
    if curve.dispersion > 1:
        yield (
            f"Cohorts scatter about the curve {curve.dispersion:.1f} times as much, in variance, "
            "as chance among individuals would make them, and the limits allow for it."
        )


TEXTS: Texts = {HeatMortality: {"words": words}}
