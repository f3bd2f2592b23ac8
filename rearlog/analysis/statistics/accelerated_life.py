"""Times in groups as multiples of each other, from intervals and from those still waiting.

Who is still in a stage has taken as long as that at least. To leave them out makes a cohort that
has not finished look quick; here all count, each by the probability of what was seen of it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from rearlog.analysis.arrays import Floats, Integers
from rearlog.analysis.statistics.checked_mean import CheckedMean
from rearlog.analysis.statistics.student_t import limit_95

FEWEST_EVENTS = 3
"""Events in each group below which nothing is fitted."""

STEP = 2e-4
"""In ln time and in ln σ: the differences by which derivatives are taken."""
SETTLED = 1e-5
SWEEPS = 60
LOG_SIGMA = (-6.0, 1.6)
"""The range in which ln σ is sought; all in one interval would take it to −∞."""
LEAST = 1e-280
LATE = 0.999
TINY = 1e-9
FARTHEST = 300.0
"""A limit farther than this in ln time from the estimate is none."""
LEAST_INFORMATION = 4e-5
"""Of a direction in which the likelihood is flat: its standard error is then 158 in ln time, a
limit of it beyond FARTHEST, and exp of that still a number."""
NODES = 5
"""Places within its interval at which a start is tried out (Gauss–Legendre)."""
RESOLVED = 0.12
"""Where starts were looked for, no spread is sought below this part of the time between two checks:
the places stand too far apart for it, and the checks too."""
DECIMALS = 9


@dataclass(frozen=True, eq=False)
class Times:
    """The times of one group of n, in one unit: each lies in (low, high], high = inf if not over.

    Where the start was itself only bracketed by checks, `start_width` (n,) is how far these lie
    apart, and low and high count from the middle between them; else 0. low == high is exact.
    Raises ValueError where the arrays do not fit together, or an interval ends before it begins.
    """

    low: Floats
    high: Floats
    start_width: Floats

    def __post_init__(self) -> None:
        low, high, width = self.low, self.high, self.start_width
        if low.ndim != 1 or not low.shape == high.shape == width.shape:
            raise ValueError("low, high and start_width must be lists of one length")
        if not (np.isfinite(low) & (low <= high) & (width >= 0) & (high > 0)).all():
            raise ValueError("each time needs a known low end, and a high end > 0 not before it")

    @property
    def events(self) -> int:
        """How many have come to the end."""
        return int(np.isfinite(self.high).sum())


@dataclass(frozen=True, slots=True)
class GroupTimes:
    """The times of one group as a fit has them, in the unit of the times.

    `se` are the standard errors of the natural logarithms of median and mean, the estimated shape
    allowed for; limits are of 95 %, by Student's t on one degree of freedom less than there are
    events.
    """

    n: int
    events: int
    median: float
    median_se: float
    median_low: float
    median_high: float
    mean: float
    mean_se: float
    mean_low: float
    mean_high: float

    def logarithm(self, check_error: float = 0.0) -> CheckedMean:
        """ln of the mean, for the tests and the pairs of several means.

        `check_error`: an error of the mean (its SD, in the unit of the times) that all individuals
        share, as where they passed in step.
        """
        shared = check_error / self.mean
        own = max(self.mean_se, TINY)
        return CheckedMean(
            n=self.events,
            mean=math.log(self.mean),
            sd=self.mean_se * self.events**0.5,
            se=math.hypot(own, shared),
            check_error=shared,
            freedom=(self.events - 1) * (1 + (shared / own) ** 2) ** 2,
        )


@dataclass(frozen=True, slots=True)
class AcceleratedLife:
    """Groups whose times have a distribution of one `family`: Weibull, log-normal or gamma.

    `sigma` is the spread of each group: the SD of ln time (log-normal), the inverse of Weibull's
    shape, or the CV (gamma); all alike where the groups were fitted with one shape. `aic` counts
    all parameters. `difference_se` is the standard error of the difference of ln time between any
    two groups. `narrow` says that the spread was too small to be told from none.
    """

    family: str
    groups: tuple[GroupTimes, ...]
    sigma: tuple[float, ...]
    log_likelihood: float
    aic: float
    difference_se: tuple[tuple[float, ...], ...]
    narrow: bool


@dataclass(frozen=True, slots=True)
class RatioOfTimes:
    """How many times as long group `first` took as group `second` (places from 0), 95 % limits."""

    first: int
    second: int
    ratio: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class AcceleratedTest:
    """Whether groups differ in their times, all with one shape.

    `fit` has a median of each group. `statistic` is twice what its log-likelihood exceeds that of
    one group by, `p` that of F with k − 1 and (events − k) degrees of freedom. Where no test can be
    made, all is None and `reason` says why.
    """

    statistic: float | None
    p: float | None
    fit: AcceleratedLife | None
    ratios: tuple[RatioOfTimes, ...]
    reason: str | None = None


def accelerated_life(
    groups: Sequence[Times], family: str | None = None, *, one_shape: bool = True
) -> AcceleratedLife:
    """Fit groups of interval- and right-censored times by maximum likelihood.

    T = exp(η) · W with an η of each group, and W of one shape for all (`one_shape`) or of one for
    each. Families: Weibull, log-normal, gamma; without `family` the one with the least AIC. A start
    that checks bracketed is taken to lie anywhere between them alike.
    Raises ValueError for an unknown family or fewer than FEWEST_EVENTS events in a group.
    Source: accelerated failure time models, Kalbfleisch & Prentice 2002, The Statistical Analysis
    of Failure Time Data, 2nd ed., chapters 3 and 7; AIC: Akaike 1974, IEEE Trans. Autom. Control
    19:716–723. Maximum by Newton's method with the derivatives taken as differences.
    """
    if min(group.events for group in groups) < FEWEST_EVENTS:
        raise ValueError(f"fewer than {FEWEST_EVENTS} events in a group")
    laws = _laws()
    if family is not None and family not in laws:
        raise ValueError(f"there is no family {family}: {', '.join(laws)}")
    chosen = [law for name, law in laws.items() if family in (None, name)]
    if one_shape:
        sample = _GroupedIntervals(groups)
        return min((_fit(groups, sample, law) for law in chosen), key=lambda fit: fit.aic)
    samples = [_GroupedIntervals([group]) for group in groups]
    apart = (
        [_fit([group], sample, law) for group, sample in zip(groups, samples, strict=True)]
        for law in chosen
    )
    return min((_together(fits) for fits in apart), key=lambda fit: fit.aic)


def accelerated_test(groups: Sequence[Times]) -> AcceleratedTest:
    """Whether two or more groups differ in their times: a likelihood ratio, with the ratios of all
    pairs of groups.

    Only for groups that spread alike: else see `GroupTimes.logarithm`, which may be compared as
    means are, from a fit with `one_shape` false. The family is the one with the least AIC where
    the groups are apart. The likelihood ratio of few is referred to
    F = (exp(statistic / events) − 1)·(events − k)/(k − 1), which is exact for log-normal times that
    are all known (derived from the t test of their logarithms).
    Raises ValueError for fewer than two groups. Source: see `accelerated_life`.
    """
    from scipy.special import fdtrc  # start-up time

    if len(groups) < 2:
        raise ValueError("a test needs two groups or more")
    if min(group.events for group in groups) < FEWEST_EVENTS:
        return AcceleratedTest(
            None, None, None, (), f"fewer than {FEWEST_EVENTS} came to the end in a group"
        )
    fit = accelerated_life(groups)
    pooled = Times(
        *(
            np.concatenate([getattr(group, name) for group in groups])
            for name in ("low", "high", "start_width")
        )
    )
    alike = accelerated_life([pooled], fit.family)
    k, events = len(groups), pooled.events
    statistic = max(0.0, 2 * (fit.log_likelihood - alike.log_likelihood))
    f = math.expm1(min(statistic / events, 500.0)) * (events - k) / (k - 1)
    ratios = tuple(
        _ratio(fit, first, second, limit_95(events - k))
        for first in range(k)
        for second in range(first + 1, k)
    )
    return AcceleratedTest(statistic, float(fdtrc(k - 1, events - k, f)), fit, ratios)


def _ratio(fit: AcceleratedLife, first: int, second: int, t: float) -> RatioOfTimes:
    one, other = fit.groups[first], fit.groups[second]
    estimate = math.log(one.median / other.median)
    reach = t * fit.difference_se[first][second]
    return RatioOfTimes(
        first, second, math.exp(estimate), math.exp(estimate - reach), math.exp(estimate + reach)
    )


@dataclass(frozen=True, eq=False)
class DesignFit:
    """Groups whose ln time is what a design (groups, p) says, times `coefficients` (p,), and a
    scatter of one shape for all.

    `covariance` (p, p) is that of the coefficients; `log_mean` the logarithm of the mean of a group
    less that sum. `freedom` is what the covariance rests on.
    """

    family: str
    coefficients: Floats
    covariance: Floats
    freedom: float
    log_mean: float
    log_likelihood: float


def design_fit(
    groups: Sequence[Times], design: Floats, family: str, clusters: Integers | None = None
) -> DesignFit:
    """Fit groups by a design of full rank, as `accelerated_life` fits them each by itself.

    With `clusters`, a label for each individual, group after group, the covariance is that of what
    whole clusters add (the sandwich), of C clusters times C / (C − p), on C − p degrees of freedom:
    that is unbiased where clusters of one size lie within groups (derived); else it is that of the
    information, divided as a variance is by one less for each coefficient.
    Raises ValueError for fewer than FEWEST_EVENTS events in a group, and for no more clusters than
    coefficients. Source: see `accelerated_life`; Liang & Zeger 1986, Biometrika 73:13–22.
    """
    if min(group.events for group in groups) < FEWEST_EVENTS:
        raise ValueError(f"fewer than {FEWEST_EVENTS} events in a group")
    law, sample = _laws()[family], _GroupedIntervals(groups)
    starts = np.array([sample.start(place) for place in range(len(groups))])
    p = design.shape[1]
    first: Floats = np.linalg.lstsq(design, starts[:, 0], rcond=None)[0]
    point: Floats = np.append(first, starts[:, 1].mean())
    likelihood, information = _maximise(sample, law, point, design)
    events = sum(group.events for group in groups)
    inverse = _inverse(information)
    if clusters is None:
        freedom = float(events - p)  # of three events a group at the least
        covariance = inverse * events / freedom
    else:
        names, place = np.unique(clusters, return_inverse=True)
        if len(names) <= p:
            raise ValueError("no more clusters than coefficients")
        freedom = float(len(names) - p)
        eta = (design @ point[:p])[sample.group]
        _, slope, _ = sample.derivatives(law, eta, float(point[p]))
        scores = np.column_stack((slope[:, :1] * design[sample.group], slope[:, 1]))[sample.row]
        sums = np.zeros((len(names), p + 1))
        np.add.at(sums, place.ravel(), scores)
        covariance = inverse @ (sums.T @ sums) @ inverse * len(names) / freedom
    return DesignFit(
        family,
        point[:p],
        np.asarray(covariance[:p, :p], dtype=np.float64),
        freedom,
        law.log_mean(math.exp(point[p])),
        likelihood,
    )


def _inverse(information: Floats) -> Floats:
    """The inverse of an information matrix. Of what the data say nothing about, a direction in
    which the likelihood is flat, it is so large that no interval is short; a pseudo-inverse would
    call it known without error, or not, as the last digit falls."""
    values, vectors = np.linalg.eigh(information)
    inverse: Floats = (vectors / np.maximum(values, LEAST_INFORMATION)) @ vectors.T
    return inverse


@dataclass(frozen=True, slots=True)
class _Law:
    """A family: probabilities below and above, and log density, of ln(time) − η, given σ, arrays
    that fit together; and ln of the median and of the mean of exp of that."""

    name: str
    below: Callable[[Floats, Floats], Floats]
    above: Callable[[Floats, Floats], Floats]
    log_density: Callable[[Floats, Floats], Floats]
    log_median: Callable[[float], float]
    log_mean: Callable[[float], float]


def _laws() -> dict[str, _Law]:
    from scipy.special import gammainc, gammaincc, gammaincinv, gammaln, ndtr  # start-up time

    def weibull_hazard(x: Floats, sigma: Floats) -> Floats:
        return np.asarray(np.exp(np.minimum(x / sigma, 600.0)))

    def gamma_density(x: Floats, sigma: Floats) -> Floats:
        shape = sigma**-2
        return np.asarray(shape * (x - np.exp(x) + np.log(shape)) - gammaln(shape))

    laws = (
        _Law(
            "Weibull",
            lambda x, sigma: -np.expm1(-weibull_hazard(x, sigma)),
            lambda x, sigma: np.exp(-weibull_hazard(x, sigma)),
            lambda x, sigma: x / sigma - weibull_hazard(x, sigma) - np.log(sigma),
            lambda sigma: sigma * math.log(math.log(2)),
            lambda sigma: math.lgamma(1 + sigma),
        ),
        _Law(
            "log-normal",
            lambda x, sigma: ndtr(x / sigma),
            lambda x, sigma: ndtr(-x / sigma),
            lambda x, sigma: -((x / sigma) ** 2) / 2 - np.log(sigma * math.sqrt(2 * math.pi)),
            lambda sigma: 0.0,
            lambda sigma: sigma**2 / 2,
        ),
        _Law(
            "gamma",
            lambda x, sigma: gammainc(sigma**-2, np.exp(x) * sigma**-2),
            lambda x, sigma: gammaincc(sigma**-2, np.exp(x) * sigma**-2),
            gamma_density,
            lambda sigma: math.log(gammaincinv(sigma**-2, 0.5) * sigma**2),
            lambda sigma: 0.0,
        ),
    )
    return {law.name: law for law in laws}


class _GroupedIntervals:
    """The distinct intervals of all groups, how often each was seen and in which group; `row` says
    which of them each individual has, group after group."""

    def __init__(self, groups: Sequence[Times]) -> None:
        rows = np.concatenate(
            [
                np.column_stack((np.full(len(g.low), place), g.low, g.high, g.start_width)).round(
                    DECIMALS
                )
                for place, g in enumerate(groups)
            ]
        )
        rows, inverse, self.count = np.unique(rows, axis=0, return_inverse=True, return_counts=True)
        self.row = inverse.ravel()
        self.group = rows[:, 0].astype(np.intp)
        self.low, self.high, width = rows[:, 1], rows[:, 2], rows[:, 3]
        self.exact = self.low == self.high
        nodes, weights = np.polynomial.legendre.leggauss(NODES)
        if not width.any():
            nodes, weights = np.array([0.0]), np.array([2.0])
        self.weights = weights / 2
        self.narrowest = self._narrowest(width)
        before = width[:, None] * nodes / 2
        with np.errstate(divide="ignore"):
            self.log_low = np.log(np.maximum(self.low[:, None] - before, 0.0))
            self.log_high = np.log(np.maximum(self.high[:, None] - before, 0.0))

    def start(self, place: int) -> tuple[float, float]:
        """A first guess of η and ln σ of a group, from the middles of its intervals."""
        own = (self.group == place) & (np.isfinite(self.high))
        middle = np.maximum((self.low + self.high)[own] / 2, 1e-6)
        logs, count = np.log(middle), self.count[own]
        mean = float(np.average(logs, weights=count))
        spread = float(np.average((logs - mean) ** 2, weights=count)) ** 0.5
        return mean, math.log(min(max(spread, 0.03), 2.0))

    def _narrowest(self, width: Floats) -> float:
        """The least ln σ that is sought."""
        seen = (width > 0) & np.isfinite(self.high)
        if not seen.any():
            return LOG_SIGMA[0]
        middle = np.average((self.low + self.high)[seen] / 2, weights=self.count[seen])
        between = np.average(width[seen], weights=self.count[seen])
        return max(LOG_SIGMA[0], min(math.log(RESOLVED * between / max(middle, TINY)), 0.0))

    def log_probability(self, law: _Law, eta: Floats, log_sigma: Floats) -> Floats:
        """Of each distinct interval, for m values each of `eta` (m, rows) and `log_sigma` (m,);
        shape (m, rows)."""
        sigma = np.exp(log_sigma)[:, None, None]
        x, y = self.log_low - eta[:, :, None], self.log_high - eta[:, :, None]
        lower = law.below(x, sigma)
        inside = law.below(y, sigma) - lower
        late = lower > LATE  # differences of what is near 1 would vanish
        if late.any():
            of = np.broadcast_to(sigma, x.shape)[late]
            inside[late] = law.above(x[late], of) - law.above(y[late], of)
        logs = np.log(np.maximum(inside @ self.weights, LEAST))
        if self.exact.any():
            at = x[:, self.exact]
            density = np.exp(law.log_density(at, sigma) - self.log_low[self.exact])
            logs[:, self.exact] = np.log(np.maximum(density @ self.weights, LEAST))
        return np.asarray(logs)

    def derivatives(
        self, law: _Law, eta: Floats, log_sigma: float
    ) -> tuple[Floats, Floats, Floats]:
        """Log-probabilities (rows,), their gradients (rows, 2) and second derivatives (rows, 2, 2)
        by η and ln σ."""
        steps = [(i, j) for i in (-1, 0, 1) for j in (-1, 0, 1)]
        along, across = STEP * np.array(steps, dtype=np.float64).T
        logs = self.log_probability(law, eta + along[:, None], log_sigma + across)
        at = dict(zip(steps, logs, strict=True))
        here = at[0, 0]
        slope = np.stack((at[1, 0] - at[-1, 0], at[0, 1] - at[0, -1]), axis=1) / (2 * STEP)
        mixed = (at[1, 1] - at[1, -1] - at[-1, 1] + at[-1, -1]) / 4
        bend = np.empty((len(here), 2, 2))
        bend[:, 0, 0] = at[1, 0] - 2 * here + at[-1, 0]
        bend[:, 1, 1] = at[0, 1] - 2 * here + at[0, -1]
        bend[:, 0, 1] = bend[:, 1, 0] = mixed
        return here, slope, bend / STEP**2


def _together(apart: Sequence[AcceleratedLife]) -> AcceleratedLife:
    """Fits of one group each, as one."""
    found = tuple(each.groups[0] for each in apart)
    return AcceleratedLife(
        apart[0].family,
        found,
        tuple(each.sigma[0] for each in apart),
        sum(each.log_likelihood for each in apart),
        sum(each.aic for each in apart),
        tuple(
            tuple(0.0 if a is b else math.hypot(a.mean_se, b.mean_se) for b in found) for a in found
        ),
        any(each.narrow for each in apart),
    )


def _fit(groups: Sequence[Times], sample: _GroupedIntervals, law: _Law) -> AcceleratedLife:
    """All groups with one shape."""
    k = len(groups)
    starts = [sample.start(place) for place in range(k)]
    point = np.array([*(eta for eta, _ in starts), np.mean([sigma for _, sigma in starts])])
    likelihood, information = _maximise(sample, law, point)
    events = sum(group.events for group in groups)
    # as the variance of a mean: divided by one less for each mean that was fitted
    covariance = _inverse(information) * events / max(events - k, 1)
    eta = covariance[:k, :k]
    variances = np.maximum(np.add.outer(np.diag(eta), np.diag(eta)) - 2 * eta, 0.0)
    return AcceleratedLife(
        law.name,
        tuple(
            _group(group, law, point[[place, k]], covariance[np.ix_([place, k], [place, k])])
            for place, group in enumerate(groups)
        ),
        (math.exp(point[k]),) * k,
        likelihood,
        2 * (k + 1) - 2 * likelihood,
        tuple(map(tuple, np.sqrt(variances).tolist())),
        bool(point[k] <= sample.narrowest + 0.01),
    )


def _group(group: Times, law: _Law, point: Floats, covariance: Floats) -> GroupTimes:
    """What η and ln σ, with their covariance (2, 2), say of a group."""
    t = limit_95(max(group.events - 1, 1))
    found: list[float] = []
    for part in (law.log_median, law.log_mean):
        here, below, above = (part(math.exp(point[1] + by)) for by in (0.0, -STEP, STEP))
        gradient = np.array([1.0, (above - below) / (2 * STEP)])
        se = max(float(gradient @ covariance @ gradient), 0.0) ** 0.5
        middle, reach = float(point[0]) + here, min(t * se, FARTHEST)
        found += [math.exp(middle), se, math.exp(middle - reach), math.exp(middle + reach)]
    return GroupTimes(len(group.low), group.events, *found)


def _maximise(
    sample: _GroupedIntervals, law: _Law, point: Floats, design: Floats | None = None
) -> tuple[float, Floats]:
    """Move `point`, k coefficients and ln σ, to the highest log-likelihood; that, and minus the
    second derivatives (k + 1, k + 1) there. `design` (groups, k) times the coefficients are the η
    of the groups; without it these are the coefficients."""
    k = len(point) - 1
    damping = 0.0
    design = np.eye(k) if design is None else design
    logs, slope, bend = sample.derivatives(law, (design @ point[:k])[sample.group], point[k])
    now = float(sample.count @ logs)
    for _ in range(SWEEPS):
        gradient, information = _assembled(sample, slope, bend, design)
        if point[k] <= sample.narrowest and gradient[k] < 0:  # only the η may still move
            gradient[k] = information[k, :k] = information[:k, k] = 0.0
        scale = np.maximum(np.abs(np.diag(information)), 1e-8)
        lowest = np.linalg.eigvalsh(information / np.sqrt(scale * scale[:, None]))[0]
        ridge = max(damping, 1e-3 - lowest if lowest < 1e-6 else 0.0)
        step = np.linalg.solve(information + ridge * np.diag(scale), gradient)
        step /= max(1.0, float(np.abs(step).max()))
        while True:
            moved = point + step
            moved[k] = np.clip(moved[k], sample.narrowest, LOG_SIGMA[1])
            eta = (design @ moved[:k])[sample.group]
            logs, slope, bend = sample.derivatives(law, eta, moved[k])
            then = float(sample.count @ logs)
            if then >= now - 1e-9 or np.abs(step).max() < 1e-9:
                break
            step /= 2
        gain, now = then - now, then
        moves = float(np.abs(moved - point).max())
        point[:] = moved
        if moves < SETTLED or (0 <= gain < 1e-10):
            break
    return now, _assembled(sample, slope, bend, design)[1]


def _assembled(
    sample: _GroupedIntervals, slope: Floats, bend: Floats, design: Floats
) -> tuple[Floats, Floats]:
    """Gradient (k + 1,) and minus the second derivatives (k + 1, k + 1) of the log-likelihood, by
    the k coefficients of a `design` (groups, k) and ln σ."""
    groups, k = design.shape

    def by_group(values: Floats) -> Floats:
        return np.asarray(
            np.bincount(sample.group, sample.count * values, groups), dtype=np.float64
        )

    gradient = np.append(design.T @ by_group(slope[:, 0]), sample.count @ slope[:, 1])
    information = np.zeros((k + 1, k + 1))
    information[:k, :k] = -(design.T * by_group(bend[:, 0, 0])) @ design
    information[:k, k] = information[k, :k] = -design.T @ by_group(bend[:, 0, 1])
    information[k, k] = -float(sample.count @ bend[:, 1, 1])
    return gradient, information
