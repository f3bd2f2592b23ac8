"""The rate chart, drawn from the published dock beetle, and days beside degree-days."""

import numpy as np
import pytest
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.text import Annotation
from msgspec.structs import replace

from rearlog.analysis.comparing.compare import Comparison
from rearlog.analysis.comparing.rate_curves import RateLaw, rate_curves
from rearlog.analysis.comparing.rate_models import NoRate
from rearlog.analysis.comparing.stage_comparison import (
    DAYS,
    DEGREE_DAYS,
    WHOLE,
    GroupSummary,
    StageComparison,
)
from rearlog.analysis.comparing.thermal import (
    Objection,
)
from rearlog.analysis.statistics.differences import NoTest, Verdict
from rearlog.charts.pace import pace
from rearlog.charts.rate import rate
from rearlog.charts.style import around, look
from rearlog.records.errors import UsageError
from rearlog.sentences import compare as comparison_words
from rearlog.sentences.thermal import alt_text, title
from tests.charts.conftest import line_of, only, parts, words
from tests.charts.small_results import CELSIUS, beetle


def test_the_title_gives_the_published_threshold_and_constant() -> None:
    # published: T0 7.1 °C, K 304.6 degree-days (abstract)
    finding = title(beetle())
    assert finding.startswith("Egg to adult: threshold 7.1 °C (")
    assert "305 degree-days (" in finding
    assert finding in alt_text(beetle())
    assert "In brackets: 95 % limits, from 4 cohorts" in words(rate(beetle()))
    assert "In brackets" not in words(rate(beetle(left_out=2)))


def test_the_line_meets_zero_at_the_threshold_and_is_dashed_beyond_the_data() -> None:
    figure = rate(beetle())
    below, within, above = (line_of(figure, f"line{end}") for end in ("-below", "", "-above"))
    assert below.get_xdata()[0] == pytest.approx(7.1, abs=0.05)  # published
    assert below.get_ydata()[0] == pytest.approx(0)
    assert list(within.get_xdata()) == [18, 28]
    assert (below.is_dashed(), within.is_dashed(), above.is_dashed()) == (True, False, True)
    assert above.get_xdata()[0] == 28


def test_the_band_holds_the_line_and_is_narrowest_at_the_mean() -> None:
    figure = rate(beetle())
    band = parts(figure)["band"]
    assert isinstance(band, PolyCollection)
    vertices = band.get_paths()[0].vertices
    celsius = np.unique(vertices[:, 0])
    widths = {
        at: np.ptp(vertices[np.isclose(vertices[:, 0], at)][:, 1]) for at in celsius[1:-1].tolist()
    }
    narrowest = min(widths, key=lambda at: widths[at])
    assert narrowest == pytest.approx(np.mean(CELSIUS), abs=0.5)


def test_points_bear_their_cohort_days_and_number() -> None:
    figure = rate(beetle())
    point = line_of(figure, "cohort-at18")
    assert point.get_xydata().tolist() == [[18, pytest.approx(1 / 28.2)]]
    upright = [
        each.get_segments()[0]
        for each in figure.axes[0].collections
        if isinstance(each, LineCollection) and np.ptp(each.get_segments()[0][:, 0]) == 0
    ]
    (bar,) = [each[:, 1] for each in upright if each[0, 0] == 18]
    assert sorted(bar) == pytest.approx([1 / 28.6, 1 / 27.8], rel=2e-3)  # 28.2 ± 0.4 days
    assert "at18, 28.2 days, n = 20" in words(figure)


def test_who_is_still_in_the_stage_is_counted_beside_the_point_and_the_title_doubts() -> None:
    whole = beetle().stages[0]
    waiting = replace(whole.points[0], in_stage=7)
    doubted = replace(
        whole, points=(waiting, *whole.points[1:]), objections=(Objection.THRESHOLD_TOO_COLD,)
    )
    result = replace(beetle(), stages=(doubted,))
    assert "n = 20 + 7 still in it" in words(rate(result))
    assert title(result).endswith("(154 to 455) (not to be used)")
    assert "not to be used" in alt_text(result)
    assert "not to be used" not in title(beetle())


def test_what_is_left_out_is_hollow_and_named() -> None:
    figure = rate(beetle(left_out=1))
    assert line_of(figure, "cohort-at18").get_markerfacecolor() == "#ffffff"
    assert line_of(figure, "cohort-at28").get_markerfacecolor() != "#ffffff"
    assert "left out: at18" in words(figure)


def test_two_temperatures_have_no_error_and_no_band() -> None:
    figure = rate(beetle(left_out=2))
    assert "from two temperatures only" in title(beetle(left_out=2))
    assert "band" not in parts(figure)


def test_the_bent_curve_ends_at_its_thresholds() -> None:
    # rates made from a = 0.0001, 8 and 35 °C, so that the fit must find them again
    celsius = np.array([12.0, 17.0, 22.0, 27.0, 31.0, 33.0])
    made = 0.0001 * celsius * (celsius - 8) * np.sqrt(35 - celsius)
    curve, *_ = rate_curves(celsius, made)
    assert curve.law is RateLaw.BRIERE_1
    figure = rate(beetle(curves=(curve,)))
    x, y = line_of(figure, "curve").get_data()
    assert y[x < 7.9] == pytest.approx(0)
    assert y[x > 35.1] == pytest.approx(0)
    said = " ".join(words(figure).lower().split())
    assert f"dotted: brière's first curve, optimum {curve.optimum:.1f} °c" in said


def test_the_law_that_the_points_prefer_is_the_one_that_is_drawn() -> None:
    """Rates made by the beta curve 4e-4·(T − 9)^1.5·(36 − T), to three digits."""
    celsius = np.array([12.0, 16.0, 20.0, 24.0, 28.0, 31.0, 33.0])
    made = np.round(4e-4 * (celsius - 9) ** 1.5 * (36 - celsius), 3)
    curves = rate_curves(celsius, made)
    assert curves[0].law is RateLaw.BETA
    figure = rate(beetle(curves=curves))
    x, y = line_of(figure, "curve").get_data()
    assert x[np.argmax(y)] == pytest.approx((9 + 1.5 * 36) / 2.5, abs=0.5)
    assert "dotted: the beta curve, optimum 25." in " ".join(words(figure).lower().split())
    assert figure.axes[0].get_xlim()[1] == pytest.approx(36 + 1.5, abs=0.3)
    cool = rate_curves(celsius[:5], made[:5])  # nothing but a line can be told from five points
    assert [each.law for each in cool] in ([], [RateLaw.LINE])
    assert "curve" not in parts(rate(beetle(curves=cool)))


def test_no_line_says_why_and_no_points_say_so() -> None:
    stage = beetle().stages[0]
    level = replace(stage, linear=None, no_linear=NoRate.NOT_FASTER)
    result = replace(beetle(), stages=(level,))
    assert title(result) == (
        "No line for egg to adult: development was not faster at the higher temperatures"
    )
    assert "cohort-at18" in parts(rate(result))
    empty = replace(result, stages=(), without_temperatures=("at18",))
    assert "No cohort has finished a stage" in words(rate(empty))
    assert "at18 has no temperatures" in words(rate(empty))


def test_a_stage_with_a_line_goes_before_a_longer_one_without_and_may_be_named() -> None:
    whole = beetle().stages[0]
    egg = replace(whole, stage="egg")
    lone = replace(whole, linear=None, no_linear=NoRate.FEW_COHORTS, points=whole.points[:1])
    result = replace(beetle(), stages=(egg, lone))
    assert title(result).startswith("Egg: threshold 7.1")
    assert "egg (1/day)" in words(rate(result))
    assert "No line for egg to adult" in words(rate(result, stage="egg to adult"))
    with pytest.raises(UsageError, match="“L9”"):
        rate(result, stage="L9")


def comparison(days: dict[str, float | None], heat: dict[str, float | None]) -> Comparison:
    """Cohorts with these means of the whole development, five individuals each."""

    def stage(unit: str, means: dict[str, float | None]) -> StageComparison:
        groups = tuple(
            only(GroupSummary, cohort=name, n=5 if mean else 0, mean=mean, sd=mean and 1.0)
            for name, mean in means.items()
        )
        return only(
            StageComparison,
            stage=WHOLE,
            unit=unit,
            groups=groups,
            reason=NoTest.GROUP_ALIKE,
            verdict=Verdict.NOT_TESTED,
        )

    return only(
        Comparison, cohorts=tuple(days), stages=(stage(DAYS, days), stage(DEGREE_DAYS, heat))
    )


def test_cohorts_stand_apart_in_days_and_together_in_degree_days() -> None:
    result = comparison({"cool": 38.0, "warm": 19.0}, {"cool": 400.0, "warm": 400.0})
    figure = pace(result)
    days = [line_of(figure, f"days-{name}").get_xdata()[0] for name in ("cool", "warm")]
    heat = [line_of(figure, f"degree-days-{name}").get_xdata()[0] for name in ("cool", "warm")]
    assert days == [38, 19]
    assert heat == [400, 400]
    assert [axes.get_xlim()[0] for axes in figure.axes] == [0, 0]
    assert comparison_words.title(result) == ("Too little to compare the days of cool and warm")
    assert "Whole development: no test, since all values of a group are the same" in words(figure)


def test_means_bear_their_spread_and_their_numbers() -> None:
    """The SD of each cohort is 1.0; days have a decimal and the number, degree-days have none."""
    result = comparison({"cool": 38.04, "warm": 19.0}, {"cool": 400.4, "warm": 380.0})
    figure = pace(result)
    assert "38.0, n = 5" in words(figure).splitlines()
    assert "400" in words(figure).splitlines()
    for axes, means in zip(figure.axes, ((38.04, 19.0), (400.4, 380.0)), strict=True):
        bars = [each for each in axes.collections if isinstance(each, LineCollection)]
        ends = [segment[:, 0].tolist() for each in bars for segment in each.get_segments()]
        for mean in means:
            assert [mean - 1, mean + 1] in [[pytest.approx(a), pytest.approx(b)] for a, b in ends]
        assert axes.get_xlim()[0] == 0


@pytest.mark.parametrize(
    ("row", "letters", "above"),
    [(2.2, 0.86, True), (1.82, 0.86, True), (1.78, 0.86, False), (0.96, 0.8, False)],
)
def test_rows_of_means_share_the_height_that_there_is(
    row: float, letters: float, above: bool
) -> None:
    """A row of more than 1.8 letters has room for a number above its mark; in lower ones it stands
    behind the bar, and has a row of 1.2. What stands around the panels takes 2.4 and 4."""
    result = comparison({"cool": 38.0, "warm": 19.0}, {"cool": 400.0, "warm": 380.0})
    low = replace(look("page"), height_in=0.5, tallest_in=1.0)
    told = comparison_words.notes(result.overall, brief=False)
    words_in = around(low, comparison_words.title(result), told, invented=False).height_in
    low = replace(low, tallest_in=words_in + (2.4 + 4 + 2 * row) * low.em_in)
    figure = pace(result, low)
    assert figure.get_figheight() == pytest.approx(low.tallest_in)
    for axes, ends in zip(figure.axes, ((39, 20), (401, 381)), strict=True):
        assert axes.yaxis.get_tick_params()["labelsize"] / 9 == pytest.approx(letters)
        numbers = [text for text in axes.texts if isinstance(text, Annotation)]
        assert [text.get_fontsize() / 9 for text in numbers] == pytest.approx([letters] * 2)
        places = [(text.xy[0], text.get_ha(), text.get_va()) for text in numbers]
        if above:
            assert places == [(end - 1, "center", "bottom") for end in ends]
        else:
            assert places == [(end, "left", "center") for end in ends]


def test_without_temperatures_there_are_only_days() -> None:
    figure = pace(comparison({"cool": 38.0, "warm": 19.0}, {"cool": None, "warm": None}))
    assert len(figure.axes) == 1


def test_nobody_finished() -> None:
    result = comparison({"cool": None, "warm": None}, {"cool": None, "warm": None})
    assert "No cohort has finished development." in words(pace(result))
    assert "No two cohorts" in comparison_words.alt_text(result)


def test_a_span_that_was_asked_for_is_drawn_under_its_name() -> None:
    result = comparison({"cool": 38.0, "warm": 19.0}, {"cool": 400.0, "warm": 400.0})
    span = tuple(replace(each, stage="L1 to pupa") for each in result.stages)
    figure = pace(replace(result, stages=span))
    assert "days-cool" in parts(figure)
    assert "L1 to pupa" in words(figure)


def test_the_temperatures_shown_reach_from_below_the_threshold_to_beyond_the_warmest() -> None:
    line = beetle().stages[0].linear
    assert line is not None
    assert line.threshold_se is not None
    axes = rate(beetle()).axes[0]
    assert axes.get_xlim() == pytest.approx((line.threshold - line.threshold_se - 4, 28 + 1.5))
    assert axes.get_ylim() == pytest.approx((0, 1.25 / 15.0))  # the fastest took 15 days
    level = replace(beetle().stages[0], linear=None, no_linear=NoRate.NOT_FASTER)
    plain = rate(replace(beetle(), stages=(level,))).axes[0]
    assert plain.get_xlim() == pytest.approx((18 - 4, 28 + 1.5))


def test_the_curve_is_drawn_to_its_upper_threshold_and_from_0_degrees_on() -> None:
    celsius = np.array([12.0, 17.0, 22.0, 27.0, 31.0, 33.0])
    made = 0.0001 * celsius * (celsius - 8) * np.sqrt(35 - celsius)
    curve, *_ = rate_curves(celsius, made)
    assert curve.upper is not None
    endless = replace(curve, upper=None)
    assert rate(beetle(curves=(endless,))).axes[0].get_xlim()[1] == pytest.approx(28 + 1.5)
    figure = rate(beetle(curves=(curve,)))
    assert figure.axes[0].get_xlim()[1] == pytest.approx(curve.upper + 1.5)
    assert figure.axes[0].get_xlim()[0] > 0
    x, _ = line_of(figure, "curve").get_data()
    assert (np.diff(x) > 0).all()
    assert x[0] == pytest.approx(figure.axes[0].get_xlim()[0])
    whole = beetle(curves=(curve,)).stages[0]
    cool = (replace(whole.points[0], temperature=2.0), *whole.points[1:])
    stage = replace(whole, points=cool, linear=None, no_linear=NoRate.NOT_FASTER)
    figure = rate(replace(beetle(), stages=(stage,)))
    assert figure.axes[0].get_xlim()[0] == 2 - 4
    assert line_of(figure, "curve").get_xdata()[0] == 0


TEXT = "a, 20.0 days, n = 20"
WIDE_PT, SPAN = 0.88 * 504, 13.6
"""The width of a page for marks, and the degrees that it shows: from 20 − 4 to 28.1 + 1.5."""
TAKEN_PT = (len(TEXT) + 2) * 0.57 * 0.86 * 9
"""What a name of a cohort and its days takes of it."""


def beside_each_other(second_pt: float, higher: float = 0.0, order: tuple[int, ...] = ()) -> bool:
    """Whether names stand beside three marks: at 20 °C, so far right of it, and at 28.1; the second
    develops faster by a part."""
    whole = beetle().stages[0]
    at = (20.0, 20.0 + second_pt / WIDE_PT * SPAN, 28.1)
    points = [
        replace(whole.points[0], cohort=name, temperature=celsius, days=20.0, rate=part)
        for name, celsius, part in zip("abc", at, (0.05, 0.05 * (1 + higher), 0.01), strict=True)
    ]
    stage = replace(
        whole,
        points=tuple(points[place] for place in order or range(3)),
        linear=None,
        no_linear=NoRate.NOT_FASTER,
    )
    figure = rate(replace(beetle(), cohorts=("a", "b", "c"), stages=(stage,)))
    return len(figure.axes) == 1


@pytest.mark.parametrize("order", [(0, 1, 2), (1, 0, 2), (2, 1, 0)])
def test_names_stand_left_of_their_marks_where_no_mark_and_no_name_is(
    order: tuple[int, ...],
) -> None:
    """The name of the second reaches to a letter right of the first mark, or too far."""
    assert beside_each_other(TAKEN_PT + 9 + 1, order=order)
    assert not beside_each_other(TAKEN_PT + 9 - 1, order=order)
    assert beside_each_other(TAKEN_PT - 30, higher=0.2, order=order)
    assert not beside_each_other(TAKEN_PT - 30, higher=0.01, order=order)


@pytest.mark.parametrize(("letters", "fits"), [(8, True), (9, False)])
def test_a_name_needs_its_width_left_of_the_mark(letters: int, fits: bool) -> None:
    """The coldest mark lies 4 of 13.6 °C from the edge, 130.4 pt: with its days a name of eight
    letters takes 127.9, of nine 132.4."""
    whole = beetle().stages[0]
    points = tuple(
        replace(whole.points[0], cohort=name, temperature=celsius, days=20.0, rate=part)
        for name, celsius, part in (("a" * letters, 20.0, 0.05), ("c", 28.1, 0.01))
    )
    stage = replace(whole, points=points, linear=None, no_linear=NoRate.NOT_FASTER)
    figure = rate(replace(beetle(), cohorts=("a" * letters, "c"), stages=(stage,)))
    assert (len(figure.axes) == 1) == fits
