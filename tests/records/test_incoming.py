from collections.abc import Sequence
from datetime import datetime, timedelta

import pytest
from msgspec.structs import replace

from rearlog.records.errors import Problem
from rearlog.records.incoming import Incoming, NewChecks, Placed, new_checks
from rearlog.records.log import CohortLog, Mark, Observation
from tests.builders import moment, seen, tiny_log


@pytest.fixture
def log() -> CohortLog:
    """Three eggs from 2026-03-09, 09:00 UTC; the first one seen as L1 on the next day."""
    return tiny_log({"A01": "egg L1", "A02": "egg", "A03": "egg"})


@pytest.fixture
def now() -> datetime:
    return moment(30)


def arriving(*checks: Observation, day_only: bool = False) -> Incoming:
    return Incoming(
        tuple(Placed(check, f"line {row}", day_only) for row, check in enumerate(checks, start=2))
    )


def refusals(log: CohortLog, incoming: Incoming, now: datetime) -> Sequence[Problem]:
    return new_checks(log, incoming, now).problems


def test_the_same_file_again_adds_nothing(log: CohortLog, now: datetime) -> None:
    incoming = arriving(seen("A01", 2, "L2"), seen("A02", 2, "dead:mould"))
    added = new_checks(log, incoming, now).checks
    assert len(added) == 2
    assert new_checks(log.with_checks(added), incoming, now) == NewChecks([], [])


def test_a_file_that_says_less_than_the_log_adds_nothing(log: CohortLog, now: datetime) -> None:
    full = replace(seen("A01", 2, "L2!"), length_mm=4.0, by="KT", note="shy")
    incoming = arriving(seen("A01", 2, "L2"))
    assert new_checks(log.with_checks([full]), incoming, now) == NewChecks([], [])


def test_a_file_that_says_more_contradicts(log: CohortLog, now: datetime) -> None:
    known = log.with_checks([replace(seen("A01", 2, "L2"), number=7)])
    more = replace(seen("A01", 2, "L2"), length_mm=4.0)
    [problem] = refusals(known, arriving(seen("A02", 2, "L1"), more), now)
    assert problem.place == "line 3"
    assert problem.message == ("@7 says “A01 L2” of that moment, the file “A01 L2 len=4”")


def test_a_file_that_saw_the_passage_contradicts_one_that_did_not(
    log: CohortLog, now: datetime
) -> None:
    known = log.with_checks([seen("A01", 2, "L2")])
    assert len(refusals(known, arriving(seen("A01", 2, "L2!")), now)) == 1


def test_a_struck_record_is_no_obstacle(log: CohortLog, now: datetime) -> None:
    struck = replace(seen("A01", 2, "pupa"), marks=(Mark(now, "a slip"),))
    check = seen("A01", 2, "L2")
    assert new_checks(log.with_checks([struck]), arriving(check), now) == NewChecks([check], [])


def test_a_day_alone_is_known_if_it_was_recorded_earlier_that_day(
    log: CohortLog, now: datetime
) -> None:
    early, late = moment(2) - timedelta(hours=1), moment(2) + timedelta(hours=1)
    check = seen("A01", 2, "L2")
    for at, there in ((early, True), (moment(2), True), (late, False)):
        known = log.with_checks([replace(check, at=at)])
        added = new_checks(known, arriving(check, day_only=True), now).checks
        assert (added == []) == there
    known = log.with_checks([replace(check, at=early)])
    assert new_checks(known, arriving(check), now).checks == [check]


def test_broken_rules_are_told_at_their_place_beside_the_bad_cells(
    log: CohortLog, now: datetime
) -> None:
    incoming = replace(
        arriving(
            seen("A01", 3, "egg"),
            seen("A02", 2, "dead"),
            seen("A02", 3, "L1"),
            seen("A03", 31, "L1"),
            seen("A03", -1, "L1"),
        ),
        problems=(Problem("no such stage", "line 9"),),
    )
    problems = refusals(log, incoming, now)
    assert {problem.place for problem in problems} == {
        "line 9", "line 5", "line 6"
    }  # fmt: skip
    assert {
        (problem.place, problem.message) for problem in problems if problem.place in ("line 5",)
    } == {
        ("line 5", "the check is in the future"),
    }
