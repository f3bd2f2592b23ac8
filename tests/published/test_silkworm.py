"""Silkworm *Bombyx mori* at 24 °C: head capsule widths of the five instars and their ratios.

Rev. Colomb. Entomol., biology of the silkworm, abstract (published: widths and ratios as printed).
"""

import numpy as np
import pytest

from rearlog.analysis.growth.instars import Dyar, dyar, growth_ratios
from rearlog.records.head_widths import instar_probabilities

CODES = ["L1", "L2", "L3", "L4", "L5"]
WIDTHS_MM = [0.54, 1.02, 1.65, 2.51, 3.58]
MEANS_MM = dict(zip(CODES, WIDTHS_MM, strict=True))


def test_growth_ratios_as_printed():
    ratios = growth_ratios(WIDTHS_MM)

    assert ratios[0] is None
    assert [round(ratio, 2) for ratio in ratios[2:] if ratio] == [1.62, 1.52, 1.43]  # published
    # The first is printed as 1.86, from widths before rounding: it must lie within what rounding
    # to 0.01 mm leaves open around the ratio of the printed widths.
    assert 1.015 / 0.545 < 1.865  # so the printed value can be had at all
    assert ratios[1] == pytest.approx(1.86, abs=0.03)


def test_dyars_ratio_lies_among_the_printed_ratios_and_the_series_is_whole():
    fit = dyar([1, 2, 3, 4, 5], WIDTHS_MM)

    assert isinstance(fit, Dyar)
    assert 1.43 < fit.ratio < 1.86
    assert fit.r2 is not None
    assert fit.r2 > 0.98
    assert fit.missed_after is None


@pytest.mark.parametrize("code", CODES)
def test_the_mean_of_each_instar_is_given_to_that_instar(code):
    answer = instar_probabilities(MEANS_MM[code], MEANS_MM)

    assert answer.instar == code
    assert answer.probabilities[code] > 0.9


@pytest.mark.parametrize("place", range(4))
@pytest.mark.parametrize("midpoint", [lambda a, b: (a + b) / 2, lambda a, b: np.sqrt(a * b)])
def test_midway_between_two_instars_is_called_uncertain(place, midpoint):
    width = midpoint(WIDTHS_MM[place], WIDTHS_MM[place + 1])

    answer = instar_probabilities(width, MEANS_MM)

    assert answer.instar is None
    assert answer.fits
    likely = sorted(answer.probabilities, key=answer.probabilities.__getitem__)[-2:]
    assert sorted(likely) == [CODES[place], CODES[place + 1]]


@pytest.mark.parametrize("factor", [10, 0.1, 2, 1.5])
def test_far_outside_every_instar_fits_none(factor):
    end = WIDTHS_MM[-1] if factor > 1 else WIDTHS_MM[0]

    answer = instar_probabilities(end * factor, MEANS_MM)

    assert not answer.fits
    assert answer.instar is None
