"""Charts of every kind hold at every size, for any number of individuals and cohorts, under any
names: no words over each other, none cut off or too small, no drawing collapsed.

Every number of cohorts is drawn at every size, with usual and large text; the numbers of
individuals and the kinds of names take turns, so that each meets each size. `REARLOG_LAYOUTS=all`
draws the whole product, which takes an hour.
"""

import os
from collections.abc import Callable, Iterator
from itertools import product

import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from rearlog.charts.style import LOOKS, look
from rearlog.present.pictures import KINDS, OF_ALL, OF_STAGE
from rearlog.sentences.phrases import too_many
from tests.charts.eyes import faults
from tests.charts.made_cohorts import OTHER_SPECIES, SPECIES, chart

COHORTS = (1, 2, 3, 6, 12)
INDIVIDUALS = (1, 6, 24, 120, 1000)
Named = Callable[[int], str] | None
NAMES: dict[str, Named] = {
    "short": None,
    "two species": None,
    "differ in the middle": lambda n: (
        f"painted ladies from the nursery, {n:02d}, the shelf by the window"
    ),
    "differ at the end": lambda n: (
        f"painted ladies on the second shelf by the window of the room{chr(65 + n)}"
    ),
}
DO_NOT_FIT = {
    ("progress", 12, "slide", True),
    ("stages", 12, "slide", True),
    ("durations", 6, "slide", True),
    ("durations", 12, "slide", True),
    ("durations", 12, "column", True),
    ("pace", 12, "slide", True),
    ("forecast", 12, "slide", True),
    ("rate", 6, "slide", True),
    ("rate", 12, "slide", True),
    ("mortality", 12, "slide", True),
    ("heat", 12, "slide", True),
    ("survival", 12, "slide", True),
    ("reproduction", 12, "slide", True),
}
"""What cannot be drawn: a sentence stands in its place. Kind, cohorts, size, large text."""

Case = tuple[str, int, str, bool, int, str]


def turns(kind: str) -> Iterator[Case]:
    """Every number of cohorts at every size, with individuals and names in turn."""
    for place, (cohorts, size, large) in enumerate(product(COHORTS, LOOKS, (False, True))):
        individuals = INDIVIDUALS[(place * 3 + place // 12) % len(INDIVIDUALS)]
        names = list(NAMES)[(place + place // 5) % len(NAMES)]
        yield kind, cohorts, size, large, individuals, names


def everything(kind: str) -> Iterator[Case]:
    """The whole product."""
    for cohorts, size, large, individuals, names in product(
        COHORTS, LOOKS, (False, True), INDIVIDUALS, NAMES
    ):
        yield kind, cohorts, size, large, individuals, names


def possible(case: Case) -> bool:
    """Whether there is such a chart: some compare cohorts, of one species those of rates."""
    kind, cohorts, _, _, _, names = case
    return kind not in OF_ALL or (cohorts > 1 and (kind not in OF_STAGE or names != "two species"))


def found(case: Case) -> list[str]:
    """The faults of one chart, each with what it is a chart of."""
    kind, cohorts, size, large, individuals, names = case
    two = names == "two species"
    lives = [
        (place, individuals, OTHER_SPECIES if two and place % 2 else SPECIES)
        for place in range(cohorts)
    ]
    called = NAMES[names]
    asked = look(size, large_text=large)
    figure = chart(kind, lives, asked, called and [called(place) for place in range(cohorts)])
    wrong = faults(figure, asked)
    if not_drawn(figure, cohorts) and case[:4] not in DO_NOT_FIT:
        wrong.append("it is said not to fit")
    return [f"{case}: {fault}" for fault in wrong]


def not_drawn(figure: Figure, cohorts: int) -> bool:
    """Whether a sentence says that so many do not fit; told without drawing it once more."""
    said = " ".join(text.get_text() for text in figure.findobj(Text))
    return too_many(cohorts) in " ".join(said.split())


FAST = [
    (kind, cohorts, size, large, individuals, names)
    for kind in KINDS
    for cohorts, size, large, individuals, names in (
        (1, "phone", False, 24, "short"),
        (3, "slide", True, 24, "differ at the end"),
        (6, "column", False, 6, "differ in the middle"),
        (3, "page", True, 6, "two species"),
    )
]


@pytest.mark.parametrize("kind", KINDS)
def test_charts_hold(kind: str) -> None:
    assert [
        fault for case in FAST if case[0] == kind and possible(case) for fault in found(case)
    ] == []


@pytest.mark.slow
@pytest.mark.parametrize("large", [False, True], ids=["usual", "large"])
@pytest.mark.parametrize("kind", KINDS)
def test_charts_hold_at_any_size_for_any_number_under_any_name(kind: str, large: bool) -> None:
    cases = everything if os.environ.get("REARLOG_LAYOUTS") == "all" else turns
    chosen = [case for case in cases(kind) if case[3] is large and possible(case)]
    assert len(chosen) >= 19
    assert [fault for case in chosen for fault in found(case)] == []


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_many_cohorts_of_long_names_hold_in_large_letters(kind: str) -> None:
    """The hardest that the turns leave out."""
    cases = [
        (kind, cohorts, size, True, 24, names)
        for cohorts, size, names in product((6, 12), LOOKS, list(NAMES)[2:])
    ]
    assert [fault for case in cases if possible(case) for fault in found(case)] == []


def test_the_eyes_see_what_is_wrong() -> None:
    """Each kind of fault, made on purpose."""
    asked = look("page")
    figure = chart("survival", [(0, 6, SPECIES), (1, 6, SPECIES)], asked)
    assert faults(figure, asked) == []
    axes = figure.axes[0]
    first = axes.text(0.5, 0.5, "one label", transform=axes.transAxes)
    assert not any("one label" in each for each in faults(figure, asked))
    axes.text(0.5, 0.505, "another", transform=axes.transAxes, fontsize=4)
    seen = "\n".join(faults(figure, asked))
    assert "overlap: “one label” | “another”" in seen
    assert "small: “another” 4.0" in seen
    first.set_position((1.5, 0.5))
    first.set_in_layout(False)
    assert "clipped: “one label”" in "\n".join(faults(figure, asked))
    figure.set_figheight(1.2)
    assert any("collapsed" in each or "no layout" in each for each in faults(figure, asked))
