"""The tables of what is to come. Nothing is computed here, only laid out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rearlog.present.tables import Table
from rearlog.records.wording import overdue, weekday
from rearlog.sentences import deadline as deadline_words
from rearlog.sentences import forecast as forecast_words
from rearlog.sentences import review as review_words
from rearlog.sentences.phrases import percent

if TYPE_CHECKING:
    from rearlog.analysis.forecasting.deadline import Deadline
    from rearlog.analysis.forecasting.forecast import Forecast
    from rearlog.analysis.forecasting.review import Review

_WINDOW = ["earliest", "likely", "latest"]


def forecast_tables(result: Forecast) -> list[Table]:
    """The events of the cohort that are to come; then, in full, what they were reckoned with."""
    short = Table(
        f"{result.cohort} ({result.species}): what is to come, as of {weekday(result.as_of)}",
        ["event", "first from", "half by", "last by", "still to come", "came"],
        [
            [
                f"{each.event}, overdue" if each.overdue else each.event,
                *(day and weekday(day) for day in (each.earliest, each.likely, each.latest)),
                each.n,
                each.came,
            ]
            for each in result.events
        ],
        [f"Temperature to come: {forecast_words.temperature(result)}."],
    )
    events = Table(
        f"{result.cohort} ({result.species}): what is to come, as of {result.as_of}",
        ["event", *_WINDOW, "to come", "came", "overdue"],
        [
            [
                each.event,
                each.earliest,
                each.likely,
                each.latest,
                each.n,
                each.came,
                each.overdue,
            ]
            for each in result.events
        ],
        [
            f"earliest to latest: {percent(result.window)} of those to come; likely: half of them "
            "by then.",
            *forecast_words.words(result),
        ],
        full=True,
    )
    paces = Table(
        f"{result.unit.capitalize()} that the stages take",
        ["stage", "profile", "this cohort", "SE", "finished"],
        [
            [each.stage, each.profile, each.adjusted, each.se, each.finished]
            for each in result.paces
        ],
        full=True,
    )
    return (
        [short, paces, events]
        if any(each.likely is not None for each in result.events)
        else [Table(events.title, [], [], forecast_words.words(result), full=True)]
    )


def individual_forecast_table(result: Forecast) -> list[Table]:
    """The next event and the last of every individual."""
    return [
        Table(
            f"{result.cohort}: what is to come of each individual, as of {result.as_of}",
            ["individual", "now", "event", *_WINDOW, "seen on", "overdue"],
            [
                [
                    each.individual,
                    each.stage,
                    each.event,
                    each.earliest,
                    each.likely,
                    each.latest,
                    each.seen_on,
                    "" if each.overdue_days is None else overdue(each.overdue_days),
                ]
                for each in result.individuals
            ],
            [
                f"earliest to latest holds it with {percent(result.window)}; likely: as probably "
                "before as after; seen on: the usual check that then shows it.",
                *forecast_words.words(result),
            ],
        )
    ]


def review_tables(result: Review) -> list[Table]:
    """What past forecasts were worth, day by day."""
    return [
        Table(
            f"{result.cohort}: past forecasts beside what happened",
            ["as of", "event", "n", "in window", "outside", "days ahead", "days late", "days off"],
            [
                [
                    each.as_of,
                    each.event,
                    each.n,
                    each.inside,
                    each.outside,
                    each.days_ahead,
                    each.days_late,
                    each.days_off,
                ]
                for each in result.reviews
            ],
            review_words.words(result)[1:],
        )
    ]


def deadline_tables(result: Deadline) -> list[Table]:
    """What it takes for the last event to have come by a day."""
    return [
        Table(
            f"{result.cohort}: for {result.event} by {result.by}, as of {result.as_of}",
            ["how many", "°C from now on", "or a new cohort laid by"],
            [
                [
                    f"{100 * each.share:.0f} %",
                    None if each.celsius is None else f"{each.celsius:g}",
                    each.laid_by,
                ]
                for each in result.aims
            ],
            deadline_words.words(result),
        )
    ]
