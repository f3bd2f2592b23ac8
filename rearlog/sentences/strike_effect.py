"""What putting a record right changes, and what it leaves as it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rearlog.records.wording import counted

if TYPE_CHECKING:
    from rearlog.analysis.comparing.strike_effect import StrikeEffect


def stays(result: StrikeEffect, not_shown: int) -> str:
    """How many figures stay as they are, `not_shown` being the changes too small for a table."""
    if not not_shown:
        return f"{counted(result.unchanged, 'other figure')} {_stay(result.unchanged)}."
    change = "changes" if not_shown == 1 else "change"
    return (
        f"{counted(not_shown, 'other figure')} {change} by less than is shown here, and "
        f"{result.unchanged} {_stay(result.unchanged)}."
    )


def _stay(count: int) -> str:
    return "stays as it is" if count == 1 else "stay as they are"
