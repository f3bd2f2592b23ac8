from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rearlog.analysis.growth.instars import (
    BETWEEN_CV,
    MEASUREMENT_CV,
    Dyar,
    dyar,
    fold_increase,
    growth_ratios,
    instar_probabilities,
    relative_growth_rate,
)
from rearlog.analysis.statistics.straight_line import NoFit

# Published head capsule widths in mm, L1–L5.
MONARCH = [0.6, 0.8, 1.5, 2.2, 3.5]  # larval field guide, University of Minnesota
SMALL_WHITE = [0.4, 0.6, 0.97, 1.5, 2.2]  # Capinera, Univ. of Florida IFAS extension
SILKWORM = [0.54, 1.02, 1.65, 2.51, 3.58]  # Rev. Colomb. Entomol., biology of the silkworm
SERIES = {"monarch": MONARCH, "small white": SMALL_WHITE, "silkworm": SILKWORM}

MEANS_MM = {f"L{number}": width for number, width in enumerate(SILKWORM, start=1)}


# --- Dyar's ratio --------------------------------------------------------------------------------


@settings(deadline=None)
@given(ratio=st.floats(1.05, 3), first=st.floats(0.05, 2), n=st.integers(2, 15))
def test_a_constant_ratio_is_found(ratio, first, n):
    fit = dyar(np.arange(1, n + 1), first * ratio ** np.arange(n))

    assert isinstance(fit, Dyar)
    assert fit.ratio == pytest.approx(ratio)
    assert fit.missed_after is None


def test_ratio_and_error_agree_with_polyfit():
    """Reference: numpy.polyfit with the covariance of its coefficients; 6 animals an instar."""
    rng = np.random.default_rng(4)
    instars = np.repeat(np.arange(1, 6), 6)
    widths = 0.3 * 1.5**instars * np.exp(rng.normal(0, 0.06, instars.size))
    (slope, _), covariance = np.polyfit(instars, np.log(widths), 1, cov=True)
    fit = dyar(instars, widths)

    assert isinstance(fit, Dyar)
    assert fit.ratio == pytest.approx(np.exp(slope))
    assert fit.se == pytest.approx(np.exp(slope) * np.sqrt(covariance[0, 0]))
    assert fit.r2 == pytest.approx(np.corrcoef(instars, np.log(widths))[0, 1] ** 2)
    assert fit.n == 30


@settings(deadline=None)
@given(seed=st.integers(0, 1000), unit=st.floats(0.01, 1000))
def test_the_ratio_depends_neither_on_order_nor_on_the_unit(seed, unit):
    turned = np.random.default_rng(seed).permutation(5)
    fit, other = (
        dyar([1, 2, 3, 4, 5], SILKWORM),
        dyar(turned + 1, np.array(SILKWORM)[turned] * unit),
    )

    assert isinstance(fit, Dyar)
    assert isinstance(other, Dyar)
    np.testing.assert_allclose([fit.ratio, fit.se], [other.ratio, other.se])


def test_two_widths_have_no_error():
    fit = dyar([1, 3], [0.5, 2.0])

    assert isinstance(fit, Dyar)
    assert fit.ratio == pytest.approx(2)  # by hand: two instars on, four times as wide
    assert (fit.se, fit.r2) == (None, None)


@pytest.mark.parametrize(
    ("instars", "widths", "reason"),
    [
        ([2], [1.0], "two instars"),
        ([1, 1], [0.5, 0.6], "two instars"),
        ([1, 2], [1, 0.8], "grow"),
        ([1, 2, 3], [0.1, 0.1, 0.1], "grow"),
    ],
)
def test_widths_that_give_no_ratio_say_why(instars, widths, reason):
    answer = dyar(instars, widths)

    assert isinstance(answer, NoFit)
    assert reason in answer.reason


@pytest.mark.parametrize(
    ("instars", "widths"), [([], []), ([1, 2], [1.0]), ([1, 2], [1, 0]), ([1, 2], [1, np.nan])]
)
def test_numbers_that_are_no_widths_are_refused(instars, widths):
    with pytest.raises(ValueError, match=r"length|above 0"):
        dyar(instars, widths)


# --- a missed instar -----------------------------------------------------------------------------


@pytest.mark.parametrize("widths", SERIES.values(), ids=SERIES)
def test_no_instar_is_missed_in_a_whole_published_series(widths):
    fit = dyar([1, 2, 3, 4, 5], widths)

    assert isinstance(fit, Dyar)
    assert fit.missed_after is None


@pytest.mark.parametrize("widths", SERIES.values(), ids=SERIES)
@pytest.mark.parametrize("missed", [2, 3, 4])
def test_an_instar_taken_out_of_a_published_series_is_missed(widths, missed):
    left = [width for number, width in enumerate(widths, start=1) if number != missed]
    fit = dyar([1, 2, 3, 4], left)
    renumbered = dyar([number for number in range(1, 6) if number != missed], left)

    assert isinstance(fit, Dyar)
    assert isinstance(renumbered, Dyar)
    # L4 of the silkworm, whose ratios fall from 1.86 to 1.43, is the one that goes unnoticed.
    unnoticed = widths is SILKWORM and missed == 4
    assert fit.missed_after == (None if unnoticed else missed - 1)
    assert renumbered.missed_after is None  # the numbers say themselves that one is not there


@given(scale=st.floats(0.01, 100), ratio=st.floats(1.2, 2.5), missed=st.integers(2, 6))
@settings(deadline=None)
def test_a_squared_step_in_an_even_series_is_always_found(scale, ratio, missed):
    kept = np.delete(np.arange(1, 8), missed - 1)
    fit = dyar(np.arange(1, 7), scale * ratio**kept)

    assert isinstance(fit, Dyar)
    assert fit.missed_after == missed - 1


def test_a_series_that_shrinks_after_its_first_step_has_no_ratio_to_square():
    fit = dyar([1, 2, 3, 4], [1.0, 1.5, 1.4, 1.3])

    assert isinstance(fit, Dyar)
    assert fit.missed_after is None


def test_three_instars_are_too_few_to_miss_one():
    fit = dyar([1, 2, 3], [0.5, 0.8, 2.0])

    assert isinstance(fit, Dyar)
    assert fit.missed_after is None


# --- growth --------------------------------------------------------------------------------------


def test_ratios_skip_what_is_unknown():
    assert growth_ratios([0.5, 1.0, None, 2.0, 3.0]) == (None, 2.0, None, None, 1.5)
    assert growth_ratios([None, None]) == (None, None)
    assert growth_ratios([]) == ()


@given(m1=st.floats(0.1, 100), rate=st.floats(-1, 3), days=st.floats(0.1, 30))
def test_relative_growth_is_that_of_compound_interest(m1, rate, days):
    """Reference: m2 = m1·exp(rate·Δt), the definition turned round; doubling takes ln 2/rate."""
    assert relative_growth_rate(m1, m1 * np.exp(rate * days), days) == pytest.approx(rate, abs=1e-9)


def test_growth_by_hand():
    assert fold_increase(0.5, 1000) == 2000
    assert relative_growth_rate(10, 20, 1) == pytest.approx(0.6931, abs=1e-4)  # ln 2


@pytest.mark.parametrize(("m1", "m2", "days"), [(0, 1, 1), (1, -1, 1), (1, 2, 0), (1, np.nan, 1)])
def test_growth_of_nothing_is_refused(m1, m2, days):
    with pytest.raises(ValueError, match=r"above 0"):
        relative_growth_rate(m1, m2, days)


def test_a_width_of_zero_has_no_ratio():
    with pytest.raises(ValueError, match=r"above 0"):
        growth_ratios([0.5, 0.0])


# --- which instar --------------------------------------------------------------------------------


def by_integration(widths, means, cv, measurement_cv):
    """The posterior by brute force: the animal's unknown true width is integrated out."""
    from scipy.stats import norm

    truth = np.linspace(-6, 6, 240_001)  # ln mm
    readings = np.prod([norm.pdf(np.log(width), truth, measurement_cv) for width in widths], axis=0)
    joint = [np.sum(readings * norm.pdf(truth, np.log(mean), cv)) for mean in means]
    return np.array(joint) / np.sum(joint)


@pytest.mark.parametrize("widths", [[0.8], [2.0], [1.9, 2.2, 2.0], [2.9, 3.1], [0.7, 0.72, 0.8]])
def test_probabilities_agree_with_numerical_integration(widths):
    answer = instar_probabilities(widths, MEANS_MM)

    np.testing.assert_allclose(
        list(answer.probabilities.values()),
        by_integration(widths, SILKWORM, BETWEEN_CV, MEASUREMENT_CV),
        atol=1e-8,
    )


@pytest.mark.parametrize("readings", [1, 3])
def test_probabilities_mean_what_they_say(readings):
    """Of invented animals, as many are of the instar named with probability p as p says."""
    rng = np.random.default_rng(8)
    codes = list(MEANS_MM)
    said, right, named, fitting = [], [], [], []
    for true in rng.integers(0, 5, 4000):
        width = np.log(SILKWORM[true]) + rng.normal(0, BETWEEN_CV)
        answer = instar_probabilities(
            np.exp(width + rng.normal(0, MEASUREMENT_CV, readings)), MEANS_MM
        )
        best = max(answer.probabilities, key=answer.probabilities.__getitem__)
        said.append(answer.probabilities[best])
        right.append(best == codes[true])
        fitting.append(answer.fits)
        if answer.instar is not None:
            named.append(answer.instar == codes[true])

    unsure = np.array(said) < 0.9
    assert np.mean(said) == pytest.approx(np.mean(right), abs=0.01)
    assert np.mean(np.array(said)[unsure]) == pytest.approx(
        np.mean(np.array(right)[unsure]), abs=0.06
    )
    assert np.mean(named) > 0.95
    assert np.mean(fitting) > 0.99


@given(unit=st.floats(0.001, 1000), width=st.floats(0.1, 20))
def test_the_answer_does_not_depend_on_the_unit_or_the_order_of_instars(unit, width):
    answer = instar_probabilities(width, MEANS_MM)
    scaled = {code: mean * unit for code, mean in reversed(MEANS_MM.items())}
    other = instar_probabilities(width * unit, scaled)

    assert sum(answer.probabilities.values()) == pytest.approx(1)
    for code, probability in answer.probabilities.items():
        assert other.probabilities[code] == pytest.approx(probability, rel=1e-6, abs=1e-12)


@pytest.mark.parametrize(
    "means", [SILKWORM, MONARCH, SMALL_WHITE], ids=["silkworm", "monarch", "small white"]
)
def test_the_mean_of_each_instar_is_named_and_no_midpoint_is(means):
    by_code = dict(zip(MEANS_MM, means, strict=True))
    for code, mean in by_code.items():
        assert instar_probabilities(mean, by_code).instar == code
    for narrow, wide in pairwise(means):
        for middle in ((narrow + wide) / 2, np.sqrt(narrow * wide)):
            answer = instar_probabilities(middle, by_code)
            assert answer.instar is None
            assert answer.fits


@pytest.mark.parametrize(
    ("cv", "measurement_cv", "too"), [(0.08, 0.08, "sure"), (0.12, 0.13, "unsure")]
)
def test_a_spread_outside_the_stated_limits_would_mislead(cv, measurement_cv, too):
    """The limits 0.12 and 0.17 of the spread of one reading, stated where the defaults are."""
    midway = instar_probabilities(0.78, MEANS_MM, cv, measurement_cv)
    at_mean = instar_probabilities(3.58, MEANS_MM, cv, measurement_cv)

    assert (midway.instar is not None) == (too == "sure")
    assert (at_mean.instar is None) == (too == "unsure")


def test_measuring_again_makes_surer_but_never_beyond_the_spread_between_animals():
    once, thrice, often = (instar_probabilities([2.8] * n, MEANS_MM) for n in (1, 3, 10_000))
    known = by_integration([2.8], SILKWORM, BETWEEN_CV, 1e-3)  # the true width itself

    assert once.probabilities["L4"] < thrice.probabilities["L4"] < often.probabilities["L4"]
    assert once.verdict == "between L4 and L5, measure again"
    assert thrice.verdict == "L4"
    np.testing.assert_allclose(list(often.probabilities.values()), known, atol=1e-3)


def test_readings_that_contradict_each_other_fit_none():
    """Widths of L1 and L3 cannot be one animal in one instar, though their mean looks like L2."""
    answer = instar_probabilities([0.54, 1.65], MEANS_MM)

    assert max(answer.probabilities, key=answer.probabilities.__getitem__) == "L2"
    assert answer.verdict == "fits none"


@pytest.mark.parametrize("width", [1e-6, 1e6])
def test_an_absurd_width_still_has_probabilities_and_fits_none(width):
    answer = instar_probabilities(width, MEANS_MM)

    assert sum(answer.probabilities.values()) == pytest.approx(1)
    assert answer.verdict == "fits none"


def test_a_spread_for_each_instar_is_used():
    """By hand: at the same distance from two means the wider one is less dense, 0.1 against 0.2."""
    means = {"L1": 1.0, "L2": np.exp(0.4)}
    answer = instar_probabilities(np.exp(0.2), means, {"L1": 0.1, "L2": 0.2}, 1e-6)
    odds = 2 * np.exp(-(2**2 - 1**2) / 2)

    assert answer.probabilities["L1"] / answer.probabilities["L2"] == pytest.approx(odds)


@pytest.mark.parametrize(
    ("widths", "means", "cv"),
    [
        ([], MEANS_MM, 0.1),
        (1.0, {}, 0.1),
        (0.0, MEANS_MM, 0.1),
        ([1.0, np.nan], MEANS_MM, 0.1),
        (1.0, {"L1": -1.0}, 0.1),
        (1.0, MEANS_MM, 0.0),
    ],
)
def test_what_cannot_be_judged_is_refused(widths, means, cv):
    with pytest.raises(ValueError, match=r"above 0|at least one"):
        instar_probabilities(widths, means, cv)
