"""What the numbers of forecasts are, and of what is due."""

from __future__ import annotations

from rearlog.sentences.meanings.word import Word

_WINDOW = ("EventForecast", "IndividualForecast", "DueEvent", "Days", "Coming")

COMING = (
    Word(
        ("earliest", "likely", "latest", "first from", "half by", "last by"),
        "the window of an event to come: from earliest to latest lies the part of outcomes that "
        "was asked for (nine in ten), and half by the likely day",
        by="forecasting.forecast.forecast",
        kinds=_WINDOW,
    ),
    Word(
        ("earliest", "latest"),
        "when the passage is expected by the species profile, in days since the start",
        by="stages.progress.expected_events",
        kinds=("ExpectedEvent",),
    ),
    Word(
        ("n", "still to come", "to come"),
        "how many are still to come to it",
        kinds=("EventForecast",),
    ),
    Word(("came",), "how many have come to it", kinds=("EventForecast",)),
    Word(("now",), "the stage that it is in", kinds=("IndividualForecast",)),
    Word(
        ("seen_on", "seen on"),
        "the day of the usual check that then shows it",
        kinds=("IndividualForecast",),
    ),
    Word(
        ("overdue_days", "overdue"),
        "by how many days the end of the window is over that it had before it was seen not to have "
        "come",
        kinds=("IndividualForecast", "DueEvent", "EventForecast"),
    ),
    Word(("known_until",), "the moment up to which temperatures are on record"),
    Word(("paces",), "what the stages take, by the profile and in this cohort"),
    Word(("profile",), "what the profile expects the stage to take", kinds=("StagePace",)),
    Word(
        ("adjusted", "this cohort"),
        "what this cohort is taken to need, by the stages that it has finished",
        by="forecasting.cohort_pace.cohort_pace",
        kinds=("StagePace",),
    ),
    Word(("temperature_basis",), "what is taken for the temperature to come"),
    Word(("temperature_words", "summary"), "the same in words"),
    Word(("last",), "the last day with a temperature on record", kinds=("NoTemperatureSince",)),
    Word(("threshold_known",), "whether a lower threshold is known"),
    Word(("measured_celsius",), "the temperatures that the values were measured at, °C"),
    Word(("share",), "the SD as a part of the mean", kinds=("SpreadAssumed",)),
    Word(("reviews",), "past forecasts, each beside what happened"),
    Word(("summaries",), "what the reviews come to, by event"),
    Word(
        ("n",),
        "forecasts of which it is known what came",
        kinds=("ForecastReview", "ReviewSummary"),
    ),
    Word(
        ("inside", "in window", "outside"),
        "how many came certainly within, and certainly outside the window that they had been given",
        by="forecasting.review.review",
        kinds=("ForecastReview", "ReviewSummary"),
    ),
    Word(
        ("days_ahead", "days ahead"),
        "how many days ahead the event was foretold, on average",
        kinds=("ForecastReview",),
    ),
    Word(
        ("days_late", "days late"),
        "how much later than the likely moment events came on average; below 0: sooner",
        kinds=("ForecastReview", "ReviewSummary"),
    ),
    Word(
        ("days_off", "days off"),
        "how far off the likely moment events came on average, either way",
        kinds=("ForecastReview", "ReviewSummary"),
    ),
    Word(("aims",), "what it takes, for several parts of the cohort"),
    Word(("share", "how many"), "the part that is to be there by the day", kinds=("Aim",)),
    Word(
        ("celsius", "°C from now on"),
        "the constant temperature from now on that it takes, in whole degrees",
        by="forecasting.deadline.deadline",
        kinds=("Aim",),
    ),
    Word(
        ("laid_by", "or a new cohort laid by"),
        "the last day on which eggs of a new cohort may be laid for it",
        by="forecasting.deadline.deadline",
        kinds=("Aim",),
    ),
    # what is due
    Word(("in short", "in_short"), "what is due in the cohort, in a line"),
    Word(("when",), "overdue, due today, or soon", kinds=("DueEvent",)),
    Word(("events",), "what is to come to each individual", kinds=("Due",)),
    Word(("not_seen",), "those whom nobody has looked at lately"),
    Word(("last_seen",), "the day on which it was last looked at"),
    Word(("days",), "how many days nobody has looked at it", kinds=("NotSeen",)),
    Word(("what",), "whether events are due today, tomorrow or later", kinds=("NextEvents",)),
    Word(("n",), "how many there are of them", kinds=("StageCount", "Ended")),
    Word(("look",), "a look that contradicts another", kinds=("InDoubt",)),
    Word(("blame",), "whether the record is taken for a mistake, or may be one", kinds=("Told",)),
    # an animal found
    Word(("found_on",), "the day on which it was found"),
    Word(("celsius",), "the temperature that it has all its life, °C", kinds=("FoundAnimal",)),
    Word(("window",), "the part of outcomes that lie from earliest to latest"),
    Word(
        ("wait", "in days", "low", "high"),
        "in how many days it should come, with the range of nine in ten",
        by="forecasting.found_animal.found_animal",
        kinds=("Coming", "Wait"),
    ),
    Word(("on",), "on which day it should come", kinds=("Coming",)),
    Word(("events",), "all passages that are to come to someone", kinds=("Forecast",)),
    Word(("warmest",), "the warmest temperature that is named, °C", kinds=("Deadline",)),
    Word(
        ("untold",),
        "the stages of which the profile does not tell how long they take",
        kinds=("FoundAnimal",),
    ),
    Word(
        ("expected",),
        "how many should be in the last stage by the end of the day, those there already counted",
        kinds=("EmergenceDay",),
    ),
    Word(
        ("came",), "how many are in the last stage by the end of the day", kinds=("EmergenceDay",)
    ),
    Word(("by",), "the day by which the last event is to have come", kinds=("Deadline",)),
)
