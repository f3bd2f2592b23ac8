"""Time as a cohort counts it: days of 86,400 seconds since its start."""

from __future__ import annotations

SECONDS_PER_DAY = 86_400.0
