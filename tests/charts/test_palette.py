"""Colours that stay apart in grey print, and text that can be read on them."""

from itertools import pairwise

import pytest

from rearlog.charts.palette import (
    COHORTS,
    FATES,
    CohortMark,
    cohort_mark,
    lightness,
    stage_colours,
    text_on,
)

USUAL = ("egg", "L1", "L2", "L3", "L4", "L5", "pupa", "adult")


def test_lightness_of_known_colours() -> None:
    # sRGB #777777 is the middle grey of CIE L* 50; sRGB red is L* 53.24 (CIE 15, common practice)
    assert lightness("#777777") == pytest.approx(50.0, abs=0.1)
    assert lightness("#ff0000") == pytest.approx(53.24, abs=0.05)
    # ((15/255 + 0.055)/1.055)^2.4 = 0.00478, times 24389/27 (by hand)
    assert lightness("#0f0f0f") == pytest.approx(4.32, abs=0.01)
    assert (lightness("black"), lightness("white")) == (0, pytest.approx(100))
    # the primaries by their luminance: 116 × 0.2126^(1/3) − 16 and so on (by hand)
    for colour, part in (("#ff0000", 0.2126), ("#00ff00", 0.7152), ("#0000ff", 0.0722)):
        assert lightness(colour) == pytest.approx(116 * part ** (1 / 3) - 16, abs=1e-9)
    # of 10 and 11 of 255 the one lies on the straight piece of sRGB and the other above it; of 23
    # and 24 the one on that of L*: 24389/27 = 903.296 times the luminance
    straight = 24389 / 27
    for value, linear in ((10, 10 / 255 / 12.92), (11, ((11 / 255 + 0.055) / 1.055) ** 2.4)):
        colour = f"#{value:02x}{value:02x}{value:02x}"
        assert lightness(colour) == pytest.approx(straight * linear, rel=1e-9)
    for value, curved in ((23, False), (24, True), (30, True)):
        colour = f"#{value:02x}{value:02x}{value:02x}"
        linear = ((value / 255 + 0.055) / 1.055) ** 2.4
        found = 116 * linear ** (1 / 3) - 16 if curved else straight * linear
        assert lightness(colour) == pytest.approx(found, rel=1e-9)


def test_stages_darken_from_one_to_the_next() -> None:
    steps = [lightness(colour) for colour in stage_colours(USUAL).values()]
    assert all(before - after > 6 for before, after in pairwise(steps))


@pytest.mark.parametrize("instars", [1, 3, 6, 20])
def test_any_number_of_instars_darkens(instars: int) -> None:
    stages = ("egg", *(f"L{n}" for n in range(1, instars + 1)), "prepupa", "pupa", "adult")
    steps = [lightness(colour) for colour in stage_colours(stages).values()]
    assert steps == sorted(steps, reverse=True)
    assert len(set(steps)) == len(stages)


def test_instars_run_from_the_colour_of_the_youngest_to_that_of_the_oldest() -> None:
    """The one in the middle has the mean of both: (213 + 58)/2, (224 + 118)/2 and (144 + 84)/2."""
    assert stage_colours(("L1",)) == {"L1": "#d5e090"}
    assert stage_colours(("L1", "L2")) == {"L1": "#d5e090", "L2": "#3a7654"}
    three = stage_colours(("L1", "L2", "L3"))
    assert list(three.values())[::2] == ["#d5e090", "#3a7654"]
    middle = [int(three["L2"][place : place + 2], 16) for place in (1, 3, 5)]
    assert middle == pytest.approx([135.5, 171, 114], abs=0.5)


def luminance(colour: str) -> float:
    """Relative luminance from lightness, by the inverse of its definition."""
    value = lightness(colour)
    return ((value + 16) / 116) ** 3 if value > 8 else value * 27 / 24389


def test_stage_names_can_be_read_on_their_colours() -> None:
    for colour in stage_colours(USUAL).values():
        bright, dark = sorted((luminance(colour), luminance(text_on(colour))), reverse=True)
        # 3 : 1 is the least contrast of large text and graphics in WCAG 2.2 (1.4.3, 1.4.11)
        assert (bright + 0.05) / (dark + 0.05) >= 3


def test_the_first_cohorts_differ_in_grey_and_no_two_are_drawn_alike() -> None:
    first = sorted(lightness(mark.colour) for mark in COHORTS[:3])
    assert all(after - before > 15 for before, after in pairwise(first))
    assert len({cohort_mark(place) for place in range(36)}) == 36


def test_fates_differ_by_their_shape() -> None:
    assert len({mark.marker for mark in FATES.values()}) == len(FATES) == 3


def test_the_marks_of_cohorts_in_their_order() -> None:
    """The first six are those that are listed; the next six have their colours, the dash of the
    next and the marker of the next but one, and so on."""
    solid, dashed, dotted = "solid", (0, (5.0, 1.6)), (0, (1.2, 1.2))
    assert [cohort_mark(place) for place in (0, 1, 2)] == [
        CohortMark("#1f3a5f", solid, "o"),
        CohortMark("#a8431d", dashed, "s"),
        CohortMark("#b5830c", dotted, "^"),
    ]
    assert cohort_mark(6) == CohortMark("#1f3a5f", dashed, "^")
    assert cohort_mark(7) == CohortMark("#a8431d", dotted, "D")
    assert cohort_mark(11) == CohortMark("#5b93c0", solid, "s")
    assert cohort_mark(12) == CohortMark("#1f3a5f", dotted, "v")


def test_no_dash_can_be_taken_for_another() -> None:
    """A line whole, in strokes, in dots, with one dot and with two between strokes, in long ones:
    each begins with a stroke of its own length, in times of the line's width."""
    patterns = [each.dash[1] for each in COHORTS if each.dash != "solid"]
    assert [len(each) for each in patterns] == [2, 2, 4, 6, 2]
    assert [each[0] for each in patterns] == [5.0, 1.2, 7.0, 3.0, 9.0]
    assert all(1.0 <= part <= 1.6 for each in patterns[:4] for part in each[1:])
    assert patterns[4][1] == 2.5
