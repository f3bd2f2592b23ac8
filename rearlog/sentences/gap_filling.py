"""Which temperatures were made up for."""

from __future__ import annotations

from rearlog.analysis.heat.gap_filling import FilledGaps
from rearlog.records.wording import counted


def filled(gaps: FilledGaps) -> str:
    """Which days took the temperature of others, without a full stop."""
    between = (
        f"on {gaps.first}" if gaps.first == gaps.last else f"between {gaps.first} and {gaps.last}"
    )
    days = counted(gaps.days, "day")
    return f"{days} {between} without a temperature: taken from the days beside"
