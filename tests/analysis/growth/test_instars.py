import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rearlog.analysis.growth.instars import (
    Dyar,
    NoDyar,
    _missed_after,
    dyar,
    fold_increase,
    growth_ratios,
    relative_growth_rate,
)

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
    assert (fit.ratio, fit.se) == pytest.approx((other.ratio, other.se))


def test_two_widths_have_no_error():
    fit = dyar([1, 3], [0.5, 2.0])

    assert isinstance(fit, Dyar)
    assert fit.ratio == pytest.approx(2)  # by hand: two instars on, four times as wide
    assert (fit.se, fit.r2) == (None, None)


@pytest.mark.parametrize(
    ("instars", "widths", "reason"),
    [
        ([2], [1.0], NoDyar.ONE_INSTAR),
        ([1, 1], [0.5, 0.6], NoDyar.ONE_INSTAR),
        ([1, 2], [1, 0.8], NoDyar.NO_GROWTH),
        ([1, 2, 3], [0.1, 0.1, 0.1], NoDyar.NO_GROWTH),
    ],
)
def test_widths_that_give_no_ratio_say_why(instars, widths, reason):
    assert dyar(instars, widths) is reason


@pytest.mark.parametrize(
    ("instars", "widths"), [([], []), ([1, 2], [1.0]), ([1, 2], [1, 0]), ([1, 2], [1, np.nan])]
)
def test_numbers_that_are_no_widths_are_refused(instars, widths):
    with pytest.raises(ValueError, match=r"length|above 0"):
        dyar(instars, widths)


# --- a missed instar -----------------------------------------------------------------------------


def test_a_leap_between_neighbours_is_told_from_one_over_a_gap_in_the_numbers():
    """By hand: a ratio of 1.5. From 1 to 2 there are two steps, one of them unnoticed; from 2 to 4
    there are two as well, but the numbers say so."""
    widths = 0.3 * 1.5 ** np.array([0, 2, 4, 5, 6])
    fit = dyar([1, 2, 4, 5, 6], widths)

    assert isinstance(fit, Dyar)
    assert fit.missed_after == 1


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


def test_no_instar_is_missed_where_the_others_do_not_grow():
    """There is no ratio by which the widths leap one time too many."""
    numbers = np.array([1, 2, 3, 4])
    assert _missed_after(numbers, np.log([1.0, 1.0, 1.0, 2.0])) is None
    assert _missed_after(numbers, np.log([1.0, 0.9, 0.8, 2.0])) is None
    assert _missed_after(numbers, np.log([1.0, 1.5, 1.5**2, 1.5**4])) == 3
