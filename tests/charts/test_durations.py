"""The durations chart: marks at the days, the expected box behind, cohorts side by side."""

import pytest
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle
from msgspec.structs import replace

from rearlog.analysis.stages.durations import Durations
from rearlog.analysis.stages.expected import Timing
from rearlog.charts.durations import durations
from rearlog.charts.style import PAGE, Style, around
from rearlog.sentences.durations import alt_text, notes, title
from tests.charts.conftest import Answers, line_of, parts, small_cohort, texts, words


def test_marks_stand_at_the_days_and_their_area_is_the_number() -> None:
    eight = dict.fromkeys("12345678", "egg L1 L2") | {"9": "egg L1 L1 L1 L2"}
    figure = durations([small_cohort("shelf", eight).durations])
    many, one = (
        line_of(figure, next(name for name in parts(figure) if name.endswith(f"shelf-L1-{days}")))
        for days in (1, 3)
    )
    assert (many.get_xdata().tolist(), one.get_xdata().tolist()) == ([1], [3])
    assert (many.get_markersize() / one.get_markersize()) ** 2 == pytest.approx(8)


def test_only_completed_stages_are_marked(room: Answers) -> None:
    drawn = parts(durations([room.durations]))
    assert [name for name in drawn if "-room-L3-" in name] == ["within-room-L3-1"]
    over = [each for each in room.durations.individuals if each.outcome == "completed"]
    shown = sum(name.startswith(("within-room", "outside-room")) for name in drawn)
    assert shown == len({(each.stage, each.days, each.outside) for each in over})


def test_the_box_is_the_expected_range_and_the_bar_the_median(room: Answers) -> None:
    figure = durations([room.durations])
    assert "expected-room-L3" not in parts(figure)  # its stage has no value of its own
    for stage in room.durations.stages:
        if stage.expected is None:
            continue
        box = parts(figure)[f"expected-room-{stage.stage}"]
        assert isinstance(box, Rectangle)
        assert (box.get_x(), box.get_x() + box.get_width()) == pytest.approx(stage.expected)
        if stage.median_bounds is not None and stage.median_bounds[1] is not None:
            bar = line_of(figure, f"median-room-{stage.stage}")
            assert tuple(bar.get_xdata()) == stage.median_bounds


def test_the_thin_line_is_the_limits_of_the_median_of_all_such() -> None:
    lives = {str(n): "egg L1! " + "L1 " * n + "L2!" for n in range(1, 10)}
    lives |= {"a": "egg egg L1", "b": "egg L1"}
    figure = durations([small_cohort("many", lives).durations])
    line, bar = (line_of(figure, f"{kind}-many-L1") for kind in ("limits", "median"))
    assert line.get_linewidth() < bar.get_linewidth()
    assert "limits-many-egg" in parts(figure)
    few = small_cohort("few", {"1": "egg L1! L2!"}).durations
    assert "limits-few-L1" not in parts(durations([few]))


def test_a_median_that_is_not_reached_has_no_bar() -> None:
    lives = {"1": "egg L1! L2!", "2": "egg L1! L1 L1 dead", "3": "egg L1! L1 L1 L1"}
    figure = durations([small_cohort("slow", lives).durations])
    assert "median-slow-egg" in parts(figure)
    assert "median-slow-L1" not in parts(figure)  # one of three was seen to complete it
    assert "No bar: half have not completed it" in words(figure)


def test_who_was_outside_is_hollow(room: Answers) -> None:
    everyone = tuple(
        replace(each, outside=Timing.LONGER) if each.stage == "egg" else each
        for each in room.durations.individuals
    )
    figure = durations([replace(room.durations, individuals=everyone)])
    hollow = [name for name in parts(figure) if name.startswith("outside-room-egg")]
    assert hollow
    assert line_of(figure, hollow[0]).get_markerfacecolor() == "#ffffff"
    assert "Hollow" in words(figure)


def test_cohorts_stand_side_by_side_in_each_stage(room: Answers, shelf: Answers) -> None:
    figure = durations([room.durations, shelf.durations])
    rows = [parts(figure)[f"expected-{name}-L1"] for name in ("room", "shelf")]
    heights = [row.get_y() for row in rows]  # type: ignore[attr-defined]
    assert heights[1] - heights[0] == pytest.approx(1)
    read = words(figure)
    assert {"room", "shelf", "n = 4", "n = 3"} <= set(read.splitlines())
    egg = [line_of(figure, f"median-{name}-egg").get_color() for name in ("room", "shelf")]
    assert egg[0] != egg[1]


def with_stage(result: Durations, **values: object) -> Durations:
    """The durations with the first stage changed."""
    first, *others = result.stages
    return replace(result, stages=(replace(first, **values), *others))  # type: ignore[arg-type]


def test_the_title_claims_no_more_than_the_interval_allows(room: Answers) -> None:
    known = tuple(each for each in room.durations.stages if each.expected is not None)
    every = replace(room.durations, stages=known)

    def told(mean: float, low: float, high: float, verdict: Timing) -> str:
        values = {"mean": mean, "mean_low": low, "mean_high": high, "verdict": verdict}
        return title([with_stage(every, **values, off_days=0.4, expected=(2.0, 3.0))])

    usual = "No stage is shown to be off its expected range in room"
    assert told(3.4, 2.9, 4.0, Timing.LONGER) == usual
    slow = "Egg took longer than expected: 5.0 days on average, not 2.0 to 3.0"
    assert told(5.0, 4.5, 5.5, Timing.LONGER) == slow
    assert told(1.0, 0.5, 1.5, Timing.SHORTER).startswith("Egg took less time than expected")


def test_the_title_of_several_says_where_they_differ_most(room: Answers, shelf: Answers) -> None:
    finding = title([room.durations, shelf.durations])
    # the eggs of the shelf hatched between days 0 and 1 after a night, those of the room later
    assert finding == "Medians farthest apart: egg, 1.0 days in shelf and 2.8 in room"
    assert finding in alt_text([room.durations, shelf.durations])


def test_nothing_over_yet() -> None:
    young = small_cohort("young", {"1": "egg egg"}).durations
    assert title([young]) == "No stage is over yet in young"
    assert "n = 0" in words(durations([young]))  # what is expected is drawn all the same
    empty = small_cohort("young", {}).durations
    assert "A stage counts when it was seen to end." in words(durations([empty]))


def test_every_row_lies_within_the_axes_and_each_stage_is_named_in_its_middle(
    room: Answers, shelf: Answers
) -> None:
    for results in ([room.durations], [room.durations, shelf.durations]):
        figure = durations(results)
        axes = figure.axes[0]
        bottom, top = axes.get_ylim()
        assert bottom > top  # rows count downwards
        assert axes.get_xlim()[0] == 0
        stages = [label.get_text() for label in axes.get_yticklabels()]
        for stage, tick in zip(stages, axes.get_yticks(), strict=True):
            rows = [
                line_of(figure, f"median-{each.cohort}-{stage}").get_ydata()[0]
                for each in results
                if f"median-{each.cohort}-{stage}" in parts(figure)
            ]
            assert all(top < row < bottom for row in rows)
            if len(rows) == len(results):
                assert sum(rows) / len(rows) - 0.38 == pytest.approx(tick)
    assert words(figure).splitlines().count("room") == 1  # in the key alone


def lines_between(figure: Figure, *names: str) -> float:
    """How far apart two marks stand, in heights of the text."""
    figure.draw_without_rendering()
    heights = [
        mark.axes.transData.transform((0.0, float(mark.get_ydata()[0])))[1]
        for mark in (parts(figure)[name] for name in names)
        if isinstance(mark, Line2D) and mark.axes is not None
    ]
    return abs(heights[0] - heights[1]) * 72 / figure.dpi / PAGE.text_pt


def test_rows_of_one_cohort_are_wider_apart_than_those_of_two(
    room: Answers, shelf: Answers
) -> None:
    one = durations([room.durations])
    two = durations([room.durations, shelf.durations])
    # a row is 2.6 or 1.7 lines, and half a row stands between two stages
    assert lines_between(one, "median-room-egg", "median-room-L1") == pytest.approx(3.9, abs=0.5)
    assert lines_between(two, "median-room-egg", "median-shelf-egg") == pytest.approx(1.7, abs=0.3)


def high_pt(figure: Figure) -> float:
    """How high the first column is."""
    grid = figure.axes[0].get_gridspec()
    assert grid is not None
    return float(grid.get_height_ratios()[0]) * 72


def test_one_stage_has_the_height_of_five_letters(room: Answers) -> None:
    """A row of 2.6 and half of one between stages would be 3.9."""
    one = replace(room.durations, stages=room.durations.stages[:1])
    assert high_pt(durations([one])) == pytest.approx(5 * 9)
    two = replace(room.durations, stages=room.durations.stages[:2])
    assert high_pt(durations([two])) == pytest.approx(2 * 1.5 * 2.6 * 9)


def with_room_for(result: Durations, letters: float) -> Style:
    """A page with so much height left between the words and the four letters below the columns."""
    low = replace(PAGE, tallest_in=1.0)
    words_in = around(low, title([result]), notes([result]), invented=False).height_in
    low = replace(low, tallest_in=words_in + (letters + 4) * PAGE.em_in)
    assert around(low, title([result]), notes([result]), invented=False).height_in == words_in
    return low


@pytest.mark.parametrize(("row", "drawn"), [(0.23, True), (0.21, False)])
def test_rows_of_a_fifth_of_a_letter_are_not_drawn(room: Answers, row: float, drawn: bool) -> None:
    """Five stages stand in four columns, two of them in the first, each with half a row between."""
    figure = durations([room.durations], with_room_for(room.durations, 3 * row))
    assert ("1 cohorts do not fit here" not in words(figure)) == drawn


@pytest.mark.parametrize(("row", "letters"), [(1.2, 0.86), (0.96, 0.8), (0.84, 0.7)])
def test_numbers_behind_rows_are_as_small_as_these_ask_for(
    room: Answers, row: float, letters: float
) -> None:
    """A row of 1.2 letters holds one, but none is larger than 0.86; seven rows and a half are one
    column."""
    figure = durations([room.durations], with_room_for(room.durations, 7.5 * row))
    sizes = [text.get_fontsize() / 9 for text in texts(figure) if text.get_text()[:4] == "n = "]
    assert sizes == pytest.approx([letters] * 5)
