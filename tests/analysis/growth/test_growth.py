from dataclasses import replace

import pytest

from rearlog.analysis.growth.growth import Growth, growth
from rearlog.sentences.growth import words
from tests.builders import seen, tiny_log


def answer(widths: dict[tuple[str, float, str], float], name: str = "head_width_mm") -> Growth:
    log = tiny_log({"1": "egg", "2": "egg"})
    checks = tuple(
        seen(code, day, stage, **{name: value}) for (code, day, stage), value in widths.items()
    )
    return growth(replace(log, all_observations=checks), None)


def test_one_animal_counts_once_in_an_instar() -> None:
    result = answer({("1", 1, "L1"): 0.4, ("1", 2, "L1"): 0.6, ("2", 1, "L1"): 0.7})
    (row,) = result.instars
    assert (row.stage, row.n, row.head_width_mm_mean) == ("L1", 2, pytest.approx(0.6))


def test_a_constant_ratio_is_found() -> None:
    result = answer({("1", day, f"L{day}"): 0.4 * 1.5 ** (day - 1) for day in (1, 2, 3)})
    assert result.dyar is not None
    assert result.dyar.ratio == pytest.approx(1.5)
    assert [row.ratio_to_previous for row in result.instars[1:]] == pytest.approx([1.5, 1.5])


def test_masses_give_rates_and_folds() -> None:
    """2 mg to 8 mg in 2 days: ln 4 / 2 a day; then to 4 mg (a wandering larva loses mass)."""
    result = answer({("1", 1, "L1"): 2, ("1", 3, "L2"): 8, ("1", 4, "pupa"): 4}, "mass_mg")
    assert [each.rate_per_day for each in result.gains] == pytest.approx([0.693147, -0.693147])
    assert result.mass_fold == pytest.approx(4)


def test_two_weighings_at_one_moment_are_no_growth() -> None:
    log = tiny_log({"1": "egg"})
    looks = (
        seen("1", 1, "L1", mass_mg=2),
        seen("1", 1, "L1", mass_mg=3),
        seen("1", 2, "L1", mass_mg=6),
    )
    (gain,) = growth(replace(log, all_observations=looks), None).gains
    assert (gain.from_day, gain.to_day, gain.fold) == (1, 2, 2)


def test_nothing_measured_is_said() -> None:
    result = growth(tiny_log({"1": "egg L1"}), None)
    assert result.dyar is None
    assert result.instars == ()
    assert "no head widths" in words(result)[0]
