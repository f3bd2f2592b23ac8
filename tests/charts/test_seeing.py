"""What carries meaning can be seen: on its ground, in grey, and with any kind of colour vision.

Rule: no two of twelve cohorts share both dash and marker; the first three differ in colour too, by
at least 12 (CIE76) for each kind of vision and in grey. Stages that follow each other differ by at
least 6, and their order is that of a life. Expected ranges stand out at 3 : 1 (WCAG 2.2, 1.4.11).
"""

from collections.abc import Sequence
from itertools import combinations, pairwise

import numpy as np
import pytest
from matplotlib.colors import to_rgb
from matplotlib.lines import Line2D

from rearlog.charts.durations import durations
from rearlog.charts.heat import heat
from rearlog.charts.palette import (
    COHORTS,
    FATES,
    HATCHING,
    INK,
    MUTED,
    PALE,
    PAPER,
    cohort_mark,
    lightness,
    stage_colours,
)
from rearlog.charts.progress import progress
from rearlog.charts.stages import stages
from tests.charts.conftest import Answers, parts

FAR_APART = 12.0
VISIONS = {
    # G. M. Machado, M. M. Oliveira, L. A. F. Fernandes (2009): A physiologically-based model for
    # simulation of color vision deficiency, severity 1.0; linear sRGB in and out
    "protanopia": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deuteranopia": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritanopia": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
    "grey": [[0.2126, 0.7152, 0.0722]] * 3,  # relative luminance of sRGB
    "usual": np.eye(3).tolist(),
}
XYZ = np.array(  # sRGB (IEC 61966-2-1) to XYZ, white D65
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)


def linear(colour: object) -> np.ndarray:
    values: np.ndarray = np.array(to_rgb(colour))  # type: ignore[arg-type]
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def lab(colour: str, vision: str) -> np.ndarray:
    """CIE L*a*b* of a colour as it is seen."""
    seen = np.clip(np.array(VISIONS[vision]) @ linear(colour), 0.0, 1.0)
    x, y, z = (
        t ** (1 / 3) if t > 216 / 24389 else (24389 / 27 * t + 16) / 116
        for t in (XYZ @ seen) / XYZ.sum(axis=1)
    )
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def distance(one: str, other: str, vision: str) -> float:
    return float(np.linalg.norm(lab(one, vision) - lab(other, vision)))


def contrast(one: object, other: object) -> float:
    """Contrast of two colours, WCAG 2.2."""
    bright, dark = sorted(
        (float(np.array([0.2126, 0.7152, 0.0722]) @ linear(each)) for each in (one, other)),
        reverse=True,
    )
    return (bright + 0.05) / (dark + 0.05)


def test_the_eyes_of_this_test_are_right() -> None:
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)  # a known example
    assert lab("#ff0000", "usual") == pytest.approx([53.24, 80.09, 67.20], abs=0.1)
    for vision in ("protanopia", "deuteranopia"):  # white stays white
        assert lab("#ffffff", vision) == pytest.approx([100, 0, 0], abs=0.3)
    # red and green of about the same lightness are confused by those who lack the green cones
    assert distance("#c05000", "#808000", "deuteranopia") < distance("#c05000", "#808000", "usual")
    assert all(
        lab(colour, "grey")[0] == pytest.approx(lightness(colour), abs=0.1)
        for colour in ("#c05000", "#808000")
    )


def test_cohorts_are_told_apart_without_any_colour() -> None:
    marks = [cohort_mark(place) for place in range(12)]
    assert len({(each.dash, each.marker) for each in marks}) == 12


@pytest.mark.parametrize("vision", ["grey", "protanopia", "deuteranopia", "tritanopia", "usual"])
def test_up_to_three_cohorts_are_told_apart_by_colour_alone(vision: str) -> None:
    for one, other in combinations(COHORTS[:3], 2):
        assert distance(one.colour, other.colour, vision) >= FAR_APART


def test_up_to_twelve_cohorts_differ_in_dash_and_marker_within_six() -> None:
    for first in (0, 6):
        six = [cohort_mark(first + place) for place in range(6)]
        assert len({each.dash for each in six}) == len({each.marker for each in six}) == 6


@pytest.mark.parametrize("vision", VISIONS)
@pytest.mark.parametrize("instars", [3, 5])
def test_stages_that_follow_each_other_are_told_apart(vision: str, instars: int) -> None:
    order: Sequence[str] = ("egg", *(f"L{n}" for n in range(1, instars + 1)), "pupa", "adult")
    for one, other in pairwise(stage_colours(order).values()):
        assert distance(one, other, vision) >= 6.0, (one, other)


def test_what_carries_meaning_stands_out_from_the_paper() -> None:
    for colour in (INK, MUTED, HATCHING, *(mark.colour for mark in (*COHORTS, *FATES.values()))):
        assert contrast(colour, PAPER) >= 3, colour
    assert contrast(HATCHING, PALE) >= 3


def test_what_was_expected_stands_out_in_every_chart_that_has_it(room: Answers) -> None:
    figures = {
        "progress": progress([room.progress]),
        "stages": stages([room.stage_counts]),
        "durations": durations([room.durations]),
        "heat": heat([room.heat], stage_counts=[room.stage_counts]),
    }
    for kind, figure in figures.items():
        drawn = [each for name, each in parts(figure).items() if name.startswith("expected-")]
        assert drawn, kind
        for each in drawn:
            if isinstance(each, Line2D):
                colour = each.get_color()
            else:
                colour = np.atleast_2d(each.get_edgecolor())[0]  # type: ignore[attr-defined]
            assert contrast(colour, PAPER) >= 3, kind


def test_expected_heat_stands_where_the_profile_has_it(room: Answers) -> None:
    """Eggs need 25 degree-days, L1 and L2 22 each and pupae 40, SD a tenth; ten come a day."""
    totals = {each.stage: each for each in room.heat.expected_totals}
    hatch = totals["L1"]
    assert hatch.high - hatch.low == pytest.approx(2 * 1.96 * 2.5)
    assert totals["L2"].low - hatch.low == pytest.approx(22 - 1.96 * 2.2)
    bars = parts(heat([room.heat], stage_counts=[room.stage_counts]))["expected-room"]
    ends = [segment[:, 1] for segment in bars.get_segments()]  # type: ignore[attr-defined]
    assert ends[0] == pytest.approx([hatch.low, hatch.high])


def test_temperatures_stand_beside_names(room: Answers) -> None:
    # warm days from 16 to 24 °C
    assert room.heat.celsius == pytest.approx(20.0)
