"""Which instar a head width points to, against published widths and by numerical integration."""

from datetime import UTC, datetime
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.records.head_widths import (
    BETWEEN_CV,
    READING_CV,
    chi_square_beyond,
    contradiction,
    instar_probabilities,
)
from rearlog.records.log import Observation
from rearlog.records.rules import doubts_of
from rearlog.species.catalogue import find

# Published head capsule widths in mm, L1–L5: Rev. Colomb. Entomol., biology of the silkworm
SILKWORM = {"L1": 0.54, "L2": 1.02, "L3": 1.65, "L4": 2.51, "L5": 3.58}
WIDTHS_MM = list(SILKWORM.values())
MEANS_MM = SILKWORM
MONARCH = [0.6, 0.8, 1.5, 2.2, 3.5]  # larval field guide, University of Minnesota
SMALL_WHITE = [0.4, 0.6, 0.97, 1.5, 2.2]  # Capinera, Univ. of Florida IFAS extension


def check(stage, width):
    return Observation("7", datetime(2026, 3, 20, 9, tzinfo=UTC), stage, head_width_mm=width)


# --- which instar a width points to ------------------------------------------------------------


def by_integration(widths, means, cv, reading_cv):
    """The posterior by brute force: the animal's unknown true width is integrated out."""
    from scipy.stats import norm

    truth = np.linspace(-6, 6, 240_001)  # ln mm
    readings = np.prod([norm.pdf(np.log(width), truth, reading_cv) for width in widths], axis=0)
    joint = [np.sum(readings * norm.pdf(truth, np.log(mean), cv)) for mean in means]
    return np.array(joint) / np.sum(joint)


@pytest.mark.parametrize("widths", [[0.8], [2.0], [1.9, 2.2, 2.0], [2.9, 3.1], [0.7, 0.72, 0.8]])
def test_probabilities_agree_with_numerical_integration(widths):
    answer = instar_probabilities(widths, MEANS_MM)

    np.testing.assert_allclose(
        list(answer.probabilities.values()),
        by_integration(widths, WIDTHS_MM, BETWEEN_CV, READING_CV),
        atol=1e-8,
    )


@pytest.mark.parametrize("readings", [1, 3])
def test_probabilities_mean_what_they_say(readings):
    """Of invented animals, as many are of the instar named with probability p as p says."""
    rng = np.random.default_rng(8)
    codes = list(MEANS_MM)
    said, right, named, fitting = [], [], [], []
    for true in rng.integers(0, 5, 4000):
        width = np.log(WIDTHS_MM[true]) + rng.normal(0, BETWEEN_CV)
        answer = instar_probabilities(np.exp(width + rng.normal(0, READING_CV, readings)), MEANS_MM)
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
    "means", [WIDTHS_MM, MONARCH, SMALL_WHITE], ids=["silkworm", "monarch", "small white"]
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
    ("cv", "reading_cv", "too"), [(0.08, 0.08, "sure"), (0.12, 0.13, "unsure")]
)
def test_a_spread_outside_the_stated_limits_would_mislead(cv, reading_cv, too):
    """The limits 0.12 and 0.17 of the spread of one reading, stated where the defaults are."""
    midway = instar_probabilities(0.78, MEANS_MM, cv, reading_cv)
    at_mean = instar_probabilities(3.58, MEANS_MM, cv, reading_cv)

    assert (midway.instar is not None) == (too == "sure")
    assert (at_mean.instar is None) == (too == "unsure")


def test_measuring_again_makes_surer_but_never_beyond_the_spread_between_animals():
    once, thrice, often = (instar_probabilities([2.8] * n, MEANS_MM) for n in (1, 3, 10_000))
    known = by_integration([2.8], WIDTHS_MM, BETWEEN_CV, 1e-3)  # the true width itself

    assert once.probabilities["L4"] < thrice.probabilities["L4"] < often.probabilities["L4"]
    assert (once.instar, once.fits) == (None, True)
    assert thrice.instar == "L4"
    np.testing.assert_allclose(list(often.probabilities.values()), known, atol=1e-3)


def test_readings_that_contradict_each_other_fit_none():
    """Widths of L1 and L3 cannot be one animal in one instar, though their mean looks like L2."""
    answer = instar_probabilities([0.54, 1.65], MEANS_MM)

    assert max(answer.probabilities, key=answer.probabilities.__getitem__) == "L2"
    assert (answer.instar, answer.fits) == (None, False)


@pytest.mark.parametrize("width", [1e-6, 1e6])
def test_an_absurd_width_still_has_probabilities_and_fits_none(width):
    answer = instar_probabilities(width, MEANS_MM)

    assert sum(answer.probabilities.values()) == pytest.approx(1)
    assert (answer.instar, answer.fits) == (None, False)


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


@pytest.mark.parametrize("degrees", [1, 2, 3, 4, 7, 30, 10_001])
def test_the_tail_of_chi_square(degrees):
    """Reference: scipy.stats."""
    from scipy.stats import chi2

    for x in (0.0, 0.01, 1.0, 7.88, 31.0, 10_001.0, 20_000.0):
        assert chi_square_beyond(x, degrees) == pytest.approx(chi2.sf(x, degrees), abs=1e-10)


# --- whether it contradicts the stage ----------------------------------------------------------


@pytest.mark.parametrize("instar", SILKWORM)
@pytest.mark.parametrize("entered", SILKWORM)
def test_the_mean_of_another_instar_contradicts_the_stage_and_both_are_named(instar, entered):
    found = contradiction(find("silkworm"), check(entered, SILKWORM[instar]), entered)
    if instar == entered:
        assert found is None
    else:
        assert found is not None
        assert f"that of {instar}" in found.message
        assert f"not of {entered}" in found.message
        assert "7 at 2026-03-20" in found.place


def test_a_width_between_two_instars_contradicts_neither():
    between = (SILKWORM["L3"] * SILKWORM["L4"]) ** 0.5
    for stage in ("L3", "L4"):
        assert contradiction(find("silkworm"), check(stage, between), stage) is None


@pytest.mark.parametrize("width", [None, 0.0, -1.0, float("nan"), 0.2, 30.0])
def test_a_width_that_is_of_no_instar_contradicts_none(width):
    assert contradiction(find("silkworm"), check("L3", width), "L3") is None


def test_a_stage_or_a_profile_without_widths_is_not_contradicted():
    assert contradiction(find("silkworm"), check("pupa", 1.65), "pupa") is None
    assert contradiction(find("vinegar-fly"), check("L2", 1.65), "L2") is None


def test_the_doubt_is_told_once():
    (doubt,) = doubts_of(find("silkworm"), check("L2", 1.65), "L2")
    assert "not of L2" in doubt.message
    (unusual,) = doubts_of(find("silkworm"), check("L1", 0.3), "L1")
    assert "unusual for L1" in unusual.message


# --- the error of the instrument -----------------------------------------------------------------

INVENTED = {"L1": 0.6, "L2": 0.8, "L3": 1.5, "L4": 2.2, "L5": 3.5}


@pytest.mark.parametrize("readings", [1, 3])
@pytest.mark.parametrize("share", [0.02, 0.05, 0.10])
def test_probabilities_with_a_reading_error_are_as_often_right_as_they_say(share, readings):
    """3000 animals of known instar: widths log-normal with 8 %, readings off by a normal error."""
    rng = np.random.default_rng(7)
    likely, correct, gained = [], [], []
    for code in rng.choice(list(INVENTED), 3000):
        width = INVENTED[code] * np.exp(rng.normal(0, 0.08))
        error = share * width
        read = list(np.maximum(width + rng.normal(0, error, readings), 1e-3))
        found = instar_probabilities(read, INVENTED, 0.08, reading_error_mm=error).probabilities
        usual = instar_probabilities(read, INVENTED, 0.08).probabilities
        best = max(found, key=found.__getitem__)
        likely.append(found[best])
        correct.append(best == code)
        gained.append(np.log(found[code] / usual[code]))
    said, right = np.array(likely), np.array(correct)
    for low, high in ((0.5, 0.8), (0.8, 0.95), (0.95, 1.01)):
        there = (said >= low) & (said < high)
        off = right[there].mean() - said[there].mean()
        print(f"{share:.0%} × {readings}: said {said[there].mean():.3f}, {off:+.3f}")
        assert abs(off) < 3 * (said[there] * (1 - said[there])).sum() ** 0.5 / there.sum() + 0.01
    assert np.mean(gained) > (0.003 if share < 0.1 else -0.003)


def test_the_error_of_the_instrument_takes_the_place_of_that_of_a_lens():
    """A tenth of the width is what is taken where nothing is given."""
    plain = instar_probabilities([1.8], INVENTED)
    same = instar_probabilities([1.8], INVENTED, reading_error_mm=0.18)
    assert same.probabilities == pytest.approx(plain.probabilities)
    plain = instar_probabilities([1.7], INVENTED)
    fine = instar_probabilities([1.7], INVENTED, reading_error_mm=0.01)
    coarse = instar_probabilities([1.7], INVENTED, reading_error_mm=0.5)
    assert fine.probabilities["L3"] > plain.probabilities["L3"] > 0.4
    assert max(coarse.probabilities.values()) < 0.6


def test_readings_farther_apart_than_their_error_fit_no_instar():
    assert instar_probabilities([1.4, 1.6], INVENTED, reading_error_mm=0.1).fits
    assert not instar_probabilities([1.4, 1.6], INVENTED, reading_error_mm=0.01).fits


@pytest.mark.parametrize("error", [0.0, -0.1, float("nan")])
def test_an_error_that_is_none_is_refused(error):
    with pytest.raises(ValueError, match="above 0"):
        instar_probabilities([1.5], INVENTED, reading_error_mm=error)
