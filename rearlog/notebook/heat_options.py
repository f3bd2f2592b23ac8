"""How heat is counted."""

from __future__ import annotations

from msgspec import Struct


class HeatOptions(Struct, frozen=True):
    """What a user may choose about degree-days; None takes the profile's or the usual choice."""

    lower: float | None = None
    upper: float | None = None
    method: str | None = None
    cutoff: str = "horizontal"
