"""The progress chart: rows, slanted boundaries, fates, and who is outside the expected range."""

import time
from collections import Counter
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import PathPatch
from msgspec.structs import replace

from rearlog.analysis.stages.progress import IndividualProgress, StageSpan
from rearlog.charts.output import render
from rearlog.charts.palette import stage_colours
from rearlog.charts.progress import progress
from rearlog.charts.progress_rows import slanted
from rearlog.charts.style import around, look
from rearlog.charts.survival import survival
from rearlog.sentences.progress import alt_text, notes, title
from tests.charts.conftest import LIVES, Answers, parts, small_cohort, words
from tests.charts.small_results import many, marked

ZERO = date(2026, 3, 9).toordinal() + 9 / 24
"""The start, 9 March at 9:00, on the date axis."""


def drawn_spans(figure: Figure, name: str) -> dict[int, list[list[float]]]:
    """For each row the corners of a stage's span in days since the start: tops, then bottoms."""
    patch = parts(figure)[name]
    assert isinstance(patch, PathPatch)
    found = {}
    vertices = patch.get_path().vertices
    for place in range(0, len(vertices), 5):
        corners = vertices[place : place + 4]
        row = int(np.rint(corners[:, 1].mean()))
        found[row] = (corners[:, 0] - ZERO).tolist()
    return found


def test_spans_stand_in_the_row_of_their_individual(room: Answers) -> None:
    first = drawn_spans(progress([room.progress]), "stage-room-L1")
    assert sorted(first) == [0, 1, 2, 3]  # individual 5 died as an egg
    # 1 was an egg on day 2 and L1 on day 3, L1 on day 5 and L2 on day 6
    assert first[0] == pytest.approx([2, 5, 6, 3])


def test_dates_are_those_of_the_clock_that_has_changed_since_the_start(room: Answers) -> None:
    """In New York clocks went forward on 8 March 2026: 9:00 UTC is 4:00 before it, then 5:00."""
    began = room.log.cohort.started - timedelta(days=3)
    cohort = replace(room.log.cohort, started=began, zone="America/New_York")
    moved = Answers(replace(room.log, cohort=cohort))
    corners = np.array(drawn_spans(progress([moved.progress]), "stage-room-L1")[0])
    assert corners + 9 / 24 == pytest.approx(np.array([2, 5, 6, 3]) + 5 / 24)
    first = next(each for each in moved.stage_counts.arrivals if each.stage == "L1").first
    assert (first.utcoffset(), first.hour) == (timedelta(hours=-4), 17)  # 21:00 UTC, midway


def test_a_seen_hatch_has_an_upright_edge(room: Answers) -> None:
    top_left, _, _, bottom_left = drawn_spans(progress([room.progress]), "stage-room-L1")[3]
    assert top_left == bottom_left == pytest.approx(2)


def test_stages_between_the_same_two_checks_share_the_time_in_order(room: Answers) -> None:
    figure = progress([room.progress])
    # 3 was an egg on day 1 and L2 on day 4: hatch and molt both lie between
    assert drawn_spans(figure, "stage-room-L1")[2] == pytest.approx([1, 2.5, 4, 2.5])
    assert drawn_spans(figure, "stage-room-L2")[2][0] == pytest.approx(2.5)


def span(stage: str, begin_low: float, begin_high: float, low: float, high: float) -> StageSpan:
    return StageSpan(stage, begin_low, begin_high, low, high, None)


def test_neighbouring_spans_share_an_edge() -> None:
    course = (span("egg", -1, 0, 2, 4), span("L1", 2, 4, 2, 4), span("L2", 2, 4, 8, 9))
    corners = slanted(IndividualProgress("1", course, "dead", None), 0.0, 1.0)
    for (_, top, bottom, _), (next_top, _, _, next_bottom) in pairwise(corners):
        assert (top, bottom) == (next_top, next_bottom)


def test_fates_stand_behind_the_last_span_by_shape(room: Answers) -> None:
    drawn = parts(progress([room.progress]))
    dead, lost, removed = (drawn[f"fate-room-{fate}"] for fate in ("dead", "lost", "removed"))
    assert isinstance(dead, Line2D)
    assert isinstance(lost, Line2D)
    assert isinstance(removed, Line2D)
    assert (dead.get_marker(), lost.get_marker(), removed.get_marker()) == ("x", "$?$", ">")
    assert dead.get_ydata().tolist() == [1, 4]
    assert dead.get_xdata() - ZERO == pytest.approx([5, 1], abs=0.5)
    assert lost.get_ydata().tolist() == [2]
    assert lost.get_xdata()[0] - ZERO == pytest.approx(6, abs=0.5)


def test_every_stage_is_named_and_has_its_colour(room: Answers) -> None:
    figure = progress([room.progress])
    named = Counter(words(figure).splitlines())
    assert named["pupa"] >= 2
    patch = parts(figure)["stage-room-pupa"]
    assert isinstance(patch, PathPatch)
    colour = stage_colours(room.progress.stages)["pupa"]
    assert patch.get_facecolor() == pytest.approx(PathPatch(patch.get_path(), fc=colour).get_fc())


def test_expected_ranges_are_brackets_above_told_apart_by_lane_and_dash(room: Answers) -> None:
    figure = progress([room.progress])
    for event in room.progress.expected:
        bracket = parts(figure)[f"expected-room-{event.stage}"]
        assert isinstance(bracket, Line2D)
        low, high = bracket.get_xdata()
        assert (low - ZERO, high - ZERO) == pytest.approx((event.earliest, event.latest))
        assert event.event in words(figure)
        (half,) = parts(figure)[f"half-room-{event.stage}"].get_xdata()  # type: ignore[attr-defined]
        assert half - ZERO == pytest.approx(event.half_came)
    brackets = [parts(figure)[f"expected-room-{each.stage}"] for each in room.progress.expected]
    figure.draw_without_rendering()
    assert len({round(each.get_window_extent().y0, 1) for each in brackets}) == len(brackets)
    assert len({each.get_linestyle() for each in brackets}) > 1  # type: ignore[attr-defined]
    # 25 degree-days at 10 a day, SD a tenth: 2.0 to 3.0 days from the laying, 12 hours before
    hatch = room.progress.expected[0]
    assert (hatch.earliest, hatch.latest) == pytest.approx((1.5, 2.5), abs=0.1)


def test_who_is_outside_the_expected_range_is_outlined_and_named(room: Answers) -> None:
    figure = progress([marked(room.progress)])
    outline, stage = (drawn_spans(figure, name) for name in ("outside-room", "stage-room-L1"))
    assert outline == {0: stage[0]}
    assert "L1 longer" in words(figure)
    assert "outside the expected range" in words(figure)
    assert "1 marked as outside" in alt_text([marked(room.progress)])


def test_a_thousand_stand_in_groups_with_their_numbers_and_are_quick(room: Answers) -> None:
    begin = time.perf_counter()
    figure = progress([many(marked(room.progress), 200)])
    svg = render(figure, "svg")
    assert time.perf_counter() - begin < 10
    assert len(svg) < 3_000_000
    shown = words(figure).splitlines()
    assert "adult 400" in shown
    assert "died 400" in shown
    assert "lost 200" in shown
    assert "1x0" not in shown
    arrow = parts(figure)["outside-room"]
    assert isinstance(arrow, Line2D)
    assert len(arrow.get_ydata()) == 200
    assert figure.get_figheight() <= look("page").tallest_in


def test_the_groups_do_not_mingle(room: Answers) -> None:
    figure = progress([many(room.progress, 200)])
    rows = {
        fate: parts(figure)[f"fate-room-{fate}"].get_ydata()  # type: ignore[attr-defined]
        for fate in ("dead", "lost", "removed")
    }
    assert max(rows["removed"]) < min(rows["dead"])
    assert max(rows["dead"]) < min(rows["lost"])


@pytest.mark.parametrize("size", ["page", "poster", "phone"])
def test_twenty_four_are_each_named(size: str) -> None:
    lives = {f"A{n:02d}": LIVES["1"] for n in range(1, 25)}
    figure = progress([small_cohort("shelf", lives).progress], look(size))
    assert set(lives) <= set(words(figure).splitlines())


def test_cohorts_share_one_date_axis(room: Answers, shelf: Answers) -> None:
    one, other, _ = progress([room.progress, shelf.progress]).axes
    assert one.get_xlim() == other.get_xlim()
    assert (one.get_xlabel(), other.get_xlabel()) == ("", "Date (2026)")


def test_a_dozen_cohorts_stand_in_columns(room: Answers) -> None:
    figure = progress([room.progress] * 12, look("slide"))
    lefts = {round(axes.get_position().x0, 2) for axes in figure.axes}
    assert len(figure.axes) == 12 + 1  # and the key
    assert len(lefts) == 4


def test_the_title_states_the_finding(room: Answers, shelf: Answers) -> None:
    assert title([room.progress]) == (
        "2 of 5 reached adulthood, the first by 20 Mar; nobody was late for certain"
    )
    assert title([room.progress, shelf.progress]) == (
        "Reached adulthood: room 2 of 5, shelf 3 of 3; nobody was late for certain"
    )


def test_titles_before_anyone_is_adult_and_when_nobody_will_be() -> None:
    young = small_cohort("young", {"1": "egg L1", "2": "egg egg"}).progress
    assert title([young]) == ("On 10 Mar, of 2: 1 in egg, 1 in L1; nobody was late for certain")
    gone = small_cohort("gone", {"1": "egg dead", "2": "egg lost"}).progress
    assert title([gone]) == "None of 2 reached adulthood: 1 died, 1 lost"


def test_an_empty_cohort_is_said_to_be_empty() -> None:
    figure = progress([small_cohort("bare", {}).progress])
    assert "bare has no individuals yet" in words(figure)


def test_every_corner_lies_on_the_axis(room: Answers, shelf: Answers) -> None:
    figure = progress([room.progress, shelf.progress])
    for name, artist in parts(figure).items():
        if name.startswith("stage-"):
            assert isinstance(artist, PathPatch)
            days = artist.get_path().vertices[:, 0]
            low, high = artist.axes.get_xlim()
            assert low <= min(days) <= max(days) <= high


def test_stages_without_room_for_their_name_are_explained_in_a_key() -> None:
    brief = small_cohort("brief", {"1": "egg " * 90 + "L1 L1 L2 L2 pupa pupa pupa pupa adult"})
    wide = small_cohort("wide", {"1": "egg egg egg L1 L1 L1"})
    assert words(progress([brief.progress])).split("\n").count("L1") == 1  # in the key alone
    assert words(progress([wide.progress])).split("\n").count("L1") == 2  # in its span too


def test_a_cohort_that_nobody_looked_at_says_so() -> None:
    unseen = small_cohort("unseen", {"1": "egg", "2": "egg"})
    assert "Nobody in unseen was looked at yet." in words(progress([unseen.progress]))
    assert "Nobody was looked at yet." in words(survival([unseen.survival]))


def test_the_date_axis_holds_every_span_also_where_nothing_is_expected(room: Answers) -> None:
    result = replace(room.progress, expected=())
    low, high = progress([result]).axes[0].get_xlim()
    ends = [each.spans[-1].end_high for each in result.individuals]
    starts = [each.spans[0].begin_low for each in result.individuals]
    assert low < ZERO + min(starts)
    assert high > ZERO + max(ends) == ZERO + 13
    assert (ZERO + min(starts) - low) < 0.05 * (high - low)
    assert not any(name.startswith("expected-") for name in parts(progress([result])))


def test_who_was_taken_out_is_hollow_and_the_dead_and_lost_are_filled(room: Answers) -> None:
    drawn = parts(progress([room.progress]))
    faces = {
        fate: drawn[f"fate-room-{fate}"].get_markerfacecolor()  # type: ignore[attr-defined]
        for fate in ("dead", "lost", "removed")
    }
    assert faces["removed"] == "#ffffff"
    assert "#ffffff" not in (faces["dead"], faces["lost"])


def test_fates_stand_close_behind_the_end(room: Answers) -> None:
    drawn = parts(progress([room.progress]))
    ends = {"dead": [5, 1], "lost": [6], "removed": [13]}
    for fate, days in ends.items():
        marks = drawn[f"fate-room-{fate}"].get_xdata()  # type: ignore[attr-defined]
        off = [mark - (ZERO + day) for mark, day in zip(sorted(marks), sorted(days), strict=True)]
        assert all(0 < each < 0.5 for each in off), fate


def test_marks_of_many_individuals_are_never_smaller_than_a_quarter_of_a_letter() -> None:
    lives = {str(n): "egg egg dead" for n in range(250)}
    mark = parts(progress([small_cohort("many", lives).progress]))["fate-many-dead"]
    assert isinstance(mark, Line2D)
    assert mark.get_markersize() == pytest.approx(0.25 * look("page").text_pt)


def high(figure: Figure) -> float:
    """How high the first panel is, in times of the text."""
    grid = figure.axes[0].get_gridspec()
    assert grid is not None
    return float(grid.get_height_ratios()[0]) * 72 / look("page").text_pt


@pytest.mark.parametrize(("individuals", "letters"), [(1, 3.0), (2, 4.0), (3, 6.0)])
def test_rows_are_two_letters_high_and_together_three(
    room: Answers, individuals: int, letters: float
) -> None:
    few = replace(room.progress, individuals=room.progress.individuals[:individuals])
    assert high(progress([few])) == pytest.approx(letters)


def test_in_groups_who_is_outside_has_a_sign_also_where_words_would_fit(room: Answers) -> None:
    last = room.progress.individuals[-1]  # who died as an egg, long before the others were adults
    outside = replace(last, spans=(replace(last.spans[0], outside="longer"),))
    early = replace(room.progress, individuals=(*room.progress.individuals[:-1], outside))
    assert isinstance(parts(progress([many(early, 20)]))["outside-room"], Line2D)
    assert isinstance(parts(progress([early]))["outside-room"], PathPatch)


@pytest.mark.parametrize(("letters", "words_fit"), [(16, True), (40, False)])
def test_words_behind_the_rows_take_three_tenths_of_the_width_at_most(
    room: Answers, letters: int, words_fit: bool
) -> None:
    """Room is made for them, and for four letters more; for longer ones it is not."""
    usual = progress([room.progress]).axes[0].get_xlim()
    spans = room.progress.individuals[0].spans
    told = (replace(spans[0], outside="x" * letters), *spans[1:])  # type: ignore[arg-type]
    first = replace(room.progress.individuals[0], spans=told)
    long = replace(room.progress, individuals=(first, *room.progress.individuals[1:]))
    figure = progress([long])
    assert (figure.axes[0].get_xlim()[1] > usual[1]) == words_fit
    assert isinstance(parts(figure)["outside-room"], PathPatch) == words_fit


def test_a_brief_chart_stays_brief_where_nothing_expected_has_room(room: Answers) -> None:
    several = [replace(room.progress, cohort=f"c{n}") for n in range(4)]
    slide = look("slide", large_text=True)
    assert "degree-days" not in words(progress(several, slide, brief=True))


@pytest.mark.parametrize(
    ("tallest_in", "row_pt", "letters_pt"),
    [(9.0, 15.66, 0.86 * 9), (6.0, 8.46, 0.9 * 8.46), (5.5, 7.26, 0.9 * 7.26), (5.0, 6.06, 6.0)],
)
def test_codes_and_words_are_as_small_as_rows_ask_for(
    room: Answers, tallest_in: float, row_pt: float, letters_pt: float
) -> None:
    """Half an inch less of the height is 36 pt less, 1.2 for each of thirty rows. Letters have 0.9
    of a row, are no larger than 7.74 pt, and no smaller than 6."""
    own = replace(look("page"), tallest_in=tallest_in)
    (axes, _) = progress([many(marked(room.progress), 6)], own).axes
    grid = axes.get_gridspec()
    assert grid is not None
    assert grid.get_height_ratios()[0] * 72 / 30 == pytest.approx(row_pt, abs=0.01)
    assert len(axes.get_yticks()) == 30
    size = axes.yaxis.get_tick_params()["labelsize"]
    words_behind = [text for text in axes.texts if "longer" in text.get_text()]
    assert len(words_behind) == 6
    for each in (size, *(text.get_fontsize() for text in words_behind)):
        assert each == pytest.approx(letters_pt, abs=0.01)


@pytest.mark.parametrize(("times", "height"), [(27, 0.66), (36, 1.0)])
def test_rows_of_less_than_45_of_100_of_a_letter_touch(
    room: Answers, times: int, height: float
) -> None:
    """Of 135 and of 180 that share the rest of the page, a row has more than 4.05 pt or less."""
    figure = progress([many(room.progress, times)])
    grid = figure.axes[0].get_gridspec()
    assert grid is not None
    row_pt = grid.get_height_ratios()[0] * 72 / (5 * times)
    assert (row_pt < 0.45 * 9) == (height == 1.0)
    patch = parts(figure)["stage-room-L1"]
    assert isinstance(patch, PathPatch)
    corners = patch.get_path().vertices[:4, 1]
    assert np.ptp(corners) == pytest.approx(height)


def test_signs_of_those_outside_stand_at_the_right_edge_of_their_rows(room: Answers) -> None:
    """Twenty with the life of the first, in the group of those that became adult."""
    sign = parts(progress([many(marked(room.progress), 20)]))["outside-room"]
    assert isinstance(sign, Line2D)
    assert list(sign.get_xdata()) == [0.995] * 20
    assert np.diff(sign.get_ydata()) == pytest.approx(1.0)
    assert sign.get_markersize() == pytest.approx(0.3 * 9)
    assert sign.get_transform() == sign.axes.get_yaxis_transform()  # type: ignore[union-attr]


@pytest.mark.parametrize(("letters", "drawn"), [(1.45, True), (1.35, False)])
def test_rows_that_together_have_less_than_14_tenths_of_a_letter_are_not_drawn(
    room: Answers, letters: float, drawn: bool
) -> None:
    """Of the height words take what they take, a key of one row 1.6 × 0.86, and 2.4 and 4 stand
    around the rows."""
    result = [replace(room.progress, expected=())]
    low = replace(look("page"), height_in=0.5, tallest_in=1.7)
    words_in = around(low, title(result), notes(result), invented=False).height_in
    low = replace(low, tallest_in=words_in + (1.376 + 6.4 + letters) * low.em_in)
    figure = progress(result, low)
    assert (len(figure.axes) == 2) == drawn
