"""When the adults should come: what has come so far, and what is expected, by date."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from rearlog.analysis.forecasting.emergence import EmergenceDay
from rearlog.analysis.forecasting.forecast import EventForecast, Forecast
from rearlog.charts.palette import MUTED, CohortMark, cohort_mark
from rearlog.charts.style import (
    PAGE,
    LineEnd,
    Style,
    date_axis,
    dress,
    frame,
    label_axes,
    label_ends,
    new_figure,
    say_nothing_to_draw,
    write,
)
from rearlog.sentences.phrases import Finding, by_cohort, sentence_case, short_date

BAND_OPACITY = 0.16
EXPECTED_DASH = (0, (3.0, 2.0))

_PLURAL = {"adult": "adults", "pupa": "pupae"}
"""How many of a stage are spoken of; instars have no plural."""


def forecast(results: Sequence[Forecast], look: Style = PAGE, *, invented: bool = False) -> Figure:
    """Draw how many have come to the last stage by each day, and how many should have.

    The solid, stepped line is what came; the band holds 90 % of outcomes, if all live, around the
    dashed line of what is expected.
    """
    figure = new_figure(look)
    axes = figure.subplots()
    shown = [(each, cohort_mark(place)) for place, each in enumerate(results) if each.emergence]
    if not shown:
        say_nothing_to_draw(axes, look, f"{title(results)}.")
    else:
        _draw(axes, shown, look)
    frame(figure, look, title(results), _notes(results), invented=invented)
    return figure


def title(results: Sequence[Forecast]) -> str:
    """The finding: by when half of those still to come should be there."""
    found = [
        (each.cohort, event)
        for each in results
        if (event := _last(each)) is not None and event.likely is not None
    ]
    likely = [
        Finding(name, event.likely.toordinal(), short_date(event.likely))
        for name, event in found
        if event.likely is not None
    ]
    if not likely:
        came = [_came(each) for each in results if each.emergence]
        adults = sentence_case(_plural(each.last_stage for each in results))
        return f"{adults} so far: {by_cohort(came)}" if came else "Nothing can be foretold yet"
    adults = _plural(event.into for _, event in found)
    if len(results) == 1:
        return f"Half of the {adults} still to come are expected by {likely[0].words}"
    return f"Half of the {adults} to come are expected by: {by_cohort(likely)}"


def alt_text(results: Sequence[Forecast]) -> str:
    """One sentence that stands for the chart."""
    names = ", ".join(each.cohort for each in results)
    return f"Chart of the emergence so far and to come in {names}, by date. {title(results)}."


def _plural(stages: Iterable[str]) -> str:
    """The stages that are spoken of, each once."""
    return " and ".join(dict.fromkeys(_PLURAL.get(each, each) for each in stages))


def _came(result: Forecast) -> Finding:
    """How many have come, and by when."""
    day = result.emergence[-1]
    count = max(each.came or 0 for each in result.emergence)
    return Finding(result.cohort, count, f"{count} by {short_date(day.date)}")


def _last(result: Forecast) -> EventForecast | None:
    """The forecast of the last event that is still to come to somebody."""
    to_come = [each for each in result.events if each.n]
    return to_come[-1] if to_come else None


def _notes(results: Sequence[Forecast]) -> list[str]:
    sentences = [f"Solid: {_plural(each.last_stage for each in results)} so far"]
    coming = [each for each in results if _last(each) is not None]
    if coming:
        sentences[0] += "; dashed: what is expected, with a band for 90 % of outcomes, if all live"
        sentences += dict.fromkeys(f"As of {short_date(each.as_of)}" for each in coming)
        sentences += dict.fromkeys(
            f"{each.cohort} at {each.temperature_words}"
            for each in coming
            if each.temperature_words
        )
    return [". ".join(sentences) + "."]


def _draw(axes: Axes, shown: Sequence[tuple[Forecast, CohortMark]], look: Style) -> None:
    every = [day for result, _ in shown for day in result.emergence]
    highest = max(max(day.high or 0, day.came or 0, 1) for day in every)
    dress(axes, look, grid="y")
    axes.set_ylim(0, 1.06 * highest)
    axes.yaxis.set_major_locator(MaxNLocator(nbins=6, integer=True))
    first = min(day.date for day in every).toordinal()
    last = max(day.date for day in every).toordinal() + 1
    date_axis(axes, look, float(first), float(last), look.width_in)
    adults = sentence_case(_plural(each.last_stage for each, _ in shown))
    label_axes(axes, look, y=f"{adults} so far, or expected")
    for result, mark in shown:
        _line(axes, result, mark, look)
    for now in sorted({result.as_of.toordinal() + 1 for result, _ in shown}):
        if first <= now < last:
            axes.axvline(now, color=MUTED, linewidth=0.7 * look.line_pt, gid="as-of")
            write(axes, (now, 0.97), "now", look.small_pt, MUTED, over="x", right_pt=4)
    ends = [
        LineEnd(_end(result.emergence), result.cohort, _as_it_ends(mark, result.emergence))
        for result, mark in shown
    ]
    label_ends(axes, ends, look)


def _line(axes: Axes, result: Forecast, mark: CohortMark, look: Style) -> None:
    """What came as steps; what is expected dashed, in its band."""
    came = [
        (day.date.toordinal() + 1, day.came) for day in result.emergence if day.came is not None
    ]
    coming = [
        (day.date.toordinal() + 1, day.expected, day.low, day.high)
        for day in result.emergence
        if day.expected is not None
    ]
    if came:
        days, counts = zip(*came, strict=True)
        axes.plot(
            [days[0] - 1, *days],
            [0, *counts],
            drawstyle="steps-pre",
            color=mark.colour,
            linewidth=1.8 * look.line_pt,
            zorder=3,
            gid=f"came-{result.cohort}",
        )
    if coming:
        days, expected, low, high = zip(*coming, strict=True)
        axes.fill_between(
            days, low, high, facecolor=mark.colour, alpha=BAND_OPACITY, linewidth=0, zorder=1,
            gid=f"band-{result.cohort}",
        )  # fmt: skip
        axes.plot(
            days,
            expected,
            color=mark.colour,
            linestyle=EXPECTED_DASH,
            linewidth=1.4 * look.line_pt,
            zorder=3,
            gid=f"expected-{result.cohort}",
        )


def _end(days: Sequence[EmergenceDay]) -> float:
    last = days[-1]
    return last.expected if last.expected is not None else float(last.came or 0)


def _as_it_ends(mark: CohortMark, days: Sequence[EmergenceDay]) -> CohortMark:
    """The mark of a cohort with the dash of its line where that ends."""
    return replace(mark, dash="solid" if days[-1].expected is None else EXPECTED_DASH)
