"""Lanes above panels: how high they are, and when there is room for them."""

import pytest
from matplotlib.figure import Figure
from msgspec.structs import replace

from rearlog.analysis.stages.progress import ExpectedEvent
from rearlog.charts.lanes import Lanes, lanes, room_for_lanes
from rearlog.charts.style import PAGE
from tests.charts.conftest import only

SMALL = 0.86 * 9
"""The size of small letters on a page, in points."""
EVENT = only(ExpectedEvent, event="hatch", stage="L1", earliest=1.0, latest=2.0)


@pytest.mark.parametrize("count", [1, 3])
def test_lanes_have_room_where_they_take_less_than_45_of_100_of_it(count: int) -> None:
    """Without names a lane is half a small letter high; 0.3 of one are above the panel."""
    takes = (count + 0.3) * 0.5 * SMALL
    events = (EVENT,) * count
    assert room_for_lanes(PAGE, events, takes / 0.449)
    assert not room_for_lanes(PAGE, events, takes / 0.451)
    given = replace(PAGE, onto=(Figure().subplots(),))
    assert not room_for_lanes(given, events, takes / 0.449)
    assert not room_for_lanes(given, (), 999.0)


@pytest.mark.parametrize("count", [1, 3])
def test_lanes_are_named_where_they_take_less_than_three_tenths_then(count: int) -> None:
    """With names a lane is 1.2 small letters high."""
    events = (EVENT,) * count
    named = lanes(PAGE, events, count * 1.2 * SMALL / 0.299)
    assert (named.events, named.named, named.lane_pt) == (events, True, 1.2 * SMALL)
    assert named.height_pt == pytest.approx((count + 0.3) * 1.2 * SMALL)
    bare = lanes(PAGE, events, count * 1.2 * SMALL / 0.301)
    assert (bare.events, bare.named, bare.lane_pt) == (events, False, 0.5 * SMALL)
    assert bare.height_pt == pytest.approx((count + 0.3) * 0.5 * SMALL)


def test_no_lanes_take_no_height() -> None:
    assert Lanes((), named=True, lane_pt=9.0).height_pt == 0
