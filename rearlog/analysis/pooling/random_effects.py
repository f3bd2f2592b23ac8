"""The mean over many cohorts, each of which is known with an error and differs by itself.

Cohort i has a true value θ_i, which lies about the mean μ with the variance τ² between cohorts, and
of which y_i was found, with the standard error s_i: y_i = μ + (θ_i − μ) + e_i.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from enum import StrEnum

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from rearlog.analysis.arrays import Floats, Integers
from rearlog.analysis.statistics.levels import CONFIDENCE, Z_95, tails

STEPS = 200
"""Newton's method settles within twenty; no more than so many steps are taken."""
_SETTLED = 1e-10
MOST_LEFT_OUT = 100
"""Of more values only so many, those farthest from the mean, are left out one at a time."""
FEWEST_FOR_PREDICTION = 5
"""Values below which nothing is said of where another would lie: it might be anywhere."""
FEWEST_SITES = 3
"""Sites below which cohorts are counted, not sites."""


class Estimator(StrEnum):
    """How the variance between cohorts is found."""

    PAULE_MANDEL = "paule_mandel"
    """The variance with which the weighted squares are as large as they are expected to be."""
    DERSIMONIAN_LAIRD = "dersimonian_laird"
    """In one step, from the weighted squares without it."""


class RandomEffects(Struct, frozen=True):
    """The mean over k cohorts that differ by themselves, and how far they do.

    `mean` has the standard error `se` and the 95 % limits `low` and `high`; another cohort's true
    value is expected between `predicted_low` and `predicted_high` (95 %). `tau` is the SD between
    cohorts, with the 95 % limits `tau_low` and `tau_high`; `i2` is the part of the variance of what
    was found that lies between cohorts. `q` is the sum of the weighted squares, and `p` how often
    chance alone makes it as large where cohorts do not differ. None where k is too small.
    """

    k: int
    mean: float
    se: float
    low: float | None
    high: float | None
    predicted_low: float | None
    predicted_high: float | None
    tau: float | None
    tau_low: float | None
    tau_high: float | None
    i2: float | None
    q: float | None
    p: float | None


def random_effects(
    values: npt.ArrayLike,
    errors: npt.ArrayLike,
    estimator: Estimator = Estimator.PAULE_MANDEL,
) -> RandomEffects:
    """The mean of `values` (k,) with standard errors `errors` (k,), which are above 0.

    With weights w = 1/(s² + τ²), μ = Σ w·y / Σ w and SE² = Σ w·(y − μ)² / ((k − 1)·Σ w), with t on
    k − 1 degrees of freedom, but SE² no less than 1 / Σ w: values that chance, or a design that
    gives each site the same temperatures, put closer together than their errors are no surer for
    it. Another cohort: μ ± t·√(τ² + SE²) on k − 2 (of twelve cohorts it holds nine in ten: τ² is
    hardly known by so few). The limits of τ² are the values with which Σ w·(y − μ)² is as large as
    the 97.5th and the 2.5th percentile of χ² on k − 1. I² = τ²/(τ² + s²),
    s² = (k − 1)·Σ v / ((Σ v)² − Σ v²) with v = 1/s_i².
    Raises ValueError for arrays that do not match, are empty, or have an error of 0.

    Sources (cited from memory, held by a reference library). Variance: Paule & Mandel 1982, J. Res.
    Natl. Bur. Stand. 87:377–385, or DerSimonian & Laird 1986, Control. Clin. Trials 7:177–188. Mean
    and limits: Hartung & Knapp 2001, Stat. Med. 20:3875–3889; Sidik & Jonkman 2002, Stat. Med.
    21:3153–3159; no closer than by the variances: Röver, Knapp & Friede 2015, BMC Med. Res.
    Methodol. 15:99. Another cohort: Higgins, Thompson & Spiegelhalter 2009, J. R. Stat. Soc. A
    172:137–159. Limits of τ²: Viechtbauer 2007, Stat. Med. 26:37–52. I²: Higgins & Thompson 2002,
    Stat. Med. 21:1539–1558.
    """
    y, variances = _estimates(values, errors)
    k = y.size
    if k == 1:
        return RandomEffects(1, float(y[0]), float(variances[0] ** 0.5), *[None] * 10)
    from scipy.special import chdtrc, chdtri, stdtrit  # start-up time

    below, above = tails(CONFIDENCE)
    of_mean = _about_mean(y)
    tau2 = _moment(y, variances, k - 1.0, of_mean, estimator)
    tau2_low, tau2_high = (
        between_variance(variances, float(chdtri(k - 1, part)), of_mean) for part in (below, above)
    )
    mean, se = _hartung_knapp(y, variances + tau2)
    q = _squares(1 / variances, of_mean)
    typical = _typical(variances)
    margin = float(stdtrit(k - 1, above)) * se
    reach = None
    if k >= FEWEST_FOR_PREDICTION:
        reach = float(stdtrit(k - 2, above)) * (tau2 + se**2) ** 0.5
    return RandomEffects(
        k=k,
        mean=mean,
        se=se,
        low=mean - margin,
        high=mean + margin,
        predicted_low=None if reach is None else mean - reach,
        predicted_high=None if reach is None else mean + reach,
        tau=tau2**0.5,
        tau_low=tau2_low**0.5,
        tau_high=tau2_high**0.5,
        i2=tau2 / (tau2 + typical),
        q=q,
        p=float(chdtrc(k - 1, q)),
    )


class SiteMean(Struct, frozen=True):
    """One of the sites: how many values it has, their mean, and its error."""

    site: str
    k: int
    mean: float
    se: float

    @property
    def interval(self) -> tuple[float, float]:
        """The 95 % limits of the mean, the variances being taken as known."""
        return max(0.0, self.mean - Z_95 * self.se), self.mean + Z_95 * self.se


class SiteEffects(Struct, frozen=True):
    """The mean over sites, each of several cohorts.

    `mean`, `se` and the 95 % limits count sites: cohorts of a site share what the site has of its
    own. Sites differ by the SD `tau_sites`, cohorts of one site by `tau_cohorts`; a cohort of
    another site is expected between `predicted_low` and `predicted_high`.
    """

    sites: tuple[SiteMean, ...]
    mean: float
    se: float
    low: float
    high: float
    predicted_low: float | None
    predicted_high: float | None
    tau_sites: float
    tau_cohorts: float


def site_effects(
    values: npt.ArrayLike, errors: npt.ArrayLike, sites: Sequence[str]
) -> SiteEffects | None:
    """The mean over sites of `values` (k,) with standard errors (k,), at `sites` (k,).

    None for fewer than three sites, or where no site has two values: then nothing tells one
    variance from the other.

    Method: the variance between cohorts of a site, σ², is that with which the weighted squares
    about the means of the sites come to their expectation, k less the number of sites; then the
    means of the sites, each with the error √(1/Σ w) that follows, are pooled as by
    `random_effects`. So it is Paule & Mandel 1982 twice; generalised squares: DerSimonian & Kacker
    2007, Contemp. Clin. Trials 28:105–114 (cited from memory). A cohort of another site:
    μ ± t·√(τ² + σ² + SE²), t on two less than the number of sites.
    """
    from scipy.special import stdtrit  # start-up time

    y, variances = _estimates(values, errors)
    names, of_site = np.unique(np.asarray(sites, dtype=object), return_inverse=True)
    count = names.size
    if count < FEWEST_SITES or count == y.size:
        return None
    within = between_variance(variances, float(y.size - count), _about_sites(y, of_site))
    weights = 1 / (variances + within)
    total = np.bincount(of_site, weights)
    means, their_errors = np.bincount(of_site, weights * y) / total, total**-0.5
    found = random_effects(means, their_errors)
    assert found.low is not None
    assert found.high is not None
    assert found.tau is not None
    reach = None
    if count >= FEWEST_FOR_PREDICTION:
        reach = float(stdtrit(count - 2, tails(CONFIDENCE)[1]))
        reach *= (found.tau**2 + within + found.se**2) ** 0.5
    sizes = np.bincount(of_site).tolist()
    rows = zip(names.tolist(), sizes, means.tolist(), their_errors.tolist(), strict=True)
    return SiteEffects(
        tuple(SiteMean(*row) for row in rows),
        found.mean,
        found.se,
        found.low,
        found.high,
        None if reach is None else found.mean - reach,
        None if reach is None else found.mean + reach,
        found.tau,
        within**0.5,
    )


def deleted_p(
    values: npt.ArrayLike, errors: npt.ArrayLike, celsius: npt.ArrayLike | None = None
) -> Floats:
    """How often a value (k,) would lie so far from where all others say, two-sided; (k,).

    The others give μ and τ² without it; t = (y − μ)/√(s² + τ² + SE²) on k − 3 degrees of freedom.
    With `celsius` (k,) they give a straight line of the values on it, its place on the line and
    the error of that, on k − 4. NaN where fewer than one degree of freedom is left, or all others
    have one temperature. Of more than MOST_LEFT_OUT values those nearer to the mean are judged
    with themselves among the others, which is as good as the same.

    Source: Viechtbauer & Cheung 2010, Res. Synth. Methods 1:112–125 (cited from memory), with the
    degrees of freedom of a prediction (see `random_effects`).
    """
    from scipy.special import stdtr  # start-up time

    y, variances = _estimates(values, errors)
    columns = [np.ones(y.size)]
    if celsius is not None:
        columns.append(np.asarray(celsius, dtype=float))
    design = np.column_stack(columns)
    freedom = y.size - design.shape[1] - 2
    found = np.full(y.size, np.nan)
    if freedom < 1:
        return found
    everybody = np.ones(y.size, dtype=bool)
    scores = _scores(y, variances, design, everybody)
    if np.isnan(scores).any():
        return found
    farthest = np.argsort(-np.abs(scores), kind="stable")[:MOST_LEFT_OUT]
    for place in farthest.tolist():
        others = everybody.copy()
        others[place] = False
        scores[place] = _scores(y, variances, design, others)[place]
    return np.asarray(2 * stdtr(freedom, -np.abs(scores)))


def between_variance(
    variances: Floats, expected: float, missed: Callable[[Floats], Floats]
) -> float:
    """The τ² with which Σ w·missed² is as large as `expected`, w = 1/(s² + τ²); 0 for none.

    `variances` (k,): s². `missed(w)` (k,): how far the values lie from what is fitted with weights
    w (k,). The sum falls with τ² and is convex in it, so that Newton's steps from 0 on do not go
    too far; its slope is −Σ w²·missed², the fit being the best there is.
    """
    tau2 = 0.0
    for _ in range(STEPS):
        weights = 1 / (variances + tau2)
        squares = weights * missed(weights) ** 2
        excess = float(squares.sum()) - expected
        slope = float((weights * squares).sum())
        if excess <= _SETTLED * expected:  # where nothing is missed, too: no slope of 0 is left
            break
        tau2 += excess / slope
    return tau2


def _scores(y: Floats, variances: Floats, design: Floats, rows: npt.NDArray[np.bool_]) -> Floats:
    """How far all values lie from where `rows` say, in standard errors; NaN where they cannot."""
    some, theirs, within = design[rows], y[rows], variances[rows]
    if np.linalg.matrix_rank(some - some.mean(axis=0)) < design.shape[1] - 1:
        return np.full(y.size, np.nan)
    freedom = theirs.size - design.shape[1]

    def missed(weights: Floats) -> Floats:
        return theirs - some @ _fitted(some, theirs, weights)

    tau2 = between_variance(within, float(freedom), missed)
    weights = 1 / (within + tau2)
    covariance = np.linalg.inv((some.T * weights) @ some)
    scatter = _squares(weights, missed) / freedom
    own = np.einsum("ki,ij,kj->k", design, covariance * scatter, design)
    far = y - design @ _fitted(some, theirs, weights)
    return np.asarray(far / np.sqrt(variances + tau2 + own))


def _fitted(design: Floats, y: Floats, weights: Floats) -> Floats:
    return np.asarray(np.linalg.solve((design.T * weights) @ design, design.T @ (weights * y)))


def _estimates(values: npt.ArrayLike, errors: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Values and their variances, both (k,); ValueError where they are none."""
    y, s = np.asarray(values, dtype=float), np.asarray(errors, dtype=float)
    if y.ndim != 1 or y.shape != s.shape or y.size == 0:
        raise ValueError(f"values {y.shape} and errors {s.shape} must be two arrays of one length")
    if not (np.isfinite(y).all() and np.isfinite(s).all() and (s > 0).all()):
        raise ValueError("values must be finite, errors finite and above 0")
    return y, s**2


def _moment(
    y: Floats,
    variances: Floats,
    expected: float,
    missed: Callable[[Floats], Floats],
    estimator: Estimator,
) -> float:
    if estimator is Estimator.PAULE_MANDEL:
        return between_variance(variances, expected, missed)
    weights = 1 / variances
    scale = weights.sum() - (weights**2).sum() / weights.sum()
    return max(0.0, float((_squares(weights, missed) - expected) / scale))


def _hartung_knapp(y: Floats, variances: Floats) -> tuple[float, float]:
    """The weighted mean, and its standard error by the scatter of the values about it, or by their
    variances where these say more."""
    weights = 1 / variances
    mean = float(y @ weights / weights.sum())
    scatter = _squares(weights, _about_mean(y)) / (y.size - 1)
    return mean, (max(1.0, scatter) / float(weights.sum())) ** 0.5


def _about_mean(y: Floats) -> Callable[[Floats], Floats]:
    return lambda weights: y - y @ weights / weights.sum()


def _about_sites(y: Floats, of_site: Integers) -> Callable[[Floats], Floats]:
    def missed(weights: Floats) -> Floats:
        means = np.bincount(of_site, weights * y) / np.bincount(of_site, weights)
        return np.asarray(y - means[of_site])

    return missed


def _squares(weights: Floats, missed: Callable[[Floats], Floats]) -> float:
    return float(weights @ missed(weights) ** 2)


def _typical(variances: Floats) -> float:
    """The variance that stands for the errors of all values in I²."""
    weights = 1 / variances
    before, behind = np.cumsum(weights), np.cumsum(weights[::-1])
    others = np.append(0.0, before[:-1]) + np.append(behind[:-1][::-1], 0.0)
    # (Σ v)² − Σ v², also where one of them is as large as all
    return (variances.size - 1) * float(before[-1]) / float(weights @ others)
