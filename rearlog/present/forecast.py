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


def forecast_tables(result: Forecast) -> list[Table]:
    """The events of the cohort that are to come; then, in full, what they were reckoned with."""
    short = Table.of(
        f"{result.cohort} ({result.species}): what is to come, as of {weekday(result.as_of)}",
        result.events,
        [
            ("event", lambda each: f"{each.event}, overdue" if each.overdue else each.event),
            ("first from", lambda each: each.earliest and weekday(each.earliest)),
            ("half by", lambda each: each.likely and weekday(each.likely)),
            ("last by", lambda each: each.latest and weekday(each.latest)),
            ("still to come", lambda each: each.n),
            ("came", lambda each: each.came),
        ],
        [f"Temperature to come: {forecast_words.temperature(result)}."],
    )
    events = Table.of(
        f"{result.cohort} ({result.species}): what is to come, as of {result.as_of}",
        result.events,
        [
            ("event", lambda each: each.event),
            ("earliest", lambda each: each.earliest),
            ("likely", lambda each: each.likely),
            ("latest", lambda each: each.latest),
            ("to come", lambda each: each.n),
            ("came", lambda each: each.came),
            ("overdue", lambda each: each.overdue),
        ],
        [
            f"earliest to latest: {percent(result.window)} of those to come; likely: half of them "
            "by then.",
            *forecast_words.words(result),
        ],
        full=True,
    )
    paces = Table.of(
        f"{result.unit.capitalize()} that the stages take",
        result.paces,
        [
            ("stage", lambda each: each.stage),
            ("profile", lambda each: each.profile),
            ("this cohort", lambda each: each.adjusted),
            ("SE", lambda each: each.se),
            ("finished", lambda each: each.finished),
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
        Table.of(
            f"{result.cohort}: what is to come of each individual, as of {result.as_of}",
            result.individuals,
            [
                ("individual", lambda each: each.individual),
                ("now", lambda each: each.stage),
                ("event", lambda each: each.event),
                ("earliest", lambda each: each.earliest),
                ("likely", lambda each: each.likely),
                ("latest", lambda each: each.latest),
                ("seen on", lambda each: each.seen_on),
                (
                    "overdue",
                    lambda each: "" if each.overdue_days is None else overdue(each.overdue_days),
                ),
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
        Table.of(
            f"{result.cohort}: past forecasts beside what happened",
            result.reviews,
            [
                ("as of", lambda each: each.as_of),
                ("event", lambda each: each.event),
                ("n", lambda each: each.n),
                ("in window", lambda each: each.inside),
                ("outside", lambda each: each.outside),
                ("days ahead", lambda each: each.days_ahead),
                ("days late", lambda each: each.days_late),
                ("days off", lambda each: each.days_off),
            ],
            review_words.words(result)[1:],
        )
    ]


def deadline_tables(result: Deadline) -> list[Table]:
    """What it takes for the last event to have come by a day."""
    return [
        Table.of(
            f"{result.cohort}: for {result.event} by {result.by}, as of {result.as_of}",
            result.aims,
            [
                ("how many", lambda each: f"{100 * each.share:.0f} %"),
                (
                    "°C from now on",
                    lambda each: None if each.celsius is None else f"{each.celsius:g}",
                ),
                ("or a new cohort laid by", lambda each: each.laid_by),
            ],
            deadline_words.words(result),
        )
    ]
