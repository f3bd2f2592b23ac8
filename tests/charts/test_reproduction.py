"""The chart of life tables: its curves are the tables, its bands their limits."""

import pytest
from matplotlib.collections import PolyCollection
from matplotlib.lines import Line2D
from msgspec.structs import replace

from rearlog.analysis.reproduction.reproduction import Reproduction
from rearlog.analysis.stages.events import event_history
from rearlog.charts.palette import cohort_mark
from rearlog.charts.reproduction import ALIVE, EGGS, reproduction
from rearlog.charts.style import look
from rearlog.sentences.reproduction import notes, title
from tests.analysis.reproduction.laying_cohort import log_of
from tests.charts.conftest import parts, words


@pytest.fixture(scope="module")
def tiny() -> Reproduction:
    from rearlog.analysis.reproduction.reproduction import reproduction as worked_out

    log = log_of()
    return worked_out(log, event_history(log))


def several(result: Reproduction, count: int) -> list[Reproduction]:
    return [replace(result, cohort=f"c{n}") for n in range(count)]


def test_the_curves_are_the_life_table(tiny: Reproduction) -> None:
    drawn = parts(reproduction([tiny]))
    alive, eggs = drawn["alive-tiny"], drawn["eggs-tiny"]
    assert isinstance(alive, Line2D)
    assert isinstance(eggs, Line2D)
    assert [*alive.get_xdata()] == [day.x for day in tiny.life_table]
    assert [*alive.get_ydata()] == [day.l for day in tiny.life_table]
    assert [*eggs.get_xdata()] == [day.x + 0.5 for day in tiny.life_table]
    assert [*eggs.get_ydata()] == [day.m for day in tiny.life_table]


def test_the_bands_hold_the_limits(tiny: Reproduction) -> None:
    drawn = parts(reproduction([tiny]))
    for what, highest in (("alive", "l_high"), ("eggs", "m_high")):
        band = drawn[f"band-{what}-tiny"]
        assert isinstance(band, PolyCollection)
        heights = band.get_paths()[0].vertices[:, 1]
        assert heights.max() == pytest.approx(max(getattr(d, highest) for d in tiny.life_table))
        assert heights.min() == 0.0


def test_too_few_to_draw_from_have_no_band(tiny: Reproduction) -> None:
    days = tuple(
        replace(day, l_low=None, l_high=None, m_low=None, m_high=None) for day in tiny.life_table
    )
    drawn = parts(reproduction([replace(tiny, life_table=days)]))
    assert "alive-tiny" in drawn
    assert "band-alive-tiny" not in drawn


def test_panels_stand_beside_each_other_or_below_where_it_is_narrow(tiny: Reproduction) -> None:
    for size, beside in (("page", True), ("phone", False), ("column", False), ("slide", True)):
        figure = reproduction([tiny], look(size))
        figure.draw_without_rendering()
        alive, eggs = figure.axes
        assert (alive.get_title("left"), eggs.get_title("left")) == (ALIVE, EGGS)
        assert bool(alive.get_position().x0 < eggs.get_position().x0 - 0.2) is beside
        assert bool(alive.get_position().y0 > eggs.get_position().y0 + 0.2) is not beside
        assert alive.get_xlim() == eggs.get_xlim() == (0, len(tiny.life_table))
        assert alive.get_ylim() == (0.0, 1.04)
        assert eggs.get_ylim()[0] == 0.0
        assert alive.get_position().height * figure.get_figheight() * 72 > 7 * look(size).text_pt


def test_one_needs_no_key_and_of_several_each_is_named(tiny: Reproduction) -> None:
    assert len(reproduction([tiny]).axes) == 2
    figure = reproduction(several(tiny, 3))
    assert {"c0", "c1", "c2"} <= set(words(figure).splitlines())
    assert title(several(tiny, 3)) in words(figure)
    for n in range(3):
        line = parts(figure)[f"eggs-c{n}"]
        assert isinstance(line, Line2D)
        assert line.get_color() == cohort_mark(n).colour
        assert line.get_marker() == "none"


def test_of_many_the_bands_are_left_out_and_markers_tell_them_apart(tiny: Reproduction) -> None:
    assert "band-eggs-c3" in parts(reproduction(several(tiny, 4)))
    figure = reproduction(several(tiny, 5))
    drawn = parts(figure)
    assert "band-eggs-c4" not in drawn
    line = drawn["alive-c4"]
    assert isinstance(line, Line2D)
    assert line.get_marker() == cohort_mark(4).marker
    assert notes(several(tiny, 5), bands=False)[0] in words(figure)
    assert "Shaded" not in words(figure)


def test_invented_data_say_so(tiny: Reproduction) -> None:
    assert "invented data" in words(reproduction([tiny], invented=True))
    assert "invented data" not in words(reproduction([tiny]))


def test_each_curve_stands_in_its_panel_with_ticks_that_fit(tiny: Reproduction) -> None:
    figure = reproduction([tiny])
    drawn = parts(figure)
    alive, eggs = figure.axes
    assert drawn["alive-tiny"].axes is drawn["band-alive-tiny"].axes is alive
    assert drawn["eggs-tiny"].axes is drawn["band-eggs-tiny"].axes is eggs
    assert [*alive.get_yticks()] == pytest.approx([0, 0.2, 0.4, 0.6, 0.8, 1.0, 1.2])
    assert len([tick for tick in alive.get_xticks() if 0 <= tick <= 10]) == 6  # every other day
    low = reproduction(several(tiny, 80), look("slide"))
    assert [*low.axes[0].get_yticks()][:3] == [0, 0.5, 1]
    assert figure.get_figheight() == pytest.approx(look("page").height_in)
    for size in ("phone", "column"):
        own = look(size)
        figure = reproduction([tiny], own)
        assert own.height_in < figure.get_figheight() < own.tallest_in
        assert len([tick for tick in figure.axes[0].get_xticks() if 0 <= tick <= 10]) == 6


def test_long_names_are_cut_where_it_is_narrow(tiny: Reproduction) -> None:
    long = [
        replace(tiny, cohort=f"painted ladies {n} of the nursery by the window") for n in range(2)
    ]
    gids = [parts(reproduction(long, look(size))) for size in ("page", "phone")]
    wide, narrow = (
        max(len(name.removeprefix("alive-")) for name in each if name.startswith("alive-"))
        for each in gids
    )
    assert narrow <= 12 < wide


def test_a_day_with_one_limit_alone_has_no_band(tiny: Reproduction) -> None:
    days = tuple(replace(day, l_high=None, m_low=None) for day in tiny.life_table)
    assert not [
        name
        for name in parts(reproduction([replace(tiny, life_table=days)]))
        if name.startswith("band")
    ]


def test_what_does_not_fit_is_said(tiny: Reproduction) -> None:
    crowd = several(tiny, 60)
    assert "60 cohorts do not fit here" in words(
        reproduction(crowd, look("slide", large_text=True))
    )
