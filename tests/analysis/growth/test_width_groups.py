"""Instars from head widths alone, against scikit-learn and invented animals of known instar."""

import numpy as np
import pytest
from msgspec.structs import replace
from sklearn.mixture import GaussianMixture

from rearlog.analysis.growth.growth import growth
from rearlog.analysis.growth.width_groups import NoGroups, WidthGroups, width_groups
from rearlog.analysis.stages.events import event_history
from rearlog.sentences.growth import words
from tests.builders import seen, tiny_log

MEANS = np.array([0.4, 0.6, 0.97, 1.5, 2.2])  # small white: Capinera, Univ. of Florida IFAS


def drawn(seed, n=40, spread=0.06, means=MEANS):
    rng = np.random.default_rng(seed)
    instar = rng.integers(0, len(means), n * len(means))
    return np.exp(rng.normal(np.log(means[instar]), spread)), instar


@pytest.mark.parametrize("spread", [0.04, 0.08, 0.11])
def test_likelihood_and_groups_are_those_of_a_reference_library(spread):
    """Reference: scikit-learn's GaussianMixture of the logarithms with one (tied) variance."""
    widths, _ = drawn(3, spread=spread)
    found = width_groups(widths)
    assert isinstance(found, WidthGroups)
    logs = np.log(widths)[:, None]
    for k, bic in enumerate(found.bic[:6], start=1):
        fit = GaussianMixture(k, covariance_type="tied", n_init=8, tol=1e-8, max_iter=2000,
                              reg_covar=1e-12, random_state=1).fit(logs)  # fmt: skip
        assert bic <= fit.bic(logs) + 0.1  # it may have found a better one, never a worse
        if k == len(found.groups):
            np.testing.assert_allclose(
                [each.mean_mm for each in found.groups],
                np.sort(np.exp(fit.means_[:, 0])),
                rtol=2e-3,
            )
            assert found.spread == pytest.approx(float(fit.covariances_[0, 0]) ** 0.5, rel=0.01)


@pytest.mark.slow
def test_the_number_of_instars_is_found_where_their_widths_lie_apart():
    def counted(widths):
        found = width_groups(widths)
        assert isinstance(found, WidthGroups)
        return len(found.groups)

    counts = [counted(drawn(seed)[0]) for seed in range(40)]
    print(f"right number {np.mean(np.array(counts) == 5):.2f}")
    assert np.mean(np.array(counts) == 5) >= 0.95
    one = [counted(drawn(seed, means=MEANS[:1], n=60)[0]) for seed in range(40)]
    assert np.mean(np.array(one) == 1) >= 0.9


def test_two_widths_alone_are_too_coarse_for_groups():
    """As many groups as there are widths would fit them without any spread."""
    assert width_groups([0.5] * 20 + [0.8] * 20) is NoGroups.COARSE


def test_as_many_are_mistaken_as_it_says():
    """20 000 other animals of the same instars, given to groups by the limits."""
    spread = 0.11
    found = width_groups(drawn(1, n=400, spread=spread)[0])
    assert isinstance(found, WidthGroups)
    assert len(found.groups) == 5
    widths, instar = drawn(99, n=4000, spread=spread)
    limits = [each.limit_mm for each in found.groups if each.limit_mm is not None]
    given = np.searchsorted(limits, widths)
    wrong = np.array([np.mean(given[instar == each] != each) for each in range(5)])
    print("mistaken", np.round(wrong, 4), [round(each.mistaken, 4) for each in found.groups])
    np.testing.assert_allclose([each.mistaken for each in found.groups], wrong, atol=0.015)
    assert found.mistaken == pytest.approx(np.mean(given != instar), abs=0.01)


def test_limits_lie_where_two_groups_are_as_likely():
    found = width_groups(drawn(5, spread=0.1)[0])
    assert isinstance(found, WidthGroups)
    for one, other in zip(found.groups, found.groups[1:], strict=False):
        likely = [
            each.share * np.exp(-((np.log(one.limit_mm / each.mean_mm) / found.spread) ** 2) / 2)
            for each in (one, other)
        ]
        assert likely[0] == pytest.approx(likely[1], rel=1e-6)
    assert found.groups[-1].limit_mm is None
    assert sum(each.share for each in found.groups) == pytest.approx(1)


def test_widths_that_give_no_groups_say_why():
    assert width_groups(np.linspace(0.4, 2, 19)) is NoGroups.FEW_WIDTHS
    assert isinstance(width_groups(np.linspace(0.4, 2, 20)), WidthGroups)
    assert width_groups([0.5] * 30) is NoGroups.FEW_WIDTHS
    assert width_groups(np.round(drawn(2)[0], 1)) is NoGroups.COARSE  # to a tenth of a millimetre
    fine = width_groups(np.round(drawn(2)[0], 2))
    assert isinstance(fine, WidthGroups)
    assert len(fine.groups) == 5
    with pytest.raises(ValueError, match="above 0"):
        width_groups([0.5, -1.0] * 20)


def test_a_cohort_says_which_groups_its_widths_make_whatever_stages_were_written_down():
    """Twelve animals through three instars, widths to a hundredth of a millimetre."""
    rng = np.random.default_rng(6)
    lives = {str(n): "egg" for n in range(12)}
    checks = tuple(
        seen(code, day, f"L{day}", head_width_mm=round(0.4 * 1.6**day * own, 2))
        for code, own in zip(lives, np.exp(rng.normal(0, 0.05, 12)), strict=True)
        for day in (1, 2, 3)
    )
    log = replace(tiny_log(lives), all_observations=checks)
    result = growth(log, event_history(log), None)
    assert result.groups is not None
    assert len(result.groups.groups) == 3
    said = words(result)[1]
    first, second, third = result.groups.groups
    assert said.startswith(
        f"By 36 widths alone there are 3 groups, about {first.mean_mm:.2f}, "
        f"{second.mean_mm:.2f} and {third.mean_mm:.2f} mm wide, with limits at "
        f"{first.limit_mm:.2f} and {second.limit_mm:.2f} mm; "
    )
    few = replace(log, all_observations=checks[:5])
    two = growth(few, event_history(few), None)
    assert two.groups is None
    assert two.no_groups is NoGroups.FEW_WIDTHS


def test_no_more_groups_are_tried_than_one_less_than_there_are_widths() -> None:
    """Of five different widths one group to four; of many, ten."""
    found = width_groups(np.repeat([0.50, 0.51, 0.52, 0.53, 0.54], [3, 10, 14, 10, 3]))
    assert isinstance(found, WidthGroups)
    assert (len(found.groups), len(found.bic)) == (1, 4)
    many = width_groups(drawn(1)[0])
    assert isinstance(many, WidthGroups)
    assert len(many.bic) == 10
