"""The chart of means: what its rows are, their names and temperatures, and what is told of them."""

import pytest
from matplotlib.axes import Axes
from msgspec.structs import replace

from rearlog.analysis.pooling.cohort_summary import CohortSummary
from rearlog.analysis.pooling.season import season
from rearlog.charts.means import ALL_TOGETHER, means, rows_of
from rearlog.charts.style import PAGE, Style, look
from tests.charts.conftest import line_of, parts, words
from tests.made_summaries import stage, summary

SLIDE = look("slide")
"""Of 7.5 in, a third for words, lines of 12 pt and a fifth leave room for 24 rows, one of them for
all together."""


def drawn(cohorts: list[CohortSummary], look: Style = PAGE) -> tuple[Axes, str]:
    figure = means(season(cohorts), look)
    (axes,) = figure.axes
    return axes, words(figure)


def labels(cohorts: list[CohortSummary], look: Style = PAGE) -> list[str]:
    return [each.get_text() for each in drawn(cohorts, look)[0].get_yticklabels()]


def some(count: int, **more: str) -> list[CohortSummary]:
    """So many cohorts alike, about 30 days each, the last first."""
    return [summary(f"c{n}", stage(30.5 - n / 100), **more) for n in range(count)]


def test_a_temperature_stands_behind_each_name_where_they_differ() -> None:
    warmth = (27.0, 22.04, 22.46, None)
    cohorts = [
        summary(f"c{n}", stage(28.0 + n, celsius=celsius)) for n, celsius in enumerate(warmth)
    ]
    assert labels(cohorts) == ["c0, 27 °C", "c1, 22 °C", "c2, 22.5 °C", "c3", "all together"]
    alike = [
        replace(each, stages=(replace(each.stages[0], celsius=22.0 + n / 100),))
        for n, each in enumerate(cohorts)
    ]
    assert labels(alike) == ["c0", "c1", "c2", "c3", "all together"]


@pytest.mark.parametrize("count", [1, 2, 4, 5])
def test_what_is_told_is_what_is_drawn(count: int) -> None:
    """One alone has no limits; of fewer than five it is not said where another would lie."""
    figure = means(season(some(count)))
    told = words(figure)
    assert ("with its 95 % limits" in told) == (count > 1)
    assert ("thin line" in told) == ("predicted" in parts(figure)) == (count == 5)
    assert "red" not in told
    corners = parts(figure)["together"].get_path().vertices  # type: ignore[attr-defined]
    assert (corners[0, 0] < corners[1, 0]) == (count > 1)
    if count == 5:
        best = season(some(count)).species[0].stage().best  # type: ignore[union-attr]
        ends = [best.predicted_low, best.predicted_high]
        assert line_of(figure, "predicted").get_xydata().tolist() == [[end, 5] for end in ends]


def test_red_is_told_where_a_row_is_red() -> None:
    figure = means(season([*some(9), summary("odd", stage(60.0))]))
    assert "Rows: 10 cohorts, red where one stands out." in words(figure)
    assert [name for name in parts(figure) if name.startswith("out-")] == ["out-9"]


def test_sites_stand_for_more_cohorts_than_there_is_room_for() -> None:
    """By their means, not by their names: the last site is the quickest."""
    sites = [
        replace(each, site=f"site {n % 4}", stages=(stage(32.0 - n % 4 + n / 1000),))
        for n, each in enumerate(some(24))
    ]
    by_site = ["site 3", "site 2", "site 1", "site 0", ALL_TOGETHER]
    assert labels(sites, SLIDE) == by_site
    assert "Rows: 4 sites, of 24 cohorts." in drawn(sites, SLIDE)[1]
    assert labels(sites[:23], SLIDE)[-2:] == ["c20", ALL_TOGETHER]
    assert len(labels(sites[:23], SLIDE)) == 24


def test_of_too_many_cohorts_at_no_site_those_are_shown_that_stand_out() -> None:
    odd = [summary(f"odd{n}", stage(50.0 + n)) for n in range(3)]
    figure = means(season([*some(30), *reversed(odd)]), SLIDE)
    assert labels([*some(30), *reversed(odd)], SLIDE) == ["odd0", "odd1", "odd2", ALL_TOGETHER]
    assert "Rows: 3 of 33 cohorts, which stand out." in words(figure)
    assert labels(some(30), SLIDE) == [ALL_TOGETHER]
    assert "Rows: none, since none of 30 cohorts stands out." in drawn(some(30), SLIDE)[1]


def test_of_too_many_that_stand_out_the_shortest_and_the_longest_are_shown() -> None:
    """Of five, in room for three: one from below, and two from the top; for four, two of each."""
    odd = [summary(f"at {days:g}", stage(days)) for days in (52.0, 10.0, 50.0, 8.0, 51.0)]
    found = season([*some(60), *odd])
    (species,) = found.species
    assert species.whole is not None
    rows, _ = rows_of(found, species, species.whole, 5)
    assert [row.name for row in rows] == ["at 8", "at 10", "at 50", "at 51", "at 52"]
    rows, told = rows_of(found, species, species.whole, 3)
    assert [row.name for row in rows] == ["at 8", "at 51", "at 52"]
    assert told == "Rows: 3 of 65 cohorts, which stand out."
    rows, _ = rows_of(found, species, species.whole, 4)
    assert [row.name for row in rows] == ["at 8", "at 10", "at 51", "at 52"]


@pytest.mark.parametrize(("most", "told"), [(4, "4 sites, of 24 cohorts"), (3, "none")])
def test_sites_are_shown_where_there_is_room_for_all_of_them(most: int, told: str) -> None:
    found = season([replace(each, site=f"site {n % 4}") for n, each in enumerate(some(24))])
    (species,) = found.species
    assert species.whole is not None
    rows, words = rows_of(found, species, species.whole, most)
    assert len(rows) == (4 if most == 4 else 0)
    assert words.startswith(f"Rows: {told}")


@pytest.mark.parametrize(("row", "letters"), [(1.1, 0.86), (0.96, 0.8)])
def test_names_are_as_small_as_rows_ask_for(row: float, letters: float) -> None:
    """A row of 1.2 letters holds one; names are not larger than 0.86."""
    figure = means(season(some(29)))
    usual = figure.get_figheight() - 30 * 1.8 * PAGE.em_in
    low = replace(PAGE, tallest_in=usual + 30 * row * PAGE.em_in)
    axes, _ = drawn(some(29), low)
    assert len(axes.get_yticks()) == 30
    assert axes.yaxis.get_tick_params()["labelsize"] / PAGE.text_pt == pytest.approx(letters)


def test_no_stage_takes_less_than_no_time() -> None:
    found = season(some(5))
    (species,) = found.species
    (whole,) = species.stages
    together = replace(whole.over_cohorts, predicted_low=-3.0, low=-1.0)
    wide = replace(species, stages=(replace(whole, over_cohorts=together),))
    figure = means(replace(found, species=(wide,)))
    assert line_of(figure, "predicted").get_xdata()[0] == 0
    assert parts(figure)["together"].get_path().vertices[0, 0] == 0  # type: ignore[attr-defined]
