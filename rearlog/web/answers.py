"""The questions that a cohort answers, and what each answer is made of: one table for all pages.

Words, tables, rows and charts are those of the commands; here stands only which belong together.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.comparing.survival_by_group import SurvivalByGroup
from rearlog.analysis.forecasting.future_temperature import FutureTemperature
from rearlog.analysis.growth.growth import Measurement
from rearlog.analysis.stages.durations import IndividualDuration
from rearlog.analysis.statistics.levels import WINDOW
from rearlog.notebook import HeatOptions, Notebook, survival_by
from rearlog.present.agreement import agreement_tables, flat_differences
from rearlog.present.answers import (
    by_group_tables,
    durations_tables,
    growth_tables,
    heat_tables,
    individuals_table,
    stage_count_tables,
    survival_tables,
)
from rearlog.present.flat import flat, flat_by_group, flat_durations, rows_of
from rearlog.present.forecast import (
    deadline_tables,
    forecast_tables,
    individual_forecast_table,
    review_tables,
)
from rearlog.present.pictures import beside
from rearlog.present.reproduction import flat_reproduction, reproduction_tables
from rearlog.present.tables import Table
from rearlog.records.errors import UsageError
from rearlog.sentences import agreement as agreement_words
from rearlog.sentences import deadline as deadline_words
from rearlog.sentences import durations as durations_words
from rearlog.sentences import forecast as forecast_words
from rearlog.sentences import growth as growth_words
from rearlog.sentences import progress as progress_words
from rearlog.sentences import reproduction as reproduction_words
from rearlog.sentences import review as review_words
from rearlog.sentences import stage_counts as stage_counts_words
from rearlog.sentences import stage_heat as stage_heat_words
from rearlog.sentences import survival as survival_words
from rearlog.sentences import survival_by_group as by_group_words
from rearlog.web.answering import Asked

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from rearlog.charts.style import Style


class Found(Struct, frozen=True):
    """An answer as it was given: the cohort, what was asked, and the result."""

    notebook: Notebook
    asked: Asked
    result: Any


class Question(Struct, frozen=True):
    """A question, and what its answer is made of.

    `options` are the groups of options that matter; `find` makes the result, `told` its sentences,
    `lead` the one that it opens with, `tables` and `lists` (by their names, the first the usual
    one) its rows for people and for spreadsheets. With a `chart`, `charted` are the results that it
    draws, and `to_do` says what to do where there is nothing to draw. `of_now`: it is another
    answer each minute.
    """

    key: str
    words: str
    find: Callable[[Notebook, Asked, datetime], Any]
    tables: Callable[[Found], list[Table]]
    lists: dict[str, Callable[[Found], Table]]
    options: tuple[str, ...] = ()
    told: Callable[[Any], Sequence[str]] = lambda result: ()
    lead: Callable[[Any], str] = lambda result: ""
    chart: bool = True
    charted: Callable[[Any], list[Any]] = lambda result: [result]
    to_do: Callable[[Any], str] = lambda result: ""
    of_now: bool = False


def _forecast(notebook: Notebook, asked: Asked, moment: datetime) -> Any:
    coming = FutureTemperature(asked.celsius, ())
    part = WINDOW if asked.interval is None else asked.interval / 100
    past = [Notebook(path) for path in asked.past]
    return notebook.forecast(coming, moment, window=part, past=past)


def _deadline(notebook: Notebook, asked: Asked, moment: datetime) -> Any:
    if asked.day is None:
        raise UsageError("by which day?", "choose a day to come")
    return notebook.deadline(asked.day, FutureTemperature(asked.celsius, ()), moment)


def _survival(notebook: Notebook, asked: Asked, _moment: datetime) -> Any:
    if asked.by is not None:
        return survival_by([notebook], asked.by, asked.first, asked.until)
    return notebook.survival(asked.first, asked.until)


def _survival_tables(found: Found) -> list[Table]:
    return (by_group_tables if found.asked.by else survival_tables)(found.result)


def _in_full(tables: Sequence[Table]) -> list[Table]:
    """Tables of their own that here belong to what is opened."""
    return [replace(each, full=True) for each in tables]


def _lives(found: Found, *, kaplan_meier: bool) -> Table:
    if found.asked.by is not None:
        return flat_by_group(found.result, kaplan_meier=kaplan_meier)
    return rows_of(found.result, "kaplan_meier" if kaplan_meier else "life_table")


def _agreement(notebook: Notebook, asked: Asked, _moment: datetime) -> Any:
    return notebook.agreement(None if asked.within is None else timedelta(minutes=asked.within))


def _survival_words(result: Any) -> Any:
    """The module of the sentences of such an answer."""
    return by_group_words if isinstance(result, SurvivalByGroup) else survival_words


QUESTIONS = (
    Question(
        "forecast",
        "When will they emerge?",
        _forecast,
        lambda found: [
            *forecast_tables(found.result),
            *_in_full(individual_forecast_table(found.result)),
        ],
        {
            "events": lambda found: rows_of(found.result, "events"),
            "individuals": lambda found: rows_of(found.result, "individuals"),
        },
        options=("to_come", "as_of", "interval", "past"),
        told=lambda result: [*forecast_words.words(result), *forecast_words.notices(result)],
        lead=forecast_words.lead,
        of_now=True,
    ),
    Question(
        "durations",
        "How long did each stage take?",
        lambda notebook, asked, _: notebook.durations(asked.first, asked.until),
        lambda found: [*durations_tables(found.result), *_in_full(individuals_table(found.result))],
        {
            "stages": lambda found: flat_durations(found.result.stages),
            "individuals": lambda found: flat(IndividualDuration, found.result.individuals),
        },
        options=("span", "heat"),
        told=durations_words.words,
        lead=durations_words.lead,
        to_do=lambda result: (
            ""
            if any(each.completed or each.expected for each in result.stages)
            else "A stage counts when it was seen to end: look at them again."
        ),
    ),
    Question(
        "heat",
        "How much heat did they have?",
        lambda notebook, asked, _: notebook.heat(),
        lambda found: heat_tables(found.result),
        {"days": lambda found: rows_of(found.result, "daily")},
        options=("heat",),
        lead=stage_heat_words.lead,
    ),
    Question(
        "survival",
        "Who lived?",
        _survival,
        _survival_tables,
        {
            "life table": lambda found: _lives(found, kaplan_meier=False),
            "survival by day": lambda found: _lives(found, kaplan_meier=True),
        },
        options=("span", "by"),
        told=lambda result: _survival_words(result).words(result),
        lead=lambda result: _survival_words(result).lead(result),
        charted=lambda result: [*getattr(result, "groups", [result])],
    ),
    Question(
        "growth",
        "How did they grow?",
        lambda notebook, asked, _: notebook.growth(),
        lambda found: growth_tables(found.result),
        {"measured": lambda found: flat(Measurement, found.result.series)},
        told=growth_words.words,
        lead=growth_words.lead,
        to_do=lambda result: (
            ""
            if result.series
            else "Nobody was measured yet: a card of the round has a place for the width of the "
            "head, the length and the mass."
        ),
    ),
    Question(
        "reproduction",
        "How many eggs follow each egg?",
        lambda notebook, asked, _: notebook.reproduction(),
        lambda found: reproduction_tables(found.result),
        {
            "figures": lambda found: flat_reproduction([found.result]),
            "by age": lambda found: flat_reproduction([found.result], ages=True),
            "by age and stage": lambda found: flat_reproduction([found.result], stages=True),
        },
        told=reproduction_words.words,
        lead=reproduction_words.lead,
    ),
    Question(
        "stages",
        "How many are in which stage?",
        lambda notebook, asked, _: notebook.stage_counts(),
        lambda found: stage_count_tables(found.result),
        {"days": lambda found: stage_count_tables(found.result)[0]},
        lead=lambda result: f"{stage_counts_words.title([result])}.",
    ),
    Question(
        "progress",
        "Everyone, day by day?",
        lambda notebook, asked, _: notebook.progress(),
        lambda found: individuals_table(found.notebook.durations()),
        {
            "individuals": lambda found: flat(
                IndividualDuration, found.notebook.durations().individuals
            )
        },
        lead=lambda result: f"{progress_words.title([result])}.",
    ),
    Question(
        "agreement",
        "Do those who look agree?",
        _agreement,
        lambda found: agreement_tables(found.result),
        {"calls that differ": lambda found: flat_differences(found.result)},
        options=("within",),
        told=agreement_words.words,
        lead=agreement_words.lead,
        to_do=lambda result: (
            ""
            if result.pairs
            else "Let two people look at the same animals in one round, each on their own device "
            "with their own initials."
        ),
    ),
    Question(
        "deadline",
        "Will they be out by a certain day?",
        _deadline,
        lambda found: deadline_tables(found.result),
        {"aims": lambda found: rows_of(found.result, "aims")},
        options=("day", "to_come", "as_of"),
        told=lambda result: [*deadline_words.words(result), *deadline_words.notices(result)],
        lead=deadline_words.lead,
        chart=False,
        of_now=True,
    ),
    Question(
        "review",
        "Were past forecasts right?",
        lambda notebook, asked, moment: notebook.forecast_review(moment),
        lambda found: review_tables(found.result),
        {"reviews": lambda found: rows_of(found.result, "reviews")},
        options=("as_of",),
        told=review_words.words,
        lead=review_words.lead,
        chart=False,
        of_now=True,
    ),
)

BY_KEY = {each.key: each for each in QUESTIONS}


def notebook_of(notebook: Notebook, asked: Asked) -> Notebook:
    """The cohort with degree-days counted as is asked."""
    usual = HeatOptions()
    return notebook if asked.heat == usual else Notebook(notebook.path, asked.heat)


def drawn(question: Question, found: Found, **look: Style) -> Figure:
    """The chart of an answer, as the commands draw it; of another `look` than theirs, if given."""
    from rearlog.present.page import CHARTS  # start-up time: matplotlib

    draw, _ = CHARTS[question.key]
    more = beside(question.key, lambda: [found.notebook.stage_counts()], lambda: None)
    invented = found.notebook.log.cohort.invented
    return draw(question.charted(found.result), invented=invented, **more, **look)


def alt_text(question: Question, found: Found) -> str:
    """What stands for the chart where it cannot be seen."""
    from rearlog.present.page import CHARTS

    return CHARTS[question.key][1](question.charted(found.result))
