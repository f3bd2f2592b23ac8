import pytest
from msgspec.structs import replace

from rearlog.records.errors import RecordError
from rearlog.records.log import CohortLog, DayExtremes, Mark
from rearlog.records.striking import struck_out, taken_back
from tests.builders import START, moment, tiny_log

MARK = Mark(moment(9), "wrong cup", "KT")


def numbered(line: str) -> CohortLog:
    """One life, its checks numbered from 1, and one day's temperature, T1."""
    log = tiny_log({"1": line})
    checks = [
        replace(each, number=place) for place, each in enumerate(log.all_observations, start=1)
    ]
    day = DayExtremes(START.date(), 18, 23, number=1)
    return replace(log, all_observations=tuple(checks), all_temperatures=(day,))


def test_what_is_struck_stays_with_its_mark_and_no_longer_counts() -> None:
    log = struck_out(numbered("egg egg L1 L2"), [2], [1], MARK)
    assert log.all_observations[1].struck == MARK
    assert [each.stage for each in log.checks["1"]] == ["egg", "L2"]
    assert log.temperatures == ()


@pytest.mark.parametrize(
    ("line", "numbers", "message"),
    [
        ("egg L1 L2", [4], "no record @4"),
        ("egg L1 L2", [1, 2, 3, 4], "no record @3\\b.*\n.*no record @4"),
    ],
)
def test_what_cannot_be_struck(line: str, numbers: list[int], message: str) -> None:
    with pytest.raises(RecordError, match=message):
        struck_out(numbered(line), numbers, [], MARK)


@pytest.mark.parametrize("line", ["egg L1 L2", "egg L1! L2!", "egg L1 dead"])
def test_the_last_record_can_always_be_struck(line: str) -> None:
    log = numbered(line)
    assert len(struck_out(log, [2], [], MARK).checks["1"]) == 1


def test_nothing_is_struck_twice() -> None:
    once = struck_out(numbered("egg L1 L2"), [2], [1], MARK)
    with pytest.raises(RecordError, match="@2 is struck out already: wrong cup"):
        struck_out(once, [2], [], MARK)
    with pytest.raises(RecordError, match="@T1 is struck out already"):
        struck_out(once, [], [1], MARK)


def test_a_strike_is_taken_back_and_both_are_kept() -> None:
    log = struck_out(numbered("egg egg L1 L2"), [2], [1], MARK)
    back = Mark(moment(10), "it was the right cup", "JL")
    log = taken_back(log, [2], [1], back)
    assert log.all_observations[1].marks == (MARK, replace(back, back=True))
    assert [each.stage for each in log.checks["1"]] == ["egg", "L1", "L2"]
    assert len(log.temperatures) == 1
    again = struck_out(log, [2], [], replace(MARK, at=moment(11)))
    assert [each.stage for each in again.checks["1"]] == ["egg", "L2"]


def test_only_what_is_struck_is_taken_back() -> None:
    with pytest.raises(RecordError, match="@2 is not struck out"):
        taken_back(numbered("egg L1 L2"), [2], [], MARK)


def test_what_came_in_the_place_of_a_struck_record_keeps_it_out() -> None:
    log = struck_out(numbered("egg egg L1"), [2], [], MARK)
    log = log.with_checks([replace(log.all_observations[1], stage="L2", marks=(), number=3)])
    with pytest.raises(RecordError, match="a check of it at that moment already"):
        taken_back(log, [2], [], MARK)
