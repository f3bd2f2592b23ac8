import numpy as np
import pytest

from rearlog.analysis.heat.daily_temperatures import lay_out
from rearlog.analysis.heat.heat_curve import HeatSettings, heat_curve
from rearlog.analysis.stages.events import event_history
from rearlog.analysis.stages.stage_times import (
    StageOutcome,
    completed,
    npmle,
    stage_times,
    stage_times_of,
)
from rearlog.records.log import ConstantTemperature
from tests.builders import START, tiny_log

LIVES = {"1": "egg egg L1 L1 L2", "2": "egg L1! - L2", "3": "egg egg L1 dead", "4": "L1 L1 L2"}


def test_passages_that_were_looked_for_are_bounded_and_seen_ones_are_exact() -> None:
    values, (into, out_of), _ = completed(stage_times(event_history(tiny_log(LIVES)), "L1"))
    assert values.tolist() == [2.0, 1.0]
    assert into.tolist() == [[1, 2], [1, 1]]
    assert out_of.tolist() == [[3, 4], [1, 3]]


def test_nobody_looked_for_the_laying() -> None:
    _, passages, _ = completed(stage_times(event_history(tiny_log(LIVES, laid=(-1, 0))), "egg"))
    assert len(passages) == 1


def test_degree_days_and_their_bounds_are_those_of_the_curve() -> None:
    """At 15 °C above 10 °C a day has 5 degree-days."""
    log = tiny_log(LIVES, temperatures=(ConstantTemperature(15.0, START.date()),))
    curve = heat_curve(lay_out(log), HeatSettings(10.0, None, "single-sine", "horizontal"))
    spans = stage_times(event_history(log), "L1")
    days, passages, who = completed(spans)
    heat, bounds, same = completed(spans, curve)
    assert who.tolist() == same.tolist()
    assert spans.midpoint[who] == pytest.approx(days)
    assert heat == pytest.approx(5 * days)
    for in_days, in_heat in zip(passages, bounds, strict=True):
        assert np.diff(in_heat) == pytest.approx(5 * np.diff(in_days))


def test_who_has_unknown_degree_days_does_not_count() -> None:
    """The temperature is known of the first two days only."""
    kept = ConstantTemperature(15.0, START.date(), START.date())
    log = tiny_log({"1": "egg L1! L2!" + 9 * " L2", "2": "egg" + 8 * " L1" + " L2"},
                   temperatures=(kept,))  # fmt: skip
    curve = heat_curve(lay_out(log), HeatSettings(10.0, None, "single-sine", "horizontal"))
    heat, bounds, who = completed(stage_times(event_history(log), "L1"), curve)
    assert len(who) == len(heat)
    assert len(heat) == len(bounds[0]) < 2


def test_the_npmle_censors_who_died_or_was_lost() -> None:
    """One of two is last seen in L1 after 1 to 2 days: it may complete it any time later."""
    found = npmle(
        stage_times(event_history(tiny_log({"1": "egg L1 L1 L2", "2": "egg L1 L1 lost"})), "L1")
    )
    assert found is not None
    assert found.quantile(0.5) == (1.0, 3.0)
    assert npmle(stage_times(event_history(tiny_log({"1": "L1 L2"})), "L1")) is None


def bounds(line: str, first: str = "L1", until: str | None = None) -> tuple[float, float, str]:
    """The least and the most days of one individual, and its outcome."""
    found = stage_times(event_history(tiny_log({"1": line})), first, until)
    return found.low.item(), found.high.item(), found.outcome.item()


def test_who_ends_in_a_stage_was_in_it_as_long_as_it_is_known_to_have_lived() -> None:
    """Into L1 in (1, 2]; last seen alive on day 4. Who is removed on day 7 was alive until then."""
    began = "egg egg L1 L1 L1 - -"
    assert bounds(began) == (2, np.inf, "in stage")
    assert bounds(f"{began} dead") == (2, np.inf, "died")
    assert bounds(f"{began} lost") == (2, np.inf, "lost")
    assert bounds(f"{began} removed") == (5, np.inf, "removed")


def test_a_span_of_stages_ends_with_the_passage_that_is_asked_for() -> None:
    line = "egg egg L1 L1 - L2 L2 pupa"
    assert bounds(line, "L1", "pupa") == (6 - 2, 7 - 1, "completed")
    assert bounds(line, "L1") == (3 - 2, 5 - 1, "completed")
    assert bounds(line, "L1", "adult") == (7 - 2, np.inf, "in stage")
    assert bounds(line, "L2", "adult") == (7 - 5, np.inf, "in stage")


def test_a_stage_goes_on_until_the_next_that_is_not_optional() -> None:
    history = event_history(tiny_log({"1": "egg L1 L2 L3 pupa adult", "2": "egg L1 L2 pupa"}))
    assert [each.until for each in stage_times_of(history)] == ["L1", "L2", "pupa", "pupa", "adult"]
    assert [stage_times(history, "L2").low.tolist()] == [[0, 0]]
    (span,) = stage_times_of(history, until="pupa")
    assert (span.first, span.until) == ("egg", "pupa")
    (span,) = stage_times_of(history, "L2")
    assert (span.first, span.until) == ("L2", "adult")


def test_a_stage_is_spent_between_the_middles_of_its_passages_or_of_the_checks_around() -> None:
    """1 came into L1 in (1, 2] and left it in (3, 4]; 2 passed through it in (0, 2]."""
    log = tiny_log({"1": "egg egg L1 L1 L2", "2": "egg - L2", "3": "egg L1 L1"})
    found = stage_times(event_history(log), "L1")
    begun, left = found.spent(found.which(StageOutcome.COMPLETED))
    assert (begun.tolist(), left.tolist()) == ([1.5, 0], [3.5, 2])


def test_a_stage_whose_start_nobody_saw_has_no_known_duration() -> None:
    found = stage_times(event_history(tiny_log({"1": "L1 L1 L2", "2": "egg L1 L2"})), "L1")
    assert found.outcome.tolist() == ["start unknown", "completed"]
    assert found.which(StageOutcome.COMPLETED).tolist() == [False, True]
