"""The chart of parts against sizes: who is named, and how large a mark is."""

import numpy as np
import pytest
from matplotlib.collections import PathCollection

from rearlog.analysis.pooling.season import season
from rearlog.charts.funnel import funnel
from rearlog.charts.style import PAGE
from tests.charts.conftest import parts, words
from tests.made_summaries import summary


@pytest.mark.parametrize(("count", "named"), [(8, 8), (9, 0)])
def test_no_more_than_eight_that_stand_out_are_named(count: int, named: int) -> None:
    """Of ninety cohorts 16 of 20 came through, of the others 2 each."""
    usual = [summary(f"c{n}", reached=16, gone=4) for n in range(90)]
    odd = [summary(f"odd{n}", reached=2, gone=18) for n in range(count)]
    figure = funnel(season([*usual, *odd]))
    assert sum(line.startswith("odd") for line in words(figure).splitlines()) == named
    sizes = {}
    for name in ("cohorts", "out"):
        marks = parts(figure)[name]
        assert isinstance(marks, PathCollection)
        (sizes[name],) = marks.get_sizes()
    # the largest has three times the area of half a letter, others by the root of their number
    assert sizes["cohorts"] == pytest.approx(3 * (0.5 * PAGE.text_pt) ** 2)
    assert sizes["out"] / sizes["cohorts"] == pytest.approx(np.sqrt(count / 90))
