"""Charts of small cohorts, as they are written down in `portraits/`, each with how it was checked.

After a change that is meant, `python -m tests.charts.test_portraits` writes them anew, and what is
different is looked at before it is kept.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

import pytest
from matplotlib.figure import Figure
from msgspec.structs import replace

from rearlog.analysis.agreement.agreement import Agreement
from rearlog.analysis.comparing.compare import Comparison
from rearlog.analysis.comparing.stage_comparison import StageComparison
from rearlog.analysis.comparing.thermal import Thermal
from rearlog.analysis.forecasting.forecast import Forecast
from rearlog.analysis.pooling.season import season
from rearlog.analysis.reproduction.reproduction import Reproduction
from rearlog.analysis.stages.durations import Durations
from rearlog.charts.agreement import agreement
from rearlog.charts.durations import durations
from rearlog.charts.forecast import forecast
from rearlog.charts.funnel import funnel
from rearlog.charts.growth import growth
from rearlog.charts.heat import heat
from rearlog.charts.means import means
from rearlog.charts.mortality import mortality
from rearlog.charts.pace import pace
from rearlog.charts.progress import progress
from rearlog.charts.rate import rate
from rearlog.charts.reproduction import reproduction
from rearlog.charts.stages import stages
from rearlog.charts.style import PAGE, Style, look
from rearlog.charts.survival import survival
from rearlog.notebook import Notebook, compare
from rearlog.sentences.heat_mortality import nothing_to_draw
from rearlog.sentences.phrases import too_many
from rearlog.sentences.season import NO_FUNNEL, NO_STAGE
from tests.analysis.invented_calls import a_round, found_in
from tests.analysis.reproduction.laying_cohort import log_of
from tests.builders import notebook_of
from tests.charts.conftest import LIVES, Answers, small_cohort
from tests.charts.portrait import portrait, sketch
from tests.charts.small_results import DIED, beetle, died_of, many, marked, measured, without
from tests.made_summaries import many as many_summaries
from tests.made_summaries import summary
from tests.written_lines import Written

WRITTEN = Written(Path(__file__).with_name("portraits"))
ROOM = small_cohort("room", LIVES)
SHELF = small_cohort(
    "shelf",
    {
        "1": "egg L1 L1 L2 L2 pupa pupa pupa adult",
        "2": "egg L1 L1 L2 L2 pupa pupa pupa pupa adult",
        "3": "egg L1 L1 L1 L2 pupa pupa pupa adult",
    },
    missing=range(6, 10),
)
BOTH = (ROOM, SHELF)
LONG = small_cohort("long", {"1": " ".join(["egg", "L1", *["L2"] * 24])})


def notebook(answers: Answers) -> Notebook:
    return notebook_of(answers.log)


THEN = datetime(2026, 3, 15, 12, tzinfo=UTC)


def known(answers: Answers) -> Answers:
    """What was known when nobody had looked after Sunday 15 March."""
    return replace(answers, log=answers.log.as_of(THEN))


def coming(*answers: Answers) -> list[Forecast]:
    """What was foretold then."""
    return [notebook(known(each)).forecast(as_of=THEN) for each in answers]


def ended() -> list[Forecast]:
    """One that is still to come; one of which all have come; one that should have come long ago."""
    later = datetime(2026, 3, 20, 12, tzinfo=UTC)
    done = notebook(SHELF).forecast(as_of=later)
    late = notebook(known(ROOM)).forecast(as_of=datetime(2026, 4, 20, 12, tzinfo=UTC))
    return [*coming(ROOM), replace(done, cohort="done"), replace(late, cohort="late")]


@cache
def cohorts(count: int) -> tuple[Answers, ...]:
    """So many cohorts with the lives of the first."""
    return tuple(small_cohort(f"cohort {n}", LIVES) for n in range(1, count + 1))


@cache
def laying(count: int) -> tuple[Reproduction, ...]:
    """So many cohorts whose females lay 12, 14, 16 … eggs at first."""
    logs = [log_of(f"cohort {n}", 10 + 2 * n) for n in range(1, count + 1)]
    return tuple(notebook_of(each).reproduction() for each in logs)


@cache
def counted(count: int) -> tuple[Agreement, ...]:
    found = found_in(a_round())
    return tuple(replace(found, cohort=f"cohort {n}") for n in range(1, count + 1))


def three_points() -> Thermal:
    """The beetle without its third cohort, whose name would stand in that of the fourth; the first
    is not used."""
    found = beetle(left_out=1)
    (stage,) = found.stages
    first, second, _, fourth = stage.points
    return replace(found, stages=(replace(stage, points=(first, second, fourth)),))


RISING = {18.5: (2, 40), 22.0: (7, 40), 26.0: (19, 40), 30.0: (32, 40)}
PHONE = look("phone")
EIGHT = {str(n): "egg egg L1 L1 L2 pupa pupa adult" for n in range(8)}

PICTURES: dict[str, Callable[[], Figure]] = {
    "agreement": lambda: agreement([found_in(a_round())]),
    "agreement-two": lambda: agreement([*counted(1), replace(counted(1)[0], cohort="b" * 40)]),
    "durations": lambda: durations([each.durations for each in BOTH]),
    "durations-eight": lambda: durations([small_cohort("eight", EIGHT).durations]),
    "forecast": lambda: forecast(coming(*BOTH)),
    "forecast-one": lambda: forecast(coming(SHELF)),
    "forecast-ended": lambda: forecast(ended()),
    "forecast-five": lambda: forecast(coming(*cohorts(5))),
    "funnel": lambda: funnel(season(many_summaries())),
    "growth": lambda: growth([measured()]),
    "growth-two": lambda: growth([measured(), measured("shelf")]),
    "heat": lambda: heat(
        [each.heat for each in BOTH], stage_counts=[each.stage_counts for each in BOTH]
    ),
    "heat-one": lambda: heat([SHELF.heat], stage_counts=[SHELF.stage_counts]),
    "heat-filled": lambda: heat([small_cohort("gap", LIVES, missing=range(6, 7)).heat]),
    "means": lambda: means(season(many_summaries())),
    "means-egg": lambda: means(season(many_summaries()[:12]), stage="egg", invented=True),
    "mortality": lambda: mortality(without(died_of(DIED), "t15")),
    "mortality-rising": lambda: mortality(died_of(RISING, "L1")),
    "pace": lambda: pace(compare([notebook(each) for each in BOTH])),
    "progress": lambda: progress([marked(ROOM.progress)]),
    "progress-phone": lambda: progress([ROOM.progress, SHELF.progress], PHONE),
    "progress-many": lambda: progress([many(ROOM.progress, 20)]),
    "rate": lambda: rate(beetle()),
    "rate-labelled": lambda: rate(three_points()),
    "reproduction": lambda: reproduction(laying(2)),
    "reproduction-five": lambda: reproduction(
        [replace(each, life_table=each.life_table[:7]) for each in laying(5)]
    ),
    "stages": lambda: stages([each.stage_counts for each in BOTH]),
    "stages-phone": lambda: stages([each.stage_counts for each in (ROOM, LONG)], PHONE),
    "stages-young": lambda: stages([known(each).stage_counts for each in BOTH]),
    "survival": lambda: survival([each.survival for each in BOTH]),
    "survival-five": lambda: survival([each.survival for each in cohorts(5)]),
}


ON_A_PHONE = ("progress-phone", "stages-phone")


@cache
def compared(count: int) -> Comparison:
    return compare([notebook(each) for each in cohorts(count)])


@cache
def foretold(count: int) -> tuple[Forecast, ...]:
    return tuple(coming(*cohorts(count)))


SKETCHES: dict[str, Callable[[int, Style], Figure]] = {
    "agreement": lambda count, look: agreement(counted(count), look, invented=True),
    "durations": lambda count, look: durations(
        [each.durations for each in cohorts(count)], look, invented=True
    ),
    "forecast": lambda count, look: forecast(foretold(count), look, invented=True),
    "funnel": lambda count, look: funnel(season(many_summaries()[:count]), look, invented=True),
    "growth": lambda count, look: growth(
        [measured(f"cohort {n}") for n in range(1, count + 1)], look, invented=True
    ),
    "heat": lambda count, look: heat(
        [each.heat for each in cohorts(count)],
        look,
        stage_counts=[each.stage_counts for each in cohorts(count)],
        invented=True,
    ),
    "means": lambda count, look: means(
        season(many_summaries()[:count]), look, stage="egg", invented=True
    ),
    "mortality": lambda count, look: mortality(
        died_of(dict(list(DIED.items())[:count])), look, invented=True
    ),
    "pace": lambda count, look: pace(compared(count), look, invented=True),
    "progress": lambda count, look: progress(
        [each.progress for each in cohorts(count)], look, invented=True
    ),
    "rate": lambda _, look: rate(beetle(), look, invented=True),
    "reproduction": lambda count, look: reproduction(laying(count), look, invented=True),
    "stages": lambda count, look: stages(
        [each.stage_counts for each in cohorts(count)], look, invented=True
    ),
    "survival": lambda count, look: survival(
        [each.survival for each in cohorts(count)], look, invented=True
    ),
}
SIZES = ((2, "phone"), (4, "slide"), (6, "double"))
"""Together they are narrow and wide, low and high, with names at the ends of lines and in keys."""
CROWDED = {"pace": ((8, "slide"),), "means": ((17, "slide"), (20, "slide"))}
"""Where there is hardly room."""
NEVER_TOO_MANY = {"agreement", "funnel", "means"}
"""These choose what there is room for."""


@pytest.mark.parametrize("name", PICTURES)
def test_small_cohorts_are_drawn_as_written_down(name: str) -> None:
    assert drawn(name) == WRITTEN.read(name)


@pytest.mark.parametrize(
    ("kind", "count", "size"),
    [(kind, *each) for kind in SKETCHES for each in (*SIZES, *CROWDED.get(kind, ()))],
)
def test_sizes_are_those_written_down(kind: str, count: int, size: str) -> None:
    heading, *lines = sketched(kind, count, size)
    text = WRITTEN.read(f"{kind}-sizes")
    begin = text.index(heading) + 1
    end = text.index("", begin) if "" in text[begin:] else len(text)
    assert lines == text[begin:end]


@pytest.mark.parametrize("kind", sorted({*SKETCHES} - NEVER_TOO_MANY))
def test_where_there_is_no_room_a_sentence_stands_under_the_title(kind: str) -> None:
    """As it stands over the drawing; of the notes none is left but that data are invented."""
    usual = SKETCHES[kind](4, PAGE)
    low = SKETCHES[kind](4, replace(PAGE, height_in=0.5, tallest_in=0.5))
    assert low.get_suptitle().split() == usual.get_suptitle().split()
    (axes,) = low.axes
    assert not axes.axison
    assert " ".join(axes.texts[0].get_text().split()) == too_many(4)
    assert low.get_supxlabel() == " "
    assert [text.get_text() for text in low.texts][-1] == "invented data"


def nobody_finished(stage: StageComparison) -> StageComparison:
    return replace(stage, groups=tuple(replace(each, mean=None) for each in stage.groups))


def nobody_through(result: Durations) -> Durations:
    none = (replace(each, completed=0, expected=None) for each in result.stages)
    return replace(result, stages=tuple(none), individuals=())


NOTHING: dict[str, tuple[Callable[[], Figure], str]] = {
    "agreement": (
        lambda: agreement([replace(each, pairs=()) for each in counted(1)], invented=True),
        "No two observers called the same animal.",
    ),
    "durations": (
        lambda: durations([nobody_through(ROOM.durations)], invented=True),
        "A stage counts when it was seen to end.",
    ),
    "funnel": (lambda: funnel(season(many_summaries()[:1]), invented=True), NO_FUNNEL),
    "means": (lambda: means(season([summary("new")]), invented=True), NO_STAGE),
    "mortality": (
        lambda: mortality(replace(died_of(DIED), mortality=()), invented=True),
        nothing_to_draw(),
    ),
    "pace": (
        lambda: pace(
            replace(compared(2), stages=tuple(map(nobody_finished, compared(2).stages))),
            invented=True,
        ),
        "No cohort has finished development.",
    ),
    "rate": (
        lambda: rate(replace(beetle(), stages=()), invented=True),
        "No cohort has finished a stage with known temperatures.",
    ),
    "survival": (
        lambda: survival([small_cohort("new", {"1": "egg"}).survival], invented=True),
        "Nobody was looked at yet.",
    ),
    "growth": (
        lambda: growth([notebook(ROOM).growth()], invented=True),
        "Nothing was measured yet.",
    ),
}


@pytest.mark.parametrize("kind", NOTHING)
def test_where_there_is_nothing_to_draw_a_sentence_stands_under_a_title(kind: str) -> None:
    draw, sentence = NOTHING[kind]
    figure = draw()
    (axes,) = figure.axes
    assert not axes.axison
    assert " ".join(axes.texts[0].get_text().split()) == sentence
    assert figure.get_suptitle()
    assert sentence not in " ".join(figure.get_suptitle().split())
    assert [text.get_text() for text in figure.texts][-1] == "invented data"


def drawn(name: str) -> list[str]:
    """The lines about a picture."""
    return portrait(PICTURES[name](), PHONE if name in ON_A_PHONE else PAGE)


def sketched(kind: str, count: int, size: str) -> list[str]:
    """The sizes of a chart of so many cohorts at a look."""
    chosen = look(size, large_text=size == "slide")
    figure = SKETCHES[kind](count, chosen)
    return [f"{count} cohorts, {size}:", *sketch(figure, chosen)]


if __name__ == "__main__":
    for name in PICTURES:
        WRITTEN.write(name, drawn(name))
    for kind in SKETCHES:
        lines = []
        for each in (*SIZES, *CROWDED.get(kind, ())):
            lines += [*sketched(kind, *each), ""]
        WRITTEN.write(f"{kind}-sizes", lines[:-1])
