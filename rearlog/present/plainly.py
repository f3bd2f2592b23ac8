"""What a page says first, for those who do not know the trade's words."""

from __future__ import annotations

from rearlog.present.contents import Contents
from rearlog.sentences import compare as comparison_words
from rearlog.sentences import durations as durations_words
from rearlog.sentences import survival as survival_words
from rearlog.sentences.short_words import short_words


def plainly(contents: Contents) -> list[str]:
    """How many there were, became adults and died; how long it took; whether cohorts differ."""
    outcomes = [survival_words.plainly(each.survival) for each in contents.cohorts]
    if contents.many:
        outcomes = []  # the sentence on top is of all
    if contents.comparison is None:
        return [*outcomes, *durations_words.plainly(contents.cohorts[0].whole)]
    return [*outcomes, *comparison_words.plainly(contents.comparison)]


def codes(contents: Contents) -> list[str]:
    """What the short words mean that stand in the pictures, as far as they are used."""
    return short_words(
        (stage for each in contents.cohorts for stage in each.stage_counts.stages),
        (each.heat.lower for each in contents.cohorts if each.heat),
        compared=contents.comparison is not None,
    )
