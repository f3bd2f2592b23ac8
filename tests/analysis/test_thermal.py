import pytest

from rearlog.analysis.events import develop
from rearlog.analysis.heat_curve import HeatSettings, heat_curve
from rearlog.analysis.temperatures import lay_out
from rearlog.analysis.thermal import StageThermal, Warmed, thermal
from rearlog.records.errors import UsageError
from rearlog.records.log import ConstantTemperature
from tests.builders import START, tiny_log

HOW = HeatSettings(0.0, None, "single-sine", "horizontal")


def kept_at(celsius: float | None, days: int, name: str | None = None) -> Warmed:
    """Three individuals whose L1 took so many days at a temperature (None: not recorded)."""
    records = () if celsius is None else (ConstantTemperature(celsius, START.date()),)
    lives = {str(n): "egg L1! " + "L1 " * (days - 1) + "L2!" for n in range(3)}
    log = tiny_log(lives, temperatures=records)
    curve = None if celsius is None else heat_curve(lay_out(log), HOW)
    return Warmed(name or f"t{celsius}", "Moth test", develop(log), curve)


def stage(cohorts: list[Warmed], **kwargs: object) -> StageThermal:
    result = thermal(cohorts, **kwargs)  # type: ignore[arg-type]
    return next(each for each in result.stages if each.stage == "L1")


def test_cohorts_that_share_a_threshold_and_constant_give_them_back() -> None:
    """K = 60 above 10 °C: 12, 6 and 4 days at 15, 20 and 25 °C."""
    found = stage([kept_at(15, 12), kept_at(20, 6), kept_at(25, 4)])
    assert found.linear is not None
    assert found.ikemoto_takai is not None
    assert found.linear.threshold == pytest.approx(10)
    assert found.linear.constant == pytest.approx(60)
    assert found.ikemoto_takai.threshold == pytest.approx(10)
    assert [point.temperature for point in found.points] == pytest.approx([15, 20, 25])
    assert found.curve is None
    assert "five" in str(found.no_curve)


def test_a_cohort_left_out_is_shown_but_not_fitted() -> None:
    cohorts = [kept_at(15, 12), kept_at(20, 6), kept_at(25, 4), kept_at(35, 9, "hot")]
    bent, straight = stage(cohorts), stage(cohorts, leave_out=["hot"])
    assert bent.linear is not None
    assert straight.linear is not None
    assert bent.linear.threshold != pytest.approx(10, abs=1)
    assert straight.linear.threshold == pytest.approx(10)
    assert [point.used for point in straight.points] == [True, True, True, False]


def test_two_temperatures_give_values_without_an_error_and_say_so() -> None:
    found = stage([kept_at(15, 12), kept_at(20, 6)])
    assert found.linear is not None
    assert found.linear.threshold_se is None
    assert "two temperatures only" in found.words[0]


def test_one_temperature_twice_gives_a_reason() -> None:
    found = stage([kept_at(20, 6, "a"), kept_at(20, 7, "b")])
    assert found.linear is None
    assert "same temperature" in str(found.no_linear)


def test_a_cohort_without_temperatures_gives_a_notice() -> None:
    result = thermal([kept_at(15, 12), kept_at(None, 6, "bare"), kept_at(20, 6)])
    assert "bare" in result.notices[0]


@pytest.mark.parametrize(
    ("cohorts", "left_out", "message"),
    [
        ([kept_at(15, 12)], (), "two temperatures"),
        ([kept_at(15, 12), kept_at(15, 12)], (), "given twice"),
        ([kept_at(15, 12), kept_at(20, 6)], ("x",), "no cohort x"),
    ],
)
def test_calls_that_cannot_be_answered(
    cohorts: list[Warmed], left_out: tuple[str, ...], message: str
) -> None:
    with pytest.raises(UsageError, match=message):
        thermal(cohorts, left_out)


def test_three_cohorts_are_said_to_know_little() -> None:
    """One degree of freedom: 12.7 standard errors to either side (Student's t, any table)."""
    found = stage([kept_at(15, 12), kept_at(20, 7), kept_at(25, 4)])
    line = found.linear
    assert line is not None
    assert line.threshold_low is not None
    assert line.threshold_se is not None
    assert line.threshold - line.threshold_low == pytest.approx(
        12.706 * line.threshold_se, rel=1e-4
    )
    assert (
        f"(95 % interval {line.threshold_low:.1f} to {line.threshold_high:.1f})" in found.words[0]
    )
