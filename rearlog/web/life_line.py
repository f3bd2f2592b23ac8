"""The life of one individual as a drawing: its stages over the days, one row.

Widths are shares of the page, so that letters stay as large as they are on a phone too.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from markupsafe import Markup, escape
from msgspec import Struct

from rearlog.analysis.stages.progress import IndividualProgress, StageSpan
from rearlog.charts.palette import stage_colours, text_on
from rearlog.charts.progress_rows import slanted
from rearlog.records.clock import CohortClock
from rearlog.records.fates import Fate
from rearlog.records.wording import days_between, weekday

_STEPS = (1, 2, 3, 5, 7, 14, 28, 56, 112, 365)
_MOST_DATES = 5
_LEAST_LABELLED = 0.075
"""A stage with less of the width is not named in the drawing."""
_TOP, _HEIGHT = 22, 46
_BOTTOM = _TOP + _HEIGHT
_FARTHEST = 1.0
"""Today is shown where it is no farther from the last look than so many lengths of the life."""


class _Scale(Struct, frozen=True):
    low: float
    high: float

    def share(self, day: float) -> float:
        return (day - self.low) / (self.high - self.low)

    def percent(self, day: float) -> str:
        return f"{100 * self.share(day):.3f}%"


def life_line(
    life: IndividualProgress,
    clock: CohortClock,
    stages: Sequence[str],
    looks: Sequence[float],
    today: float,
) -> Markup:
    """The drawing as SVG, with its words for those who do not see it.

    `looks` are when it was looked at, `today` is the present, both in days since the cohort's zero.
    A slanted edge spans the time in which a stage passed into the next. Today is left out where the
    life is long over.
    """
    begin = min(each.begin_low for each in life.spans)
    end = max([*(each.end_high for each in life.spans), *looks])
    length = max(1.0, end - begin)
    shown = end <= today <= end + max(2.0, _FARTHEST * length) and life.fate is None
    scale = _Scale(begin - 0.02 * length, max(end, today if shown else end) + 0.05 * length)
    colours = stage_colours(stages)
    parts = [
        _bands(life, scale, colours),
        *_names(life.spans, scale, colours),
        *(_tick(scale.percent(day), _BOTTOM + 4, _BOTTOM + 11, "look") for day in looks),
        *_dates(scale, clock),
    ]
    if shown:
        at = scale.percent(today)
        parts.append(_tick(at, _TOP - 4, _BOTTOM + 14, "today"))
        parts.append(f'<text class="small" x="{at}" y="14" text-anchor="end">today</text>')
    if life.fate is not None:
        parts.append(_end(life.fate, scale.percent(life.spans[-1].end_high)))
    head = Markup('<svg class="life" width="100%" height="112" role="img" aria-label="{}">')
    return head.format(told(life, clock)) + Markup("".join([*parts, "</svg>"]))


def told(life: IndividualProgress, clock: CohortClock) -> str:
    """The same in words: when each stage began, and how it ended."""
    lines = [
        f"{each.stage} from {_when(each.begin_low, each.begin_high, clock)}" for each in life.spans
    ]
    if life.fate is not None:
        last = life.spans[-1]
        cause = f" ({life.cause})" if life.cause else ""
        lines.append(f"{life.fate}{cause} {_when(last.end_low, last.end_high, clock)}")
    return "; ".join(lines)


def _when(low: float, high: float, clock: CohortClock) -> str:
    return days_between(clock.day_after(low), clock.day_after(high))


def _bands(life: IndividualProgress, scale: _Scale, colours: dict[str, str]) -> str:
    """The stages, in a drawing that stretches: x counts days, y from 0 to 1."""
    drawn = [
        f'<polygon points="{" ".join(f"{x:.4f},{y:g}" for x, y in corners)}" '
        f'fill="{colours[span.stage]}"/>'
        for span, corners in zip(life.spans, slanted(life, 0.0, 1.0), strict=True)
    ]
    box = f"{scale.low:.4f} 0 {scale.high - scale.low:.4f} 1"
    return (
        f'<svg y="{_TOP}" width="100%" height="{_HEIGHT}" viewBox="{box}" '
        f'preserveAspectRatio="none" class="bands">{"".join(drawn)}</svg>'
    )


def _names(spans: Sequence[StageSpan], scale: _Scale, colours: dict[str, str]) -> list[str]:
    named = []
    for each in spans:
        low, high = each.begin_high, max(each.begin_high, each.end_low)
        if scale.share(high) - scale.share(low) >= _LEAST_LABELLED:
            middle, ink = scale.percent((low + high) / 2), text_on(colours[each.stage])
            named.append(
                f'<text class="stage" x="{middle}" y="{_TOP + _HEIGHT / 2 + 5}" '
                f'text-anchor="middle" fill="{ink}">{escape(each.stage)}</text>'
            )
    return named


def _tick(at: str, top: float, bottom: float, kind: str) -> str:
    return f'<line class="{kind}" x1="{at}" x2="{at}" y1="{top:g}" y2="{bottom:g}"/>'


def _dates(scale: _Scale, clock: CohortClock) -> list[str]:
    """Some days by their dates, each where it begins."""
    first, last = clock.day_after(scale.low), clock.day_after(scale.high)
    count = (last - first).days
    step = next((each for each in _STEPS if count / each <= _MOST_DATES), _STEPS[-1])
    days: list[date] = [first + timedelta(days=each) for each in range(1, count + 1)]
    drawn = []
    for day in days[::step]:
        at = clock.midnights(day, 1)[0]
        if 0.0 < scale.share(at) < 0.9:
            x = scale.percent(at)
            drawn.append(_tick(x, _BOTTOM, _BOTTOM + 14, "day"))
            drawn.append(f'<text class="small" x="{x}" y="{_BOTTOM + 30}">{weekday(day)}</text>')
    return drawn


def _end(fate: str, at: str) -> str:
    """A cross, a question mark or an arrow, where it was seen to have ended."""
    middle = _TOP + _HEIGHT / 2
    if fate == Fate.DEAD:
        mark = '<path class="cross" d="M-8 -8L8 8M8 -8L-8 8"/>'
    elif fate == Fate.LOST:
        mark = '<text class="fate" text-anchor="middle" y="7">?</text>'
    else:
        mark = '<path class="way" d="M-6 -8L8 0L-6 8Z"/>'
    return f'<svg x="{at}" y="{middle:g}" class="ending">{mark}</svg>'
