"""The stage of a look that said “no change”: that of the calls before it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from rearlog.records.log import CohortLog, Observation

StagesOf = Callable[[CohortLog], Mapping[Observation, str]]
"""Tells the stages of those looks of a log that said “no change”."""


def derived_stages(log: CohortLog) -> dict[Observation, str]:
    """The stages of all looks that stand and said “no change”.

    It is the stage called last: when that call is struck out, the stages follow.
    """
    found = {}
    for code, checks in log.checks.items():
        stage = log.by_code[code].stage
        for check in checks:
            stage = check.stage or stage
            if check.same:
                found[check] = stage
    return found
