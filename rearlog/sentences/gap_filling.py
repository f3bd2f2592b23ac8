"""Days without a temperature, and what was made of them: the one sentence of every answer."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from rearlog.analysis.heat.daily_temperatures import LONGEST_FILL_DAYS
from rearlog.analysis.heat.gap_filling import TemperatureGaps
from rearlog.records.command_text import CommandText
from rearlog.records.logger_days import LONGEST_READING_GAP_DAYS
from rearlog.records.wording import counted, day_runs
from rearlog.sentences.phrases import listed


def gaps(found: TemperatureGaps) -> CommandText:
    """Which days took the temperature of others, which are not known, and the command that fills
    them. Without a full stop.
    """
    parts = []
    if found.filled:
        parts.append(f"{_days(found.filled)}: taken from the days beside")
    if found.unknown:
        parts.append(
            f"{_days(found.unknown)}: not known, since no more than "
            f"{counted(LONGEST_FILL_DAYS, 'day')} in a row are taken from the days beside"
        )
    if found.sparse:
        hours = f"{24 * LONGEST_READING_GAP_DAYS:g} hours"
        parts[-1] += f" ({found.sparse} of these days have readings, with gaps of over {hours})"
    day = (found.unknown or found.filled)[0]
    told = f"No temperature on record for {'; for '.join(parts)}"
    return told + remedy(found.cohort, day)


def remedy(cohort: str, day: date) -> CommandText:
    """What a sentence ends with: the command that fills a gap."""
    return CommandText(f"; to fill it: rearlog temps {cohort} --min MIN --max MAX --on {day}", "")


def _days(days: Sequence[date]) -> str:
    runs = [f"{first}" if first == last else f"{first} to {last}" for first, last in day_runs(days)]
    return f"{counted(len(days), 'day')} ({listed(runs)})"
