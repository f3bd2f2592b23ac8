"""Times in groups as multiples of each other, from intervals and from those still waiting.

Who is still in a stage has taken as long as that at least. To leave them out makes a cohort that
has not finished look quick; here all count, each by the probability of what was seen of it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from msgspec import Struct

from rearlog.analysis.arrays import Booleans, Floats, Integers
from rearlog.analysis.statistics.checked_mean import CheckedMean

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
LEAST_INFORMATION = 4e-5
"""Of a direction in which the likelihood is flat: its standard error is then 158 in ln time, so
that no limit is near, and exp of it still a number."""
NODES = 5
"""Places within its interval at which a start is tried out (Gauss–Legendre)."""
RESOLVED = 0.12
"""Where starts were looked for, no spread is sought below this part of the time between two checks:
the places stand too far apart for it, and the checks too."""
DECIMALS = 9


class Times(Struct, frozen=True, eq=False):
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

    def of(self, rows: Booleans) -> Times:
        """Those of some individuals alone: of whom `rows` (n,) is true."""
        return Times(self.low[rows], self.high[rows], self.start_width[rows])


def joined(groups: Sequence[Times]) -> Times:
    """The times of some groups as those of one."""
    low, high, width = (
        np.concatenate([getattr(each, name) for each in groups])
        for name in ("low", "high", "start_width")
    )
    return Times(low, high, width)


class GroupTimes(Struct, frozen=True):
    """The times of one group as a fit of its own has them: the mean, in the unit of the times, and
    the standard error of its natural logarithm, the estimated shape allowed for."""

    events: int
    mean: float
    mean_se: float

    def logarithm(self, check_error: float) -> CheckedMean:
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


class AcceleratedLife(Struct, frozen=True):
    """Groups whose times have a distribution of one `family`, Weibull, log-normal or gamma, each
    with a spread of its own."""

    family: str
    groups: tuple[GroupTimes, ...]
    log_likelihood: float


def accelerated_life(groups: Sequence[Times], family: str | None = None) -> AcceleratedLife:
    """Fit groups of interval- and right-censored times by maximum likelihood, each by itself.

    T = exp(η) · W with an η and a shape of W of each group. Families: Weibull, log-normal, gamma;
    without `family` the likeliest, which is that of the least AIC, for all have as many parameters.
    A start that checks bracketed is taken to lie anywhere between them alike.
    Raises ValueError for an unknown family or fewer than FEWEST_EVENTS events in a group.
    Source: accelerated failure time models, Kalbfleisch & Prentice 2002, The Statistical Analysis
    of Failure Time Data, 2nd ed., chapters 3 and 7; AIC: Akaike 1974, IEEE Trans. Autom. Control
    19:716–723. Maximum by Newton's method with the derivatives taken as differences.
    """
    laws = _chosen(groups, family)
    samples = [(_GroupedIntervals([group]), group.events) for group in groups]
    fits = []
    for law in laws:
        found, likelihoods = zip(*(_alone(*each, law) for each in samples), strict=True)
        fits.append(AcceleratedLife(law.name, found, sum(likelihoods)))
    return max(fits, key=lambda fit: fit.log_likelihood)


class DesignFit(Struct, frozen=True, eq=False):
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
    groups: Sequence[Times],
    design: Floats,
    family: str | None = None,
    clusters: Integers | None = None,
) -> DesignFit:
    """Fit groups by a design of full rank, with one shape for all.

    Without `family` it is the likeliest, as in `accelerated_life`.
    With `clusters`, a label for each individual, group after group, the covariance is that of what
    whole clusters add (the sandwich), of C clusters times C / (C − p), on C − p degrees of freedom:
    that is unbiased where clusters of one size lie within groups (derived); else it is that of the
    information, divided as a variance is by one less for each coefficient.
    Raises ValueError for an unknown family, fewer than FEWEST_EVENTS events in a group, and for no
    more clusters than coefficients.
    Source: see `accelerated_life`; Liang & Zeger 1986, Biometrika 73:13–22.
    """
    laws, sample = _chosen(groups, family), _GroupedIntervals(groups)
    found = [(law, *_maximise(sample, law, design)) for law in laws]
    law, point, likelihood, information = max(found, key=lambda fit: fit[2])
    p = design.shape[1]
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
        law.name,
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


class _Law(Struct, frozen=True):
    """A family: probabilities below and above, and log density, of ln(time) − η, given σ, arrays
    that fit together; and ln of the mean of exp of that."""

    name: str
    below: Callable[[Floats, Floats], Floats]
    above: Callable[[Floats, Floats], Floats]
    log_density: Callable[[Floats, Floats], Floats]
    log_mean: Callable[[float], float]


def _chosen(groups: Sequence[Times], family: str | None) -> list[_Law]:
    """The families to try. Raises ValueError as `design_fit` does."""
    if min(group.events for group in groups) < FEWEST_EVENTS:
        raise ValueError(f"fewer than {FEWEST_EVENTS} events in a group")
    laws = _laws()
    chosen = [law for law in laws if family in (None, law.name)]
    if not chosen:
        raise ValueError(f"there is no family {family}: {', '.join(law.name for law in laws)}")
    return chosen


def _laws() -> tuple[_Law, ...]:
    from scipy.special import gammainc, gammaincc, gammaln, ndtr  # start-up time

    def weibull_hazard(x: Floats, sigma: Floats) -> Floats:
        return np.asarray(np.exp(np.minimum(x / sigma, 600.0)))

    def gamma_density(x: Floats, sigma: Floats) -> Floats:
        shape = sigma**-2
        return np.asarray(shape * (x - np.exp(x) + np.log(shape)) - gammaln(shape))

    return (
        _Law(
            "Weibull",
            lambda x, sigma: -np.expm1(-weibull_hazard(x, sigma)),
            lambda x, sigma: np.exp(-weibull_hazard(x, sigma)),
            lambda x, sigma: x / sigma - weibull_hazard(x, sigma) - np.log(sigma),
            lambda sigma: math.lgamma(1 + sigma),
        ),
        _Law(
            "log-normal",
            lambda x, sigma: ndtr(x / sigma),
            lambda x, sigma: ndtr(-x / sigma),
            lambda x, sigma: -((x / sigma) ** 2) / 2 - np.log(sigma * math.sqrt(2 * math.pi)),
            lambda sigma: sigma**2 / 2,
        ),
        _Law(
            "gamma",
            lambda x, sigma: gammainc(sigma**-2, np.exp(x) * sigma**-2),
            lambda x, sigma: gammaincc(sigma**-2, np.exp(x) * sigma**-2),
            gamma_density,
            lambda sigma: 0.0,
        ),
    )


class _GroupedIntervals:
    """The distinct intervals of all groups, how often each was seen and in which group; `row` says
    which of them each individual has, group after group."""

    def __init__(self, groups: Sequence[Times]) -> None:
        rows = np.concatenate(
            [
                np.column_stack(
                    (np.full(len(each.low), place), each.low, each.high, each.start_width)
                )
                for place, each in enumerate(groups)
            ]
        ).round(DECIMALS)
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


def _alone(sample: _GroupedIntervals, events: int, law: _Law) -> tuple[GroupTimes, float]:
    """One group, and its log-likelihood."""
    (eta, log_sigma), likelihood, information = _maximise(sample, law, np.ones((1, 1)))
    here, below, above = (law.log_mean(math.exp(log_sigma + by)) for by in (0.0, -STEP, STEP))
    gradient = np.array([1.0, (above - below) / (2 * STEP)])
    # as the variance of a mean: divided by one less
    variance = float(gradient @ _inverse(information) @ gradient) * events / (events - 1)
    return GroupTimes(events, math.exp(eta + here), variance**0.5), likelihood


def _maximise(sample: _GroupedIntervals, law: _Law, design: Floats) -> tuple[Floats, float, Floats]:
    """The coefficients (k,) and ln σ of the highest log-likelihood, that, and minus the second
    derivatives (k + 1, k + 1) there. `design` (groups, k) times the coefficients are the η of the
    groups."""
    starts = np.array([sample.start(place) for place in range(len(design))])
    first: Floats = np.linalg.lstsq(design, starts[:, 0], rcond=None)[0]
    point: Floats = np.append(first, starts[:, 1].mean())
    k = len(first)
    logs, slope, bend = sample.derivatives(law, (design @ point[:k])[sample.group], point[k])
    now = float(sample.count @ logs)
    for _ in range(SWEEPS):
        gradient, information = _assembled(sample, slope, bend, design)
        if point[k] <= sample.narrowest and gradient[k] < 0:  # only the η may still move
            gradient[k] = information[k, :k] = information[:k, k] = 0.0
        scale = np.maximum(np.abs(np.diag(information)), 1e-8)
        lowest = np.linalg.eigvalsh(information / np.sqrt(scale * scale[:, None]))[0]
        ridge = 1e-3 - lowest if lowest < 1e-6 else 0.0
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
        point = moved
        if moves < SETTLED or (0 <= gain < 1e-10):
            break
    return point, now, _assembled(sample, slope, bend, design)[1]


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
