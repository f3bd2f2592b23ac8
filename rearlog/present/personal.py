"""Which fields may tell who somebody is, as tables and words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from rearlog.present.tables import Table
from rearlog.records.entries import shortened

if TYPE_CHECKING:
    from rearlog.records.log import CohortLog
    from rearlog.records.nameless import Treated

MOST_SHOWN = 6
"""So many values of a field are named, and how many more there are."""


def treated_table(rows: Iterable[Treated]) -> Table:
    """What becomes of each field."""
    return Table.of(
        "What may tell who somebody is",
        rows,
        [
            ("field", lambda each: each.field),
            ("becomes", lambda each: each.treatment),
            ("n", lambda each: len(each.values)),
            ("values", lambda each: listed(each.values)),
        ],
    )


def listed(values: Sequence[str]) -> str:
    """Some values, and how many more there are."""
    more = len(values) - MOST_SHOWN
    told = ", ".join(shortened(value) for value in values[:MOST_SHOWN])
    return f"{told} and {more} more" if more > 0 else told


def shown_on_the_page(logs: Sequence[CohortLog], *, observers: bool) -> str:
    """Which fields of these logs that may tell who somebody is stand on the page, and which do not.

    `observers`: whether it compares them.
    """
    cohorts = [log.cohort for log in logs]
    causes = any(each.cause for log in logs for checks in log.checks.values() for each in checks)
    held = {
        "the cohorts' names": True,
        "the individuals' codes": True,
        "places": any(each.place for each in cohorts),
        "food": any(each.food for each in cohorts),
        "factors": any(each.factors for each in cohorts),
        "what cohorts come from": any(each.origins for each in cohorts),
        "causes of death in your words": causes,
        "the observers who are compared": observers,
    }
    shown = ", ".join(name for name, is_held in held.items() if is_held)
    return f"it shows {shown}; no {'' if observers else 'observers, '}notes, containers, clutches"
