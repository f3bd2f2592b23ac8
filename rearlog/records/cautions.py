"""What can hurt someone, in short; local rules and licensed practice come first."""

from __future__ import annotations

from collections.abc import Iterable

from rearlog.records.fates import Fate
from rearlog.records.log import Observation

RELEASE = (
    "Do not release lab or shop stock, or animals that look ill; elsewhere too a release may need "
    "a permit: check local rules, and ask the authority or a licensed specialist first."
)

CAUTIONS = (
    "Collecting, keeping, moving and releasing insects is regulated in many places: check local "
    "rules, and ask the authority or a licensed specialist first.",
    "Do not release lab or shop stock, or animals that look ill.",
    "Hairs, scales and plant saps can irritate skin and eyes and trigger allergies: wear gloves, "
    "wash hands, do not rub your eyes, and follow the safety rules of the school or lab.",
    "Crowding spreads disease.",
    "Observers’ names are personal data: use initials, and leave them out of what is published.",
)


def caution_on(observations: Iterable[Observation]) -> str | None:
    """The caution that belongs to what was recorded, where there is one: on a release."""
    released = any(
        each.fate == Fate.REMOVED and "releas" in (each.cause or "").casefold()
        for each in observations
    )
    return RELEASE if released else None
