"""A few small cohorts with everything that a chart may have to show, and eyes to look at charts."""

from datetime import date, timedelta
from functools import cached_property
from typing import TypeVar
from unittest.mock import patch

import pytest
from matplotlib.artist import Artist
from matplotlib.backend_bases import RendererBase
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.text import Text
from msgspec import Struct

from rearlog.analysis.heat.daily_temperatures import lay_out
from rearlog.analysis.heat.heat_curve import HeatCurve, heat_curve, settings
from rearlog.analysis.stages.durations import Durations, durations
from rearlog.analysis.stages.events import EventHistory, event_history
from rearlog.analysis.stages.progress import Progress, progress, watched_celsius
from rearlog.analysis.stages.stage_counts import StageCounts, stage_counts
from rearlog.analysis.stages.stage_heat import Heat, heat
from rearlog.analysis.survival.survival import Survival, survival
from rearlog.records.log import CohortLog, DayExtremes
from tests.builders import START, small_profile, tiny_log

T = TypeVar("T")

LIVES = {
    "1": "egg egg egg L1 L1 L1 L2 L2 pupa pupa pupa pupa adult removed:released",
    "2": "egg egg L1 L1 L2 dead:mould",
    "3": "egg egg - - L2 L2 lost",
    "4": "egg egg L1! L1 L2 L2 L3 pupa pupa pupa pupa adult adult adult",
    "5": "egg dead",
}
"""`1` took its time, `3` was not looked at for two days, the hatch of `4` was seen."""

HEAT = {"egg": 25.0, "L1": 22.0, "L2": 22.0, "L3": 10.0, "pupa": 40.0}


class Answers(Struct, frozen=True, dict=True):
    """The results of one cohort, with temperatures, that charts are made from."""

    log: CohortLog

    @cached_property
    def history(self) -> EventHistory:
        return event_history(self.log)

    @cached_property
    def curve(self) -> HeatCurve:
        days = lay_out(self.log)
        return heat_curve(days, settings(self.log.cohort.species, days))

    @cached_property
    def durations(self) -> Durations:
        cohort = self.log.cohort
        return durations(cohort.name, cohort.species, self.history, self.curve)

    @property
    def celsius(self) -> float | None:
        return watched_celsius(self.history, self.curve)

    @cached_property
    def progress(self) -> Progress:
        return progress(self.log.cohort, self.history, self.durations, self.curve, self.celsius)

    @cached_property
    def stage_counts(self) -> StageCounts:
        return stage_counts(self.log.cohort, self.history, self.curve, self.celsius)

    @cached_property
    def heat(self) -> Heat:
        cohort = self.log.cohort
        return heat(cohort.name, cohort.species, self.history, self.curve)

    @cached_property
    def survival(self) -> Survival:
        return survival(self.log.cohort.name, self.history)


def warm_days(first: date, days: int, missing: range) -> tuple[DayExtremes, ...]:
    """Days of 16 to 24 °C, which is 10 degree-days each above 10 °C."""
    return tuple(
        DayExtremes(first + timedelta(days=day), 16.0, 24.0)
        for day in range(days)
        if day not in missing
    )


def small_cohort(name: str, lives: dict[str, str], missing: range = range(0)) -> Answers:
    """The answers about a cohort laid on the day before it starts."""
    log = tiny_log(
        lives,
        profile=small_profile(heat=HEAT),
        laid=(-1.0, 0.0),
        temperatures=warm_days(START.date() - timedelta(days=1), 15, missing),
        name=name,
    )
    return Answers(log)


@pytest.fixture(scope="session")
def room() -> Answers:
    """Five individuals with every fate, ten degree-days a day."""
    return small_cohort("room", LIVES)


@pytest.fixture(scope="session")
def shelf() -> Answers:
    """Three that develop faster, in a cohort that lacks temperatures from 14 to 17 March."""
    lives = {
        "1": "egg L1 L1 L2 L2 pupa pupa pupa adult",
        "2": "egg L1 L1 L2 L2 pupa pupa pupa pupa adult",
        "3": "egg L1 L1 L1 L2 pupa pupa pupa adult",
    }
    return small_cohort("shelf", lives, missing=range(6, 10))


def only(kind: type[T], **read: object) -> T:
    """A result with the fields that a chart reads; the others are unknown."""
    return kind(**{name: read.get(name) for name in kind.__struct_fields__})


def parts(figure: Figure) -> dict[str, Artist]:
    """What is drawn in a figure, by its name; no two things may share one."""
    named: dict[str, Artist] = {}
    for each in figure.findobj(Artist):
        name = each.get_gid()
        if name is not None:
            assert named.setdefault(name, each) is each, f"{name} twice"
    return named


def line_of(figure: Figure, name: str) -> Line2D:
    """A line that is drawn in a figure, by its name."""
    found = parts(figure)[name]
    assert isinstance(found, Line2D)
    return found


def texts(figure: Figure) -> list[Text]:
    """The texts that are drawn in a figure: not those of ticks beyond the ends of an axis."""
    drawn: list[Text] = []
    draw = Text.draw

    def note(text: Text, renderer: RendererBase) -> None:
        drawn.append(text)
        draw(text, renderer)

    with patch.object(Text, "draw", note):
        figure.draw_without_rendering()
    return [text for text in drawn if text.get_text().strip() and text.get_visible()]


def words(figure: Figure) -> str:
    """Everything that can be read in a figure, each text on a line of its own."""
    return "\n".join(text.get_text().replace("\n", " ") for text in texts(figure))
