from datetime import UTC, datetime

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.stages.events import ALIVE, DEAD, LOST, REMOVED, event_history
from rearlog.records.log import Cohort, CohortLog, Individual, Observation
from tests.builders import seen, small_profile, tiny_log

EGG, L1, L2, L3, PUPA, ADULT = range(6)


def interval(log: CohortLog, stage: int, individual: int = 0) -> tuple[float, float]:
    history = event_history(log)
    return (
        float(history.into_low[individual, stage]),
        float(history.into_high[individual, stage]),
    )


def test_a_passage_lies_between_the_last_earlier_and_the_first_later_look() -> None:
    assert interval(tiny_log({"1": "egg egg L1 L1 L2"}), L1) == (1, 2)


def test_forgotten_days_widen_the_interval() -> None:
    assert interval(tiny_log({"1": "egg egg - - L1"}), L1) == (1, 4)


def test_a_witnessed_passage_is_exact() -> None:
    assert interval(tiny_log({"1": "egg egg L1!"}), L1) == (2, 2)


def test_boundaries_crossed_between_two_looks_share_the_interval() -> None:
    log = tiny_log({"1": "egg - L2"})
    assert interval(log, L1) == (0, 2)
    assert interval(log, L2) == (0, 2)


def test_only_the_last_of_several_boundaries_was_witnessed() -> None:
    log = tiny_log({"1": "egg - - L2!"})
    assert interval(log, L1) == (0, 3)
    assert interval(log, L2) == (3, 3)


def test_an_optional_stage_that_was_not_seen_did_not_happen() -> None:
    assert np.isnan(interval(tiny_log({"1": "egg L1 L2 pupa"}), L3)).all()
    assert interval(tiny_log({"1": "egg L1 L2 L3 pupa"}), L3) == (2, 3)


def test_the_start_of_the_stage_at_entry_is_unknown_unless_laying_is_known() -> None:
    assert np.isnan(interval(tiny_log({"1": "egg L1"}), EGG)).all()
    assert interval(tiny_log({"1": "egg L1"}, laid=(-0.5, 0.0)), EGG) == (-0.5, 0.0)
    assert np.isnan(interval(tiny_log({"1": "L1 L1"}, laid=(-0.5, 0.0)), L1)).all()
    log = tiny_log({"1": "egg L1"}, laid=(-0.5, -0.25))
    by = replace(log, individuals=(replace(log.individuals[0], laid_after=None),))
    assert interval(by, EGG) == (-0.25, -0.25)


@pytest.mark.parametrize(
    ("day", "stages"), [(0.0, (EGG, EGG)), (1.0, (EGG, L2)), (2.0, (EGG, L2)), (3.0, (L2, L2))]
)
def test_between_looks_it_may_be_in_any_stage_of_both(day: float, stages: tuple[int, int]) -> None:
    history = event_history(tiny_log({"1": "egg - - L2"}))
    low, high = history.stages_at(np.array([0]), np.array([day]))
    assert (low.tolist(), high.tolist()) == ([stages[0]], [stages[1]])


@pytest.mark.parametrize(
    ("life", "fate", "low", "high"),
    [
        ("egg egg egg", ALIVE, np.nan, np.nan),
        ("egg egg dead:mould", DEAD, 1, 2),
        ("egg egg - dead", DEAD, 1, 3),
        ("egg egg dead!", DEAD, 2, 2),
        ("egg egg - lost", LOST, 1, 3),
        ("egg egg - removed", REMOVED, 3, 3),
    ],
)
def test_fates_are_dated_by_what_the_looks_can_know(
    life: str, fate: int, low: float, high: float
) -> None:
    history = event_history(tiny_log({"1": life}))
    assert history.fate[0] == fate
    np.testing.assert_equal([history.end_low[0], history.end_high[0]], [low, high])


def test_a_stage_noted_at_death_was_reached_before_it() -> None:
    log = tiny_log({"1": "egg egg"})
    death = Observation("1", datetime(2026, 3, 12, 9, tzinfo=UTC), stage="L1", fate="dead")
    log = CohortLog(log.cohort, log.individuals, (*log.all_observations, death))
    history = event_history(log)
    assert history.last_rank[0] == L1
    assert interval(log, L1) == (1, 3)


def test_struck_records_do_not_count_and_order_of_writing_does_not_matter() -> None:
    log = tiny_log({"1": "egg egg L1 L2"})
    assert interval(CohortLog(log.cohort, log.individuals, log.all_observations[::-1]), L1) == (
        1,
        2,
    )


def test_the_night_the_clocks_change_is_an_hour_shorter() -> None:
    """Europe/London went to summer time on 2026-03-29: from 9:00 to 9:00 were 23 hours."""
    before = datetime.fromisoformat("2026-03-28T09:00:00+00:00")
    after = datetime.fromisoformat("2026-03-29T09:00:00+01:00")
    cohort = Cohort("dst", small_profile(), "Europe/London", before, before)
    log = CohortLog(cohort, (Individual("1", before, "egg"),), (Observation("1", after, "L1"),))
    assert interval(log, L1) == (0, pytest.approx(23 / 24))


def test_nobody_at_all() -> None:
    history = event_history(tiny_log({}))
    assert history.into_low.shape == (0, 6)


def test_who_passes_over_a_stage_that_all_must_pass_is_questionable() -> None:
    """L3 may be passed over; each is held against its own looks alone."""
    lives = ["egg L1 L2", "L1 L2 pupa", "egg L2 L2", "egg L1 pupa", "L2 pupa adult", "egg adult"]
    history = event_history(tiny_log({str(place): each for place, each in enumerate(lives)}))
    assert history.questionable == (2, 3, 5)


def test_each_is_watched_until_its_end_was_seen_or_as_long_as_it_was_known_to_live() -> None:
    lives = {
        "1": "egg - dead:mould",
        "2": "egg - removed",
        "3": "egg - - lost:escaped",
        "4": "egg L1",
    }
    history = event_history(tiny_log(lives))
    assert history.watched_until.tolist() == [2, 2, 0, 1]


def test_those_in_question_are_in_the_order_of_their_rows() -> None:
    """The ninth has looks that contradict each other, the first passed over a stage."""
    lives = {"0": "egg L2"} | {str(code): "egg L1" for code in range(1, 8)} | {"8": "egg L2 L1"}
    assert event_history(tiny_log(lives)).questionable == (0, 8)


@pytest.mark.parametrize(("first", "second"), [("L1", "L2"), ("L1", "dead"), ("egg", "L1!")])
def test_two_looks_at_one_moment_are_in_question_be_they_the_first_of_all(first, second) -> None:
    """The second does not follow the first; a look at the moment of the entry does."""
    log = tiny_log({"0": "egg", "1": "egg"})
    looks = (seen("1", 1, first), seen("1", 1, second))
    assert event_history(replace(log, all_observations=looks)).questionable == (1,)
    assert event_history(replace(log, all_observations=looks[:1])).questionable == ()
    entry = seen("1", 0, "egg")
    assert event_history(replace(log, all_observations=(entry,))).questionable == ()


def test_who_was_looked_at_until_its_end_is_not_in_question() -> None:
    lives = {"1": "egg L1 dead", "2": "egg L1 lost", "3": "egg L1"}
    assert event_history(tiny_log(lives)).questionable == ()
    assert event_history(tiny_log(lives | {"2": "egg L1 lost L1"})).questionable == (1,)
