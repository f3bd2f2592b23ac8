"""Counts by stage and day, checked against counting the records by hand."""

from datetime import date, timedelta, timezone

from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from rearlog.analysis.stages.events import event_history
from rearlog.analysis.stages.stage_counts import StageCounts, stage_counts
from rearlog.records.clock import midnights
from rearlog.records.log import CohortLog, state_at
from tests.builders import START, moment, seen, tiny_log


def counted(log: CohortLog) -> StageCounts:
    return stage_counts(log.cohort, event_history(log))


def test_each_day_shows_what_its_checks_had_seen() -> None:
    result = counted(
        tiny_log({"1": "egg egg L1 L1", "2": "egg dead", "3": "egg - - L2", "4": "egg lost"})
    )
    first, *_, last = result.days
    assert result.stages[:3] == ("egg", "L1", "L2")
    assert (first.date, first.in_stage[:3]) == (date(2026, 3, 9), (4, 0, 0))
    assert (last.date, last.in_stage[:3]) == (date(2026, 3, 12), (0, 1, 1))
    assert (last.dead, last.lost, last.removed) == (1, 1, 0)
    # nobody looked at 3 on the days between, so it still counts as an egg
    assert [day.in_stage[0] for day in result.days] == [4, 2, 1, 0]


def test_who_enters_later_counts_from_then_on() -> None:
    log = tiny_log({"1": "egg egg egg", "2": "egg"})
    late = replace(log.individuals[1], entered_at=moment(1))
    result = counted(CohortLog(log.cohort, (log.individuals[0], late), log.all_observations))
    assert [sum(day.in_stage) for day in result.days] == [1, 2, 2]


def test_who_enters_at_midnight_counts_from_the_day_that_begins() -> None:
    log = tiny_log({"1": "egg egg", "2": "egg"})
    late = replace(log.individuals[1], entered_at=moment(15 / 24))
    result = counted(CohortLog(log.cohort, (log.individuals[0], late), log.all_observations))
    assert [sum(day.in_stage) for day in result.days] == [1, 2]


def test_what_is_seen_at_midnight_counts_from_the_day_that_begins() -> None:
    midnight = 15 / 24
    looks = (seen("1", midnight, "L1"), seen("2", midnight, "dead"), seen("3", 1.0, "egg"))
    result = counted(replace(tiny_log(dict.fromkeys("123", "egg")), all_observations=looks))
    assert [(day.in_stage[:2], day.dead) for day in result.days] == [((3, 0), 0), ((1, 1), 1)]


def test_arrivals_are_the_middles_of_their_brackets() -> None:
    result = counted(tiny_log({"1": "egg L1", "2": "egg egg L1", "3": "egg egg egg egg L1"}))
    arrival = result.arrivals[0]
    assert (arrival.stage, arrival.n) == ("L1", 3)
    assert (arrival.first, arrival.median, arrival.last) == (moment(0.5), moment(1.5), moment(3.5))


def test_half_were_seen_on_the_day_whose_looks_showed_so_many() -> None:
    # looks at 9:00: the second of three is L1 at that of the 11th, halfway since that of the 10th
    lives = {"1": "egg L1 - dead", "2": "egg egg L1", "3": "egg egg egg egg L1"}
    arrival = counted(tiny_log(lives)).arrivals[0]
    assert (arrival.median, arrival.half_seen) == (moment(1.5), date(2026, 3, 11))
    # two of four are half of them
    arrival = counted(tiny_log({**lives, "4": "egg egg egg L1"})).arrivals[0]
    assert arrival.half_seen == date(2026, 3, 11)


def test_what_half_are_seen_in_at_midnight_counts_from_the_day_that_begins() -> None:
    log = replace(tiny_log({"1": "egg"}), all_observations=(seen("1", 15 / 24, "L1"),))
    assert counted(log).arrivals[0].half_seen == date(2026, 3, 10)


def test_a_day_ends_at_midnight_in_the_zone_of_the_cohort() -> None:
    log = tiny_log({"1": "egg"}, zone="Pacific/Auckland")
    local = START.astimezone(timezone(timedelta(hours=13)))  # 22:00 there
    after_midnight = seen("1", 2.5 / 24, "L1")
    cohort = replace(log.cohort, started=local)
    result = counted(CohortLog(cohort, log.individuals, (after_midnight,)))
    assert [(day.date.day, day.in_stage[:2]) for day in result.days] == [(9, (1, 0)), (10, (0, 1))]


def test_an_empty_cohort_has_one_empty_day() -> None:
    (day,) = counted(tiny_log({})).days
    assert (sum(day.in_stage), day.dead) == (0, 0)


STATES = ["egg", "L1", "L2", "pupa", "adult"]


@st.composite
def lives(draw: st.DrawFn) -> str:
    """A life that never goes back, with days on which nobody looked, and perhaps an end."""
    steps = sorted(draw(st.lists(st.integers(0, 4), min_size=1, max_size=9)))
    line = [STATES[step] for step in steps]
    for place in range(1, len(line)):
        if draw(st.booleans()):
            line[place] = "-"
    end = draw(st.sampled_from(["", "dead", "lost", "removed"]))
    return " ".join([*line, end])


@given(st.lists(lives(), min_size=1, max_size=6))
def test_every_day_agrees_with_the_records_read_one_by_one(lines: list[str]) -> None:
    log = tiny_log({str(place): line for place, line in enumerate(lines)})
    result = counted(log)
    ends = midnights(result.days[0].date, len(result.days), "UTC")[1:]
    for day, end in zip(result.days, ends, strict=True):
        states = [state_at(each, log.checks[each.code], end) for each in log.individuals]
        living = [stage for stage, _, fate in states if fate is None]
        assert list(day.in_stage) == [living.count(stage) for stage in result.stages]
        fates = [fate for _, _, fate in states]
        assert (day.dead, day.lost, day.removed) == tuple(
            fates.count(name) for name in ("dead", "lost", "removed")
        )
        assert sum(day.in_stage) + day.dead + day.lost + day.removed == result.n
