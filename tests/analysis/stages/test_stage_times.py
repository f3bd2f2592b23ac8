import numpy as np
import pytest

from rearlog.analysis.heat.daily_temperatures import lay_out
from rearlog.analysis.heat.heat_curve import HeatSettings, heat_curve
from rearlog.analysis.stages.events import event_history
from rearlog.analysis.stages.stage_times import completed, npmle, stage_times
from rearlog.records.log import ConstantTemperature
from tests.builders import START, tiny_log

LIVES = {"1": "egg egg L1 L1 L2", "2": "egg L1! - L2", "3": "egg egg L1 dead", "4": "L1 L1 L2"}


def test_passages_that_were_looked_for_are_bounded_and_seen_ones_are_exact() -> None:
    values, (into, out_of) = completed(stage_times(event_history(tiny_log(LIVES)), "L1"))
    assert values.tolist() == [2.0, 1.0]
    assert into.tolist() == [[1, 2], [1, 1]]
    assert out_of.tolist() == [[3, 4], [1, 3]]


def test_nobody_looked_for_the_laying() -> None:
    _, passages = completed(stage_times(event_history(tiny_log(LIVES, laid=(-1, 0))), "egg"))
    assert len(passages) == 1


def test_degree_days_and_their_bounds_are_those_of_the_curve() -> None:
    """At 15 °C above 10 °C a day has 5 degree-days."""
    log = tiny_log(LIVES, temperatures=(ConstantTemperature(15.0, START.date()),))
    curve = heat_curve(lay_out(log), HeatSettings(10.0, None, "single-sine", "horizontal"))
    spans = stage_times(event_history(log), "L1")
    days, passages = completed(spans)
    heat, bounds = completed(spans, curve)
    assert heat == pytest.approx(5 * days)
    for in_days, in_heat in zip(passages, bounds, strict=True):
        assert np.diff(in_heat) == pytest.approx(5 * np.diff(in_days))


def test_who_has_unknown_degree_days_does_not_count() -> None:
    """The temperature is known of the first two days only."""
    kept = ConstantTemperature(15.0, START.date(), START.date())
    log = tiny_log({"1": "egg L1! L2!" + 9 * " L2", "2": "egg" + 8 * " L1" + " L2"},
                   temperatures=(kept,))  # fmt: skip
    curve = heat_curve(lay_out(log), HeatSettings(10.0, None, "single-sine", "horizontal"))
    heat, bounds = completed(stage_times(event_history(log), "L1"), curve)
    assert len(heat) == len(bounds[0]) < 2


def test_the_npmle_censors_who_died_or_was_lost() -> None:
    """One of two is last seen in L1 after 1 to 2 days: it may complete it any time later."""
    found = npmle(
        stage_times(event_history(tiny_log({"1": "egg L1 L1 L2", "2": "egg L1 L1 lost"})), "L1")
    )
    assert found is not None
    assert found.median == (1.0, 3.0)
    assert npmle(stage_times(event_history(tiny_log({"1": "L1 L2"})), "L1")) is None
