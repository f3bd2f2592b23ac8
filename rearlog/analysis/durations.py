"""How long stages took: each individual's, as far as daily checks can tell, and their summary."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rearlog.analysis.events import DEAD, LOST, REMOVED, Development
from rearlog.analysis.expected import Expectation, basis, expectation, expected_days
from rearlog.analysis.heat_curve import HeatCurve
from rearlog.analysis.turnbull import Turnbull, turnbull
from rearlog.records.errors import UsageError
from rearlog.records.profile import Profile

Floats = npt.NDArray[np.float64]
COMPLETED, IN_STAGE, STAGE_DIED, STAGE_LOST, STAGE_REMOVED, START_UNKNOWN = (
    "completed",
    "in stage",
    "died",
    "lost",
    "removed",
    "start unknown",
)


@dataclass(frozen=True, slots=True)
class Summary:
    """n values (days, or degree-days) in the usual figures; None where n does not allow one."""

    n: int
    mean: float | None
    sd: float | None
    se: float | None
    min: float | None
    median: float | None
    max: float | None


@dataclass(frozen=True, slots=True)
class IndividualDuration:
    """One individual in one stage, in days.

    `days` is the midpoint estimate, certainly between `low` and `high` (`high` is None while the
    stage is not over, or the individual's end is not known). `outcome`: completed, in stage, died,
    lost, removed, or start unknown. `expected` is the range that the profile leads one to expect;
    `outside` says that the true duration cannot lie in it.
    """

    individual: str
    stage: str
    days: float | None
    low: float | None
    high: float | None
    outcome: str
    degree_days: float | None
    expected: tuple[float, float] | None
    outside: str | None


@dataclass(frozen=True, slots=True)
class StageDuration:
    """A stage of the whole cohort, in days: how many entered and what became of them."""

    stage: str
    entered: int
    completed: int
    died: int
    lost: int
    removed: int
    in_stage: int
    start_unknown: int
    mean: float | None
    sd: float | None
    se: float | None
    min: float | None
    median: float | None
    max: float | None
    interval_width: float | None
    npmle_median: tuple[float, float | None] | None
    npmle_quartiles: tuple[tuple[float, float | None] | None, ...]
    expected: tuple[float, float] | None
    basis: str
    outside: int


@dataclass(frozen=True, slots=True)
class Durations:
    """The durations of all stages (or of one span of them) in one cohort."""

    cohort: str
    species: str
    unit: str
    stages: tuple[StageDuration, ...]
    individuals: tuple[IndividualDuration, ...]
    words: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Spans:
    """The time from entering `first` to entering `until`, for n individuals, in days since zero.

    `start` and `end` (n, 2) are the bounds of both passages; an end that has not been seen is
    (last seen alive, inf). `entered` (n,) says who was in `first` at all; `outcome` (n,) what
    became of it.
    """

    first: str
    until: str
    codes: tuple[str, ...]
    entered: npt.NDArray[np.bool_]
    start: Floats
    end: Floats
    outcome: npt.NDArray[np.str_]

    @property
    def low(self) -> Floats:
        """The least number of days that it can have been, shape (n,)."""
        return np.asarray(np.maximum(0.0, self.end[:, 0] - self.start[:, 1]))

    @property
    def high(self) -> Floats:
        """The most days that it can have been, shape (n,); inf where it was not over."""
        return np.asarray(self.end[:, 1] - self.start[:, 0])

    @property
    def midpoint(self) -> Floats:
        """The difference of the midpoints of the two passages, shape (n,); inf where not over."""
        return np.asarray(self.end.mean(axis=1) - self.start.mean(axis=1))

    def which(self, outcome: str) -> npt.NDArray[np.bool_]:
        """Who had this outcome, shape (n,)."""
        return np.asarray(self.entered & (self.outcome == outcome))


def span(development: Development, first: str, until: str | None = None) -> Spans:
    """The time each individual spent from entering `first` to entering `until`.

    Without `until`, the stage `first` alone: until whichever stage came next. Method: boundaries
    bracketed by checks, low = max(0, a2 − b1), high = b2 − a1.
    """
    rank = development.stages.index(first)
    reached = development.reached(rank)
    start = np.column_stack((development.into_low[:, rank], development.into_high[:, rank]))
    n = len(development.codes)
    if until is None:
        following = development.next_stage(rank)
    else:
        goal = development.stages.index(until)
        following = np.where(~np.isnan(development.into_high[:, goal]), goal, -1)
    done = following >= 0
    rows = np.arange(n)
    end = np.column_stack((development.last_alive, np.full(n, np.inf)))
    end[done, 0] = development.into_low[rows[done], following[done]]
    end[done, 1] = development.into_high[rows[done], following[done]]
    removed = ~done & (development.fate == REMOVED)
    end[removed, 0] = development.end_high[removed]
    outcome = np.full(n, IN_STAGE, dtype="<U13")
    for fate, word in ((DEAD, STAGE_DIED), (LOST, STAGE_LOST), (REMOVED, STAGE_REMOVED)):
        outcome[development.fate == fate] = word
    outcome[done] = COMPLETED
    outcome[done & np.isnan(start[:, 0])] = START_UNKNOWN
    return Spans(
        first, until or _next(development, rank), development.codes, reached, start, end, outcome
    )


def _next(development: Development, rank: int) -> str:
    after = development.stages[rank + 1 :]
    needed = [
        code
        for code, optional in zip(after, development.optional[rank + 1 :], strict=True)
        if not optional
    ]
    return needed[0] if needed else development.stages[rank]


def spans_of(
    development: Development, first: str | None = None, until: str | None = None
) -> tuple[Spans, ...]:
    """Every stage that has an end, or the one span that is asked for.

    Raises UsageError for stages that are not in the profile or not in order.
    """
    stages = development.stages
    if first is None and until is None:
        return tuple(span(development, stage) for stage in stages[:-1])
    first, until = first or stages[0], until or stages[-1]
    for stage in (first, until):
        if stage not in stages:
            raise UsageError(f"there is no stage {stage}", f"the stages are {', '.join(stages)}")
    if stages.index(first) >= stages.index(until):
        raise UsageError(f"{first} does not come before {until}")
    return (span(development, first, until),)


def durations(
    cohort: str,
    profile: Profile,
    development: Development,
    curve: HeatCurve | None,
    first: str | None = None,
    until: str | None = None,
) -> Durations:
    """Summarise stage durations; degree-days and heat-based ranges where there is a heat curve.

    The summary is of midpoint estimates over completed stages with a known start. Beside it
    stands the NPMLE (Turnbull 1976, J. R. Stat. Soc. B 38:290–295), in which deaths and losses
    in the stage are right-censored.
    """
    stages: list[StageDuration] = []
    individuals: list[IndividualDuration] = []
    for each in spans_of(development, first, until):
        if not each.entered.any():
            continue
        hope = expectation(profile, each.first, each.until)
        details = _individuals(each, hope, curve)
        individuals += details
        stages.append(_stage(each, hope, details, curve))
    place = {code: number for number, code in enumerate(development.codes)}
    individuals.sort(key=lambda one: place[one.individual])  # stable: stages stay in order
    return Durations(
        cohort,
        profile.scientific_name,
        "days",
        tuple(stages),
        tuple(individuals),
        tuple(_words(each) for each in stages if each.mean is not None),
    )


def summarise(values: Floats) -> Summary:
    """The usual figures of n values; SD and SE need two of them."""
    n = len(values)
    if n == 0:
        return Summary(0, None, None, None, None, None, None)
    sd = float(values.std(ddof=1)) if n > 1 else None
    return Summary(
        n,
        float(values.mean()),
        sd,
        sd / n**0.5 if sd is not None else None,
        float(values.min()),
        float(np.median(values)),
        float(values.max()),
    )


def _individuals(
    spans: Spans, hope: Expectation, curve: HeatCurve | None
) -> list[IndividualDuration]:
    starts, ends = spans.start.mean(axis=1), spans.end.mean(axis=1)
    low, high, days = spans.low, spans.high, spans.midpoint
    over = spans.which(COMPLETED)
    heat = np.full(len(days), np.nan)
    if curve is not None:
        heat[over] = curve.between(starts[over], ends[over])
    least, most = expected_days(hope, starts, curve)
    return [
        IndividualDuration(
            individual=spans.codes[row],
            stage=spans.first,
            days=_finite(days[row]),
            low=_finite(low[row]),
            high=_finite(high[row]),
            outcome=str(spans.outcome[row]),
            degree_days=_finite(heat[row]),
            expected=_pair(least[row], most[row]),
            outside="shorter"
            if high[row] < least[row]
            else "longer"
            if low[row] > most[row]
            else None,
        )
        for row in np.flatnonzero(spans.entered)
    ]


def _stage(
    spans: Spans, hope: Expectation, details: list[IndividualDuration], curve: HeatCurve | None
) -> StageDuration:
    over = spans.which(COMPLETED)
    summary = summarise(spans.midpoint[over])
    estimate = npmle(spans)
    start = spans.start.mean(axis=1)[spans.entered]
    known = start[~np.isnan(start)]
    middle = float(known.mean()) if len(known) else np.nan
    least, most = expected_days(hope, np.array([middle]), curve)
    return StageDuration(
        stage=spans.first,
        entered=int(spans.entered.sum()),
        completed=summary.n,
        died=int(spans.which(STAGE_DIED).sum()),
        lost=int(spans.which(STAGE_LOST).sum()),
        removed=int(spans.which(STAGE_REMOVED).sum()),
        in_stage=int(spans.which(IN_STAGE).sum()),
        start_unknown=int(spans.which(START_UNKNOWN).sum()),
        mean=summary.mean,
        sd=summary.sd,
        se=summary.se,
        min=summary.min,
        median=summary.median,
        max=summary.max,
        interval_width=float((spans.high - spans.low)[over].mean()) if summary.n else None,
        npmle_median=_quantile(estimate, 0.5),
        npmle_quartiles=tuple(_quantile(estimate, p) for p in (0.25, 0.5, 0.75)),
        expected=_pair(least[0], most[0]),
        basis=basis(hope, middle, curve),
        outside=sum(1 for one in details if one.outside),
    )


def npmle(spans: Spans) -> Turnbull | None:
    """The NPMLE of the duration's distribution; None where nobody's start is known.

    Each individual contributes the interval (low, high] of its own duration, or (low, ∞) where
    death, loss, removal or the present ended the watch.
    """
    usable = spans.entered & ~np.isnan(spans.start[:, 0])
    if not usable.any():
        return None
    return turnbull(spans.low[usable], spans.high[usable])


def _words(each: StageDuration) -> str:
    """How long the stage took on average, beside what was expected, in a sentence."""
    assert each.mean is not None
    who = "1 individual" if each.completed == 1 else f"{each.completed} individuals"
    text = f"{each.stage}: {each.mean:.1f} days on average ({who}"
    if each.interval_width is not None:
        text += f", one known to ± {each.interval_width / 2:.1f}"
    text += ")"
    if each.expected is None:
        return f"{text}; nothing to compare with."
    low, high = each.expected
    text += f", where {low:.1f} to {high:.1f} are expected: "
    if each.mean < low:
        return f"{text}{low - each.mean:.1f} days less than that."
    if each.mean > high:
        return f"{text}{each.mean - high:.1f} days more than that."
    return f"{text}as expected."


def _quantile(estimate: Turnbull | None, p: float) -> tuple[float, float | None] | None:
    interval = estimate.quantile(p) if estimate is not None else None
    if interval is None:
        return None
    low, high = interval
    return float(low), _finite(high)


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _pair(low: float, high: float) -> tuple[float, float] | None:
    return (float(low), float(high)) if np.isfinite(low) and np.isfinite(high) else None
