from datetime import timedelta

import pytest
from msgspec.structs import replace

from rearlog.analysis.growth.growth import Growth, growth
from rearlog.analysis.heat.daily_temperatures import lay_out
from rearlog.analysis.heat.heat_curve import heat_curve, settings
from rearlog.analysis.stages.events import event_history
from rearlog.records.log import CohortLog, ConstantTemperature
from rearlog.sentences.growth import words
from tests.builders import START, seen, tiny_log


def answer(widths: dict[tuple[str, float, str], float], name: str = "head_width_mm") -> Growth:
    log = tiny_log({"1": "egg", "2": "egg"})
    checks = tuple(
        seen(code, day, stage, **{name: value}) for (code, day, stage), value in widths.items()
    )
    return grown(replace(log, all_observations=checks))


def grown(log: CohortLog) -> Growth:
    return growth(log, event_history(log), None)


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


def test_who_was_weighed_once_tells_of_no_fold() -> None:
    masses: dict[tuple[str, float, str], float] = {
        ("1", 1, "L1"): 2,
        ("1", 3, "L2"): 8,
        ("2", 1, "L1"): 3,
    }
    assert answer(masses, "mass_mg").mass_fold == pytest.approx(4)
    assert answer({("2", 1, "L1"): 3}, "mass_mg").mass_fold is None


def test_two_weighings_at_one_moment_are_no_growth() -> None:
    log = tiny_log({"1": "egg"})
    looks = (
        seen("1", 1, "L1", mass_mg=2),
        seen("1", 1, "L1", mass_mg=3),
        seen("1", 2, "L1", mass_mg=6),
    )
    (gain,) = grown(replace(log, all_observations=looks)).gains
    assert (gain.from_day, gain.to_day, gain.fold) == (1, 2, 2)


def test_each_measure_alone_makes_a_row_of_the_series() -> None:
    looks = (
        seen("1", 1, "L1", length_mm=3.0),
        seen("1", 2, "L1"),
        seen("1", 3, "L2", head_width_mm=0.5),
        seen("1", 4, "L2", mass_mg=7.0),
    )
    series = grown(replace(tiny_log({"1": "egg"}), all_observations=looks)).series
    assert [(each.day, each.stage, each.length_mm, each.head_width_mm, each.mass_mg) for each in
            series] == [
        (1, "L1", 3.0, None, None), (3, "L2", None, 0.5, None), (4, "L2", None, None, 7.0),
    ]  # fmt: skip
    assert {each.degree_days for each in series} == {None}


def test_the_heat_of_a_measurement_is_that_since_the_animal_entered() -> None:
    """Two days at 20 °C, above 10; what is measured later is at temperatures that nobody knows."""
    first = START.date()
    warm = ConstantTemperature(20.0, first, first + timedelta(days=3))
    log = tiny_log({"1": "egg egg egg egg egg egg egg egg egg"}, temperatures=(warm,))
    laid_out = lay_out(log)
    curve = heat_curve(laid_out, settings(log.cohort.species, laid_out))
    looks = (seen("1", 2, "L1", mass_mg=2.0), seen("1", 30, "L2", mass_mg=3.0))
    log = replace(log, all_observations=looks)
    soon, late = growth(log, event_history(log), curve).series
    assert (soon.degree_days, late.degree_days) == (pytest.approx(20), None)


def test_nothing_measured_is_said() -> None:
    result = grown(tiny_log({"1": "egg L1"}))
    assert result.dyar is None
    assert result.instars == ()
    assert "no head widths" in words(result)[0]


def test_a_width_at_no_change_belongs_to_the_stage_that_all_looks_mean() -> None:
    """L2 was said once, and L1 before and after it: the widths between are of L1."""
    looks = [
        *(seen("1", 1, "L1", head_width_mm=0.3), seen("1", 2, "L2")),
        replace(seen("1", 3, "L2", head_width_mm=0.4), stage=None, same=True),
        *(seen("1", 4, "L1"), seen("1", 5, "L1"), seen("1", 6, "L2", head_width_mm=0.6)),
        replace(seen("1", 7, "L2", head_width_mm=0.8), stage=None, same=True),
    ]
    told = tuple(replace(each, number=place) for place, each in enumerate(looks, start=1))
    result = grown(replace(tiny_log({"1": "egg"}), all_observations=told))
    assert [(each.stage, each.head_width_mm) for each in result.series] == [
        ("L1", 0.3),
        ("L1", 0.4),
        ("L2", 0.6),
        ("L2", 0.8),
    ]
    assert [row.head_width_mm_mean for row in result.instars] == pytest.approx([0.35, 0.7])
    called = grown(replace(tiny_log({"1": "egg"}), all_observations=(*told[:3], told[5])))
    assert called.series[1].stage == "L2"  # where nobody says otherwise
