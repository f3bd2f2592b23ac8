"""Calls of two observers, for the tests of how far they agree."""

from datetime import timedelta

from msgspec.structs import replace

from rearlog.analysis.agreement.agreement import Agreement, agreement
from rearlog.analysis.stages.events import event_history
from rearlog.records.log import CohortLog, Observation
from tests.builders import moment, tiny_log


def called(individual: str, day: float, stage: str, by: str | None) -> Observation:
    return Observation(individual, moment(day), stage=stage, by=by)


def log_of(*calls: Observation) -> CohortLog:
    codes = dict.fromkeys(each.individual for each in calls)
    log = tiny_log(dict.fromkeys(codes, "egg"))
    numbered = tuple(replace(each, number=n) for n, each in enumerate(calls, start=1))
    return CohortLog(log.cohort, log.individuals, numbered)


def found_in(log: CohortLog, **options: timedelta) -> Agreement:
    return agreement(log, event_history(log), **options)


QUARTER = 0.25 / 24
"""A quarter of an hour, in days."""

ROUND = [
    (code, stage, other)
    for code, stage, other in (
        *((f"a{n}", "L1", "L1") for n in range(8)),
        *((f"b{n}", "L2", "L2") for n in range(6)),
        *((f"c{n}", "L2", "L3") for n in range(2)),
        ("d", "L1", "L3"),
        ("e", "pupa", "pupa"),
    )
]


def a_round() -> CohortLog:
    """Two observers look at eighteen individuals, the one a quarter of an hour after the other."""
    return log_of(
        *(called(code, 5, stage, "MB") for code, stage, _ in ROUND),
        *(called(code, 5 + QUARTER, other, "KT") for code, _, other in ROUND),
    )
