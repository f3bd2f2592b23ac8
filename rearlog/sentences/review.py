"""What past forecasts were worth, in words."""

from __future__ import annotations

from rearlog.analysis.forecasting.review import Review, ReviewSummary
from rearlog.analysis.statistics.levels import WINDOW
from rearlog.sentences.phrases import percent
from rearlog.sentences.texts import Texts


def lead(result: Review) -> str:
    """How many forecasts held what came."""
    return words(result)[0]


def words(result: Review) -> tuple[str, ...]:
    """How many forecasts held what came, and how far off they were."""
    if not result.summaries:
        none = "No forecast can be reviewed yet: none of the events that were forecast has come."
        return (none,)
    return tuple(map(_summary, result.summaries))


def _summary(each: ReviewSummary) -> str:
    off = f"{abs(each.days_late):.1f}"
    late = f"{off} days {'later' if each.days_late > 0 else 'sooner'} than forecast on average"
    came = "On average it came when it was forecast" if off == "0.0" else f"It came {late}"
    return (
        f"Of {each.n} forecasts of the {each.event}, {percent(each.inside)} held it in their "
        f"window and {percent(each.outside)} did not ({percent(1 - WINDOW)} may); of the others "
        f"the checks cannot tell. {came}, {each.days_off:.1f} days off either way."
    )


TEXTS: Texts = {Review: {"words": words}}
