"""The stages chart: layers that add up to the cohort, each with its name in it."""

import pytest
from matplotlib.patches import StepPatch
from matplotlib.text import Annotation
from msgspec.structs import replace

from rearlog.charts.stages import roomiest, stages
from rearlog.charts.style import PAGE, around
from rearlog.sentences.stage_counts import alt_text, notes, title
from tests.charts.conftest import Answers, parts, small_cohort, texts, words


def layers(room: Answers) -> dict[str, StepPatch]:
    drawn = parts(stages([room.stage_counts]))
    return {
        name.removeprefix("layer-room-"): each
        for name, each in drawn.items()
        if isinstance(each, StepPatch)
    }


def test_layers_show_the_counts_and_add_up(room: Answers) -> None:
    days = room.stage_counts.days
    total = [0] * len(days)
    for name, layer in layers(room).items():
        values, edges, baseline = layer.get_data()
        heights = (values - baseline).tolist()
        if name in room.stage_counts.stages:
            rank = room.stage_counts.stages.index(name)
            assert heights == [day.in_stage[rank] for day in days]
        assert edges[0] == days[0].date.toordinal()
        assert len(edges) == len(days) + 1
        total = [before + height for before, height in zip(total, heights, strict=True)]
    assert total == [room.stage_counts.n] * len(days)


def test_the_dead_are_at_the_top_and_hatched(room: Answers) -> None:
    found = layers(room)
    assert list(found)[-1] == "dead"
    assert found["dead"].get_data().values.tolist()[-1] == room.stage_counts.n
    assert {found[fate].get_hatch() for fate in ("dead", "lost", "removed")} == {"xx", "//", "--"}
    assert found["egg"].get_hatch() is None


def test_each_name_lies_in_its_layer(room: Answers) -> None:
    figure = stages([room.stage_counts])
    named = {text.get_text(): text for text in figure.axes[0].texts if isinstance(text, Annotation)}
    drawn = layers(room)
    assert {"egg", "L1", "L2", "pupa", "dead"} <= set(named) & set(drawn)
    for name, layer in drawn.items():
        if name not in named:
            continue
        day, height = named[name].xy
        values, edges, baseline = layer.get_data()
        inside = [
            low <= height <= high
            for low, high, left, right in zip(baseline, values, edges, edges[1:], strict=False)
            if left - 0.01 <= day <= right + 0.01
        ]
        assert any(inside), name


def test_a_name_without_room_stands_in_the_key_alone() -> None:
    # one adult a day, taken out on the next: no two days have an adult at the same height
    lives = {str(n): " ".join(["pupa"] * n + ["adult", "removed"]) for n in range(1, 29)}
    figure = stages([small_cohort("row", lives).stage_counts])
    read = words(figure).splitlines()
    assert (read.count("adult"), read.count("pupa")) == (1, 2)


def test_titles(room: Answers, shelf: Answers) -> None:
    # 4 was adult at the look of day 11, 20 March, and 1 at that of day 12
    assert title([room.stage_counts]) == "2 of 5 became adult, half of these by 20 Mar"
    both = title([room.stage_counts, shelf.stage_counts])
    came = "room 20 Mar (2 of 5), shelf 17 Mar (3 of 3)"
    assert both == f"Half of the adults came by: {came}"
    assert both in alt_text([room.stage_counts, shelf.stage_counts])


def test_half_of_them_came_when_the_layer_shows_so_many() -> None:
    # a look a day: one adult on 12 March, two more on the 13th, the last two on the 14th
    lives = {
        "1": "pupa pupa pupa adult",
        "2": "pupa pupa pupa pupa adult",
        "3": "pupa pupa pupa pupa adult",
        "4": "pupa pupa pupa pupa pupa adult",
        "5": "pupa pupa pupa pupa pupa adult",
    }
    cups = small_cohort("cups", lives).stage_counts
    assert title([cups]) == "5 of 5 became adult, half of these by 13 Mar"
    assert title([cups, cups]).startswith("Half of the adults came by: cups 13 Mar (5 of 5)")
    one = small_cohort("one", {"1": "pupa pupa adult"}).stage_counts
    assert title([one]) == "1 of 1 became adult, by 11 Mar"


@pytest.mark.parametrize(
    ("lives", "finding"),
    [
        ({"1": "egg L1", "2": "egg egg"}, "On 10 Mar: 1 in egg, 1 in L1"),
        ({"1": "egg dead", "2": "egg dead"}, "None was left on 10 Mar: 2 of 2 died"),
        ({}, "small has no individuals yet"),
    ],
)
def test_titles_without_adults(lives: dict[str, str], finding: str) -> None:
    result = small_cohort("small", lives).stage_counts
    assert title([result]) == finding
    assert finding in words(stages([result]))


def test_several_cohorts_without_adults() -> None:
    young = small_cohort("young", {"1": "egg L1"}).stage_counts
    assert title([young, young]) == "No adults yet in young and young"


def test_a_name_lies_in_its_layer_also_in_a_log_of_two_days() -> None:
    young = small_cohort("young", {str(n): "egg L1" for n in range(9)})
    figure = stages([young.stage_counts])
    egg = next(text for text in texts(figure) if text.get_text() == "egg")
    day, height = egg.xy  # type: ignore[attr-defined]
    first, last = figure.axes[0].get_xlim()
    assert first <= day <= last
    assert 0 < height < 9


@pytest.mark.parametrize(
    ("days", "day", "height", "room"),
    [
        (1, 3.5, 6.0, 8),  # on the fourth day from 2 to 10
        (2, 3.0, 5.0, 6),  # the third and the fourth: from 2 to 8, as high as the lower of them
        (3, 2.5, 5.5, 5),  # the second to the fourth: from 3 to 8
        (4, 3.0, 4.5, 3),  # the second to the fifth: from 3 to 6
        (5, 2.5, 4.0, 2),  # all: from 3 to 5
        (9, 2.5, 4.0, 2),  # there are no more
    ],
)
def test_a_name_stands_where_a_layer_is_highest_over_so_many_days(
    days: int, day: float, height: float, room: int
) -> None:
    below, above = [1, 3, 2, 2, 1], [5, 8, 8, 10, 6]
    assert roomiest(below, above, days) == (day, height, room)


def test_of_several_places_with_as_much_room_it_is_the_middle_one() -> None:
    assert roomiest([0] * 5, [4] * 5, 1) == (2.5, 2.0, 4)
    assert roomiest([0] * 5, [4] * 5, 2) == (3.0, 2.0, 4)
    assert roomiest([0, 0, 3, 0], [4, 4, 4, 4], 1) == (1.5, 2.0, 4)


@pytest.mark.parametrize(("letters", "drawn"), [(1.45, True), (1.35, False)])
def test_layers_of_less_than_14_tenths_of_a_letter_are_not_drawn(
    room: Answers, letters: float, drawn: bool
) -> None:
    """Of the height words take what they take, a key of one row 1.6 × 0.86, and 2.4 and 4 stand
    around the panel."""
    result = [replace(room.stage_counts, expected=())]
    low = replace(PAGE, height_in=0.5, tallest_in=1.7)
    words_in = around(low, title(result), notes(result), invented=False).height_in
    low = replace(low, tallest_in=words_in + (1.376 + 6.4 + letters) * PAGE.em_in)
    figure = stages(result, low)
    assert (len(figure.axes) == 2) == drawn
    if drawn:
        grid = figure.axes[0].get_gridspec()
        assert grid is not None
        assert grid.get_height_ratios()[0] * 72 / 9 == pytest.approx(letters)
