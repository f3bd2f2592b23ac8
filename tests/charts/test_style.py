"""Sizes, the date axis, and words that keep to their place."""

from collections.abc import Callable, Sequence
from datetime import date, datetime
from itertools import pairwise

import pytest
from matplotlib.figure import Figure
from matplotlib.text import Annotation
from msgspec.structs import replace

from rearlog.charts.durations import durations
from rearlog.charts.heat import heat
from rearlog.charts.keys import LineEnd, label_ends
from rearlog.charts.palette import INK, cohort_mark
from rearlog.charts.panels import panel_figure
from rearlog.charts.progress import progress
from rearlog.charts.stages import stages
from rearlog.charts.style import (
    LOOKS,
    PAGE,
    Style,
    around,
    date_axis,
    day_number,
    dress,
    frame,
    label_axes,
    look,
    new_figure,
    round_numbers,
    said,
    say_nothing_to_draw,
    wrapped,
    write,
)
from rearlog.charts.survival import survival
from rearlog.present.pictures import SIZES
from rearlog.records.errors import UsageError
from tests.charts.conftest import Answers, texts, words
from tests.charts.eyes import line_boxes

Draw = Callable[[Sequence[Answers], Style], Figure]
CHARTS: dict[str, Draw] = {
    "progress": lambda every, size: progress([e.progress for e in every], size, invented=True),
    "stages": lambda every, size: stages([e.stage_counts for e in every], size, invented=True),
    "durations": lambda every, size: durations([e.durations for e in every], size, invented=True),
    "heat": lambda every, size: heat(
        [e.heat for e in every],
        size,
        stage_counts=[e.stage_counts for e in every],
        invented=True,
    ),
    "survival": lambda every, size: survival([e.survival for e in every], size, invented=True),
}
SOME = [look("page"), look("slide"), look("poster"), look("slide", large_text=True)]


@pytest.mark.parametrize("size", SOME, ids=["page", "slide", "poster", "large"])
@pytest.mark.parametrize("kind", CHARTS)
def test_words_lie_within_the_picture_and_those_on_an_axis_do_not_touch(
    kind: str, size: Style, room: Answers, shelf: Answers
) -> None:
    figure = CHARTS[kind]([room, shelf], size)
    drawn = texts(figure)
    for text in drawn:
        box = text.get_window_extent()
        assert min(box.x0, box.y0) >= -1, text.get_text()
        assert box.x1 <= figure.bbox.x1 + 1, text.get_text()
        assert box.y1 <= figure.bbox.y1 + 1, text.get_text()
    for axes in figure.axes:
        ticks = [label for label in axes.get_xticklabels() if label in drawn]
        boxes = [label.get_window_extent() for label in ticks]
        assert all(one.x1 < other.x0 for one, other in pairwise(boxes))


def test_looks_are_as_large_as_what_they_are_for() -> None:
    """Width, usual and greatest height (360 px are 3.75 in; columns of 85 and 175 mm, 230 mm high),
    then letters, lines and the smallest letters in points."""
    mm = 1 / 25.4
    sizes = {
        "phone": (3.75, 10 / 3, 50 / 3, 9.5, 1.2, 7.5),
        "column": (85 * mm, 75 * mm, 230 * mm, 8.0, 1.0, 6.0),
        "double": (175 * mm, 115 * mm, 230 * mm, 8.5, 1.1, 6.0),
        "page": (7.0, 4.6, 10.2, 9.0, 1.2, 6.0),
        "slide": (13.33, 7.5, 7.5, 18.0, 2.4, 12.0),
        "poster": (16.5, 11.7, 23.4, 26.0, 3.4, 16.0),
    }
    assert list(LOOKS) == list(sizes)
    for name, expected in sizes.items():
        own = LOOKS[name]
        told = (own.width_in, own.height_in, own.tallest_in, own.text_pt, own.line_pt, own.least_pt)
        assert told == pytest.approx(expected)
    assert {name for name, own in LOOKS.items() if own.narrow} == {"phone", "column"}


@pytest.mark.parametrize("kind", CHARTS)
def test_invented_data_say_so_beside_the_notes(kind: str, room: Answers) -> None:
    figure = CHARTS[kind]([room], PAGE)
    found = {text.get_text(): line_boxes(text) for text in texts(figure)}
    notes = figure.get_supxlabel()
    assert notes in found
    (corner,) = found["invented data"]
    assert not any(corner.overlaps(line) for line in found[notes])


def test_real_data_do_not_say_invented(room: Answers) -> None:
    assert "invented" not in words(stages([room.stage_counts]))


def test_large_text_is_a_third_larger_and_other_sizes_are_refused() -> None:
    assert look("page", large_text=True).text_pt == pytest.approx(1.3 * look("page").text_pt)
    with pytest.raises(UsageError, match="phone, column, double, page, slide, poster"):
        look("banner")


def test_every_size_can_be_asked_for() -> None:
    assert tuple(LOOKS) == SIZES


def test_sizes_are_those_of_what_they_are_for() -> None:
    phone = look("phone")
    assert phone.width_in * 96 == pytest.approx(360)  # CSS px, of which 96 are an inch
    assert phone.least_pt / 72 * 96 >= 9
    millimetres = [look(size).width_in * 25.4 for size in ("column", "double")]
    assert millimetres == pytest.approx([85, 175])
    assert all(each.least_pt <= each.small_pt <= each.text_pt for each in LOOKS.values())
    assert {name: (each.text_pt, each.least_pt) for name, each in LOOKS.items()} == {
        "phone": (9.5, 7.5),  # 7.5 pt are 10 px
        "column": (8, 6),  # what journals ask for: not below 6 pt
        "double": (8.5, 6),
        "page": (9, 6),
        "slide": (18, 12),  # read from the back of a room
        "poster": (26, 16),
    }


@pytest.mark.parametrize(
    ("days", "first_labels"),
    [
        (4, ["9 Mar", "10 Mar", "11 Mar"]),
        (40, ["9 Mar", "16 Mar", "23 Mar"]),  # Mondays
        (400, ["9 Mar", "4 May", "29 Jun"]),
    ],
)
def test_the_date_axis_labels_as_many_days_as_fit(days: int, first_labels: list[str]) -> None:
    axes = new_figure(PAGE).subplots()
    first = float(date(2026, 3, 9).toordinal())
    date_axis(axes, PAGE, first, first + days, PAGE.width_in)
    assert [label.get_text() for label in axes.get_xticklabels()][:3] == first_labels
    assert "2026" in axes.get_xlabel()
    assert ("Mondays" in axes.get_xlabel()) == (days > 30)


@pytest.mark.parametrize("heights", [(0.2, 0.97, 0.98, 0.99), (0.0, 0.01, 0.02, 0.9)])
def test_names_at_the_ends_of_lines_keep_apart_in_order_and_beside_the_axes(
    heights: tuple[float, ...],
) -> None:
    figure = new_figure(PAGE)
    axes = figure.subplots()
    axes.set_ylim(0.0, 1.0)
    ends = [LineEnd(y, f"at {y}", cohort_mark(n)) for n, y in enumerate(reversed(heights))]
    label_ends(axes, ends, PAGE, 0.8 * PAGE.height_in)
    boxes = {text.get_text(): text.get_window_extent() for text in texts(figure)}
    named = [boxes[f"at {y}"] for y in heights]
    assert all(below.y1 <= above.y0 for below, above in pairwise(named))
    middles = [(box.y0 + box.y1) / 2 for box in named]
    assert axes.bbox.y0 - 2 <= middles[0]
    assert middles[-1] <= axes.bbox.y1 + 2


def test_names_that_look_like_formulas_are_shown_as_they_are(room: Answers) -> None:
    figure = new_figure(PAGE)
    axes = figure.subplots()
    axes.set_ylim(0.0, 1.0)
    label_ends(axes, [LineEnd(0.5, "a$b$c", cohort_mark(0))], PAGE, 4.0)
    assert "a$b$c" in words(figure)
    assert not next(t for t in texts(figure) if t.get_text() == "a$b$c").get_parse_math()


@pytest.mark.parametrize(("days", "marked"), [(4, 5), (40, 41), (400, 0)])
def test_every_day_has_a_small_tick_where_days_are_far_enough_apart(days: int, marked: int) -> None:
    axes = new_figure(PAGE).subplots()
    first = date(2026, 3, 9).toordinal()
    date_axis(axes, PAGE, first, first + days, PAGE.width_in)
    ticks = [day for line in axes.lines for day in line.get_xdata()]
    assert ticks == [first + each for each in range(marked)]


def test_a_moment_is_its_day_and_the_part_of_it() -> None:
    """6 h 36 min 36 s are 0.275416… of a day: 23796 of 86400 seconds."""
    monday = date(2026, 3, 9).toordinal()
    assert day_number(datetime(2026, 3, 9, 6, 36, 36)) - monday == pytest.approx(23796 / 86400)


@pytest.mark.parametrize(("room", "labels"), [(10.0, 10), (9.95, 5), (5.0, 5), (4.95, 2)])
def test_a_date_takes_so_much_of_the_width(room: float, labels: int) -> None:
    """Ten days from Monday 9 to Wednesday 18 March; a date takes 4.6 letters: there is room for
    all of them, for every second, or for the Mondays alone, the 9th and the 16th."""
    axes = new_figure(PAGE).subplots()
    first = float(date(2026, 3, 9).toordinal())
    date_axis(axes, PAGE, first, first + 8.5, room * 4.6 * PAGE.small_pt * 1.0001 / 72)
    assert len(axes.get_xticklabels()) == labels


@pytest.mark.parametrize("step", [1, 2, 7, 14, 28, 56, 112, 224, 448])
def test_named_dates_lie_a_few_steps_apart(step: int) -> None:
    """There is room for twelve: in twelve steps there are as many, a day more takes the next step,
    beyond the last of which more are named than there is room for."""
    width_in = 12 * 4.6 * PAGE.small_pt * 1.0001 / 72
    following = dict(pairwise([1, 2, 7, 14, 28, 56, 112, 224, 448, 448]))[step]
    for days, apart in ((12 * step, step), (12 * step + 1, following)):
        axes = new_figure(PAGE).subplots()
        first = date(2026, 3, 9).toordinal()
        date_axis(axes, PAGE, first, first + days - 2, width_in)
        named = [int(day) - first for day in axes.get_xticks()]
        assert named[:3] == [0, apart, 2 * apart]
        small = [day for line in axes.lines for day in line.get_xdata()]
        assert bool(small) == (apart < 28)
        assert ("Mondays" in axes.get_xlabel()) == (apart >= 7)


def test_a_label_stands_at_its_point_in_ink_unless_it_is_told_otherwise() -> None:
    label = write(new_figure(PAGE).subplots(), (0.5, 0.25), "here", 7.0)
    assert (label.xy, label.get_position()) == ((0.5, 0.25), (0.0, 0.0))
    assert (label.get_ha(), label.get_va(), label.get_color()) == ("left", "center", INK)
    assert label.get_fontstyle() == "normal"
    assert label.get_in_layout()


def letters_of(look: Style, size_pt: float) -> int:
    """How many letters, 0.57 of their size wide, a line below a chart holds."""
    return int((look.width_in * 72 - 2 * look.text_pt) / (0.57 * size_pt))


@pytest.mark.parametrize("size", ["phone", "page", "slide"])
def test_invented_data_stands_beside_the_last_note_or_below_it(size: str) -> None:
    """Two letters are free between them; a line more makes the words 1.2 of its letters higher."""
    own = look(size)
    room = letters_of(own, own.small_pt) - len("  invented data")
    beside = around(own, "Title", ["x" * room], invented=True)
    below = around(own, "Title", ["x" * (room + 1)], invented=True)
    assert beside.notes == "x" * room
    assert below.notes == "x" * (room + 1) + "\n "
    assert (below.height_in - beside.height_in) * 72 == pytest.approx(1.2 * own.small_pt)
    assert around(own, "Title", ["x" * (room + 1)], invented=False).notes == "x" * (room + 1)


def test_notes_of_more_than_a_tenth_of_the_height_are_smaller() -> None:
    """A page has 734.4 pt: seven lines of 1.2 × 7.74 pt are less than a tenth, eight are more."""
    line = "x" * letters_of(PAGE, PAGE.small_pt)
    seven, eight = (around(PAGE, "Title", [line] * n, invented=False) for n in (7, 8))
    assert (seven.notes_pt, eight.notes_pt) == (PAGE.small_pt, PAGE.least_pt)
    height = 1.2 * (1.3 * 9 + 7 * 0.86 * 9) + 2.4 * 9
    assert seven.height_in * 72 == pytest.approx(height)


def test_a_title_of_more_than_two_lines_is_smaller() -> None:
    two, three = (around(PAGE, "longer " * n, invented=False) for n in (12, 24))
    assert (two.title.count("\n"), two.title_pt) == (1, PAGE.title_pt)
    assert three.title_pt == PAGE.text_pt
    assert two.notes == " "
    assert two.height_in * 72 == pytest.approx(1.2 * (2 * 1.3 * 9 + 0.86 * 9) + 2.4 * 9)


def test_no_words_around_a_chart_are_a_formula() -> None:
    figure = new_figure(PAGE)
    axes = figure.subplots()
    label_axes(axes, PAGE, y="a$b$c")
    write(axes, (0.5, 0.5), "a$b$c", 7.0)
    frame(figure, PAGE, around(PAGE, "a$b$c", ["a$b$c"], invented=True))
    found = [text for text in texts(figure) if "$" in text.get_text()]
    assert len(found) == 4
    assert not any(text.get_parse_math() for text in found)


@pytest.mark.parametrize("grid", ["x", "y", None])
def test_hairlines_run_below_what_is_drawn_from_the_numbers_of_one_axis(grid: str | None) -> None:
    axes = new_figure(PAGE).subplots()
    dress(axes, PAGE, grid=grid)
    for name, axis in (("x", axes.xaxis), ("y", axes.yaxis)):
        assert {line.get_visible() for line in axis.get_gridlines()} == {name == grid}
    assert axes.get_axisbelow() is True
    assert [side for side, spine in axes.spines.items() if spine.get_visible()] == ["bottom"]
    lengths = [axis.get_tick_params()["length"] / 9 for axis in (axes.xaxis, axes.yaxis)]
    assert lengths == [0.35, 0]


@pytest.mark.parametrize(("width_in", "lines"), [(None, 1), (3.0, 2)])
def test_a_sentence_in_a_panel_breaks_at_85_of_100_of_its_width(
    width_in: float | None, lines: int
) -> None:
    """Of 7 in are 83 letters, of 3 in 35; they begin at the left, in the middle of the height."""
    axes = new_figure(PAGE).subplots()
    say_nothing_to_draw(axes, PAGE, "x" * 35 + " " + "x" * 29, width_in)
    (text,) = axes.texts
    assert isinstance(text, Annotation)
    assert text.get_text().count("\n") + 1 == lines
    assert text.xy == (0.0, 0.5)
    say_nothing_to_draw(axes, PAGE, "x" * 41 + " " + "x" * 41)
    assert "\n" not in axes.texts[1].get_text()


def test_a_word_that_is_wider_than_a_title_may_be_has_its_line() -> None:
    assert around(PAGE, "x" * 99, invented=False).title == "x" * 99
    assert around(PAGE, f"a {'x' * 99} b", invented=False).title == f"a\n{'x' * 99}\nb"


@pytest.mark.parametrize(("invented", "lines"), [(False, 0), (True, 1)])
def test_a_bare_chart_keeps_room_for_what_is_invented_alone(invented: bool, lines: int) -> None:
    """And 1.2 of its letters beside the axes."""
    own = look("column", bare=True)
    found = around(own, "Title", ["Note"], invented=invented)
    assert (found.title, found.notes) == ("", " " * lines)
    assert found.height_in * 72 == pytest.approx(1.2 * own.text_pt + lines * 1.2 * own.small_pt)


@pytest.mark.parametrize(
    ("panels", "axes", "high"),
    [(1, None, 24.376), (2, None, 13.404), (2, 1, 15.404), (4, 1, 15.494)],
)
def test_panels_have_what_words_and_axes_leave_of_the_usual_height(
    panels: int, axes: int | None, high: float
) -> None:
    """A page is 36.8 letters high, for more panels 0.62 times as high for each; words take 6.024,
    each panel 2.4 above it, each axis 4: (2 × 0.62 × 36.8 − 6.024 − 12.8) / 2 = 13.404. Of four a
    page is as high as it may be, 81.6: (81.6 − 6.024 − 13.6) / 4."""
    words = around(PAGE, "Title", ["x" * 90] * 2, invented=False)
    assert words.height_in / PAGE.em_in == pytest.approx(6.024)
    room = panel_figure(PAGE, words, 0.0, panels, axes)
    assert room is not None
    assert room[1] / PAGE.em_in == pytest.approx(high, abs=0.001)
    keyed = panel_figure(PAGE, words, 0.25, panels, axes)  # the key comes on top of it
    assert keyed is not None
    assert (keyed[1] == room[1]) == (panels < 4)
    more = keyed[0].get_figheight() - room[0].get_figheight()
    assert more == pytest.approx(0.25 if panels < 4 else 0.0)


def test_panels_are_nine_letters_high_or_what_is_left_but_not_less_than_three() -> None:
    words = around(PAGE, "Title", invented=False)
    em = PAGE.em_in
    beside = words.height_in + 6.4 * em
    for left, high in ((30.0, 9.0), (9.5, 9.0), (8.0, 8.0), (3.01, 3.01)):
        own = replace(PAGE, height_in=1.0, tallest_in=beside + 0.5 + left * em)
        room = panel_figure(own, words, 0.5)
        assert room is not None
        assert room[1] / em == pytest.approx(high)
        assert room[0].get_figheight() == pytest.approx(beside + 0.5 + high * em)
    own = replace(PAGE, height_in=1.0, tallest_in=beside + 0.5 + 2.99 * em)
    assert panel_figure(own, words, 0.5) is None


@pytest.mark.parametrize(
    ("across", "up", "numbers"),
    [(1.0, 1.0, (1, 1)), (10.1, 4.1, (2, 2)), (24.9, 9.9, (4, 4)), (99.0, 99.0, (8, 8))],
)
def test_numbers_stand_five_letters_apart_and_two_above_each_other(
    across: float, up: float, numbers: tuple[int, int]
) -> None:
    """No more than eight: from 0 to so many in steps of one, one each."""
    axes = new_figure(PAGE).subplots()
    axes.set(xlim=(0, numbers[0]), ylim=(0, numbers[1]))
    round_numbers(axes.xaxis, PAGE, across * PAGE.em_in, whole=True)
    round_numbers(axes.yaxis, PAGE, up * PAGE.em_in)
    assert len(axes.get_xticks()) == numbers[0] + 1
    axes.set(xlim=(0, 1.01 * numbers[0]))
    within = [tick for tick in axes.get_xticks() if tick <= 1.01 * numbers[0]]
    assert len(within) <= numbers[0] + 1
    assert len([tick for tick in axes.get_yticks() if tick <= numbers[1]]) == numbers[1] + 1


def test_of_animals_there_are_no_halves() -> None:
    axes = new_figure(PAGE).subplots()
    for whole in (True, False):
        round_numbers(axes.yaxis, PAGE, PAGE.height_in, whole=whole)
        axes.set_ylim(0, 2)
        assert all(tick == int(tick) for tick in axes.get_yticks()) == whole


def test_a_text_breaks_where_its_width_ends_but_never_before_twelve_letters() -> None:
    """3 in are 216 pt, 42 letters of 0.57 times 9 pt: eight words of four letters have 39."""
    lines = wrapped("word " * 20, 9.0, 3.0).split("\n")
    assert [len(line) for line in lines] == [39, 39, 19]
    assert wrapped("word " * 4, 9.0, 0.1).split("\n") == ["word word", "word word"]


def test_a_sentence_in_place_of_a_drawing_has_room_for_its_lines() -> None:
    """A phone is 270 pt wide: 42 letters of 0.57 times 9.5 pt in 0.85 of it. Words take 1.2 times
    (1.15 for the title and 0.86 for the notes), and 2.4; the lines 1.2 each, and 4."""
    phone = look("phone")
    for sentence, lines in (("word", 1), ("word " * 8 * 20, 20)):
        figure = said(phone, "Title", sentence, ["Note."], invented=False)
        high = 1.2 * (1.15 + 0.86) + 2.4 + 1.2 * lines + 4
        least = 0.6 * 320 / 96 * 72 / 9.5
        assert figure.get_figheight() * 72 / 9.5 == pytest.approx(max(least, high))
