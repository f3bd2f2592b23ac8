"""What is said of how fast populations grow at different temperatures."""

from __future__ import annotations

from rearlog.analysis.comparing.growth_by_heat import GrowthByHeat, GrowthPoint
from rearlog.analysis.comparing.rate_curves import RateLaw
from rearlog.sentences.phrases import listed, percent, there
from rearlog.sentences.texts import Texts
from rearlog.sentences.thermal import LAW_NAMES, UNPASSED, WHY_NOT, in_limits


def lead(result: GrowthByHeat) -> str:
    """At which temperature the population grows fastest, or at which it grew fastest so far."""
    best = result.best_curve
    if best is not None and best.optimum is not None:
        return (
            f"A population grows fastest at {best.optimum:.1f} °C{in_limits(best.optimum_limits)}: "
            f"by {result.fastest:.3f} a day (r)."
        )
    growing = [each for each in result.points if each.r is not None and each.r > 0]
    if not growing:
        return "At none of these temperatures does the population grow."
    fastest = max(growing, key=lambda each: there(each.r))
    return (
        f"Of these cohorts that at {fastest.temperature:.1f} °C ({fastest.cohort}) grew fastest: "
        f"by {fastest.r:.3f} a day (r)."
    )


def words(result: GrowthByHeat) -> tuple[str, ...]:
    """Which law fits best, where growth begins and ends by it, and which cohorts are not in it."""
    return (*_curve_words(result), *_outside(result))


def _curve_words(result: GrowthByHeat) -> list[str]:
    said = [] if result.no_curve is None else [f"No curve: {WHY_NOT[result.no_curve]}."]
    if len(result.curves) > 1:
        first = result.curves[0]
        said.append(
            f"Of {len(result.curves)} laws {LAW_NAMES[first.law]} has the least AICc "
            f"({percent(first.weight)} of the evidence)."
        )
    best = result.best_curve
    if best is not None:
        ends = [
            f"{where} {at:.1f} °C{in_limits(limits)}"
            for where, at, limits in (
                ("begins at", best.threshold, best.threshold_limits),
                ("ends at", best.upper, best.upper_limits),
            )
            if at is not None
        ]
        said += [f"By it growth {listed(ends)}."] if ends else []
    if all(each.optimum is None for each in result.curves) and any(
        each.law is not RateLaw.LINE for each in result.curves
    ):
        said.append(UNPASSED)
    return said


def _outside(result: GrowthByHeat) -> list[str]:
    """The cohorts that are shown and not fitted."""
    dying = [_at(each) for each in result.points if each.r is None and not each.adults]
    barren = [_at(each) for each in result.points if each.r is None and each.adults]
    shrinking = [_at(each) for each in result.points if each.r is not None and each.r <= 0]
    said = []
    if dying:
        said.append(f"Nobody grew up in {listed(dying)}: such a population dies out.")
    if barren:
        said.append(f"No eggs that count were told in {listed(barren)}.")
    if shrinking:
        said.append(f"In {listed(shrinking)} it shrinks.")
    if shrinking or dying:
        said.append("The laws know no rates below 0: such cohorts are not fitted.")
    if result.left_out:
        said.append(f"Left out: {', '.join(result.left_out)}.")
    if result.without_temperatures:
        said.append(f"Without temperatures: {', '.join(result.without_temperatures)}.")
    return said


def _at(point: GrowthPoint) -> str:
    return f"{point.cohort} ({point.temperature:.1f} °C)"


TEXTS: Texts = {GrowthByHeat: {"words": words, "lead": lead}}
