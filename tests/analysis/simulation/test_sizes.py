"""Invented sizes against what is asked of them: means, spreads and what two instars share."""

import numpy as np
import pytest

from rearlog.analysis.simulation.sizes import Measuring, Sizes, measure, sizes
from tests.analysis.invented_moth import HEAD_MM, LENGTH_MM, moth, number, stage

N = 20_000


def drawn(profile=None, share=1.0) -> Sizes:
    return sizes(profile or moth(), N, share, np.random.default_rng(3))


def test_heads_have_the_mean_and_the_spread_of_the_profile():
    found = drawn().head_width_mm
    for rank, code in enumerate(("L1", "L2", "L3"), start=1):
        mean, sd = HEAD_MM[code]
        assert found[:, rank].mean() == pytest.approx(mean, rel=0.005)
        assert found[:, rank].std() == pytest.approx(sd, rel=0.03)
    assert np.isnan(found[:, [0, 4, 5]]).all()  # egg, pupa and adult have none


def test_sizes_of_which_no_spread_is_known_differ_by_six_percent():
    plain = moth(stage("L2", head_width_mm=number(0.8)))
    assert drawn(plain).head_width_mm[:, 2].std() == pytest.approx(0.06 * 0.8, rel=0.03)
    length = drawn().length_mm
    for rank, code in enumerate(("L1", "L2", "L3"), start=1):
        low, high = LENGTH_MM[code]
        assert length[:, rank].mean(axis=0) == pytest.approx([low, high], rel=0.005)
        assert length[:, rank].std(axis=0) == pytest.approx([0.06 * low, 0.06 * high], rel=0.03)


def test_a_length_without_a_range_is_that_of_the_whole_instar():
    length = drawn(moth(stage("L2", length_mm=number(8.0)))).length_mm[:, 2]
    assert length.mean(axis=0) == pytest.approx([8.0, 8.0], rel=0.005)


def test_who_is_large_in_one_instar_tends_to_be_large_in_another():
    logs = np.log(drawn().head_width_mm[:, 1:4])
    assert np.corrcoef(logs.T)[0, 1:] == pytest.approx([0.5, 0.5], abs=0.03)


@pytest.mark.parametrize(("share", "many"), [(1.0, N), (0.25, N // 4), (0.0, 0)])
def test_the_share_that_is_measured_is_met_exactly(share, many):
    assert drawn(share=share).measured.sum() == many


def test_readings_stand_on_the_marks_of_the_ruler_and_grow_with_the_heat():
    """A larva of 4 mm that will be 9 mm, half way: 6.5 mm, read to half a millimetre."""
    true = Sizes(np.full((3, 6), 0.803), np.tile([4.0, 9.0], (3, 6, 1)), np.array([1, 1, 0]) > 0)
    ranks, grown = np.array([2, 2, 2]), np.array([0.0, 0.5, 1.0])
    exact = Measuring(head_error_mm=0.0, length_error_mm=0.0)
    length, head = measure(true, ranks, grown, exact, np.random.default_rng(1))
    assert length[:2].tolist() == [4.0, 6.5]
    assert head[:2].tolist() == [0.8, 0.8]
    assert np.isnan([length[2], head[2]]).all()


def test_the_error_of_a_reading_has_the_sd_that_is_asked_for_and_nothing_is_read_as_nothing():
    true = Sizes(np.full((N, 6), 1.0), np.full((N, 6, 2), 0.1), np.ones(N, dtype=bool))
    how = Measuring(head_error_mm=0.05, length_error_mm=0.3)
    where = np.full(N, 2)
    length, head = measure(true, where, np.zeros(N), how, np.random.default_rng(2))
    assert head.mean() == pytest.approx(1.0, abs=0.002)
    assert head.std() == pytest.approx((0.05**2 + 0.01**2 / 12) ** 0.5, rel=0.03)
    assert length.min() == 0.5  # the first mark of the ruler


def test_unless_it_is_asked_for_a_lens_errs_by_a_fiftieth_and_a_ruler_by_three_tenths():
    true = Sizes(np.full((N, 6), 1.0), np.full((N, 6, 2), 20.0), np.ones(N, dtype=bool))
    where = np.full(N, 2)
    length, head = measure(true, where, np.zeros(N), Measuring(), np.random.default_rng(2))
    assert head.std() == pytest.approx((0.02**2 + 0.01**2 / 12) ** 0.5, rel=0.03)
    assert length.std() == pytest.approx((0.3**2 + 0.5**2 / 12) ** 0.5, rel=0.03)
    assert Measuring().share == 1
