"""Adults are looked at for weeks, lay and die: what is said of development stays what it was.

Day 0 is 2026-03-09 09:00. All are adult by day 4 but one that dies as a pupa; they are watched
until day 44, at another temperature from the end of day 3 on.
"""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from rearlog.notebook import Notebook
from rearlog.records.asked_round import begin
from rearlog.records.fates import Fate
from rearlog.records.log import CohortLog, ConstantTemperature, Observation
from tests.analysis.reproduction.laying_cohort import same
from tests.builders import START, moment, notebook_of, seen, tiny_log

GROWN = {
    **dict.fromkeys("1234", "egg L1 L2 pupa adult"),
    "5": "egg L1 L2 pupa dead",
}
DAY0 = START.date()
WARM = ConstantTemperature(20.0, DAY0 - timedelta(1), DAY0 + timedelta(3))
COLD = ConstantTemperature(10.0, DAY0 + timedelta(4))


LATER = (
    *(same("1", day, eggs=day % 3) for day in range(5, 30)),
    *(same("2", day) for day in range(5, 20)),
    *(same("3", day, mate="cage-1") for day in range(5, 45, 7)),
    *(same("4", day) for day in range(5, 45)),
    seen("1", 30, "dead"),
    seen("2", 20, "dead:old age"),
    seen("3", 41, "lost"),
)


def grown_up() -> CohortLog:
    log = tiny_log(GROWN, temperatures=(WARM, COLD))
    return log.with_checks([same("4", 4.1)])


def notebook(*looks: Observation) -> Notebook:
    log = grown_up().with_checks(looks)
    numbered = [replace(each, number=n) for n, each in enumerate(log.all_observations, 1)]
    return notebook_of(replace(log, all_observations=tuple(numbered)))


def test_a_death_as_an_adult_is_none_before_adulthood() -> None:
    before, after = notebook().survival(), notebook(*LATER).survival()
    assert before.reached == after.reached
    assert (after.reached.reached, after.K) == (4, before.K)
    assert (before.deaths, after.deaths) == (1, 3)
    adults = after.stage_table[-1]
    assert (adults.stage, adults.entered, adults.died, adults.lost, adults.in_stage) == (
        "adult", 4, 2, 1, 1
    )  # fmt: skip
    assert after.stage_table[:-1] == before.stage_table[:-1]
    lived = notebook(*LATER).survival("adult")
    assert (lived.n, lived.deaths, lived.censored) == (4, 2, 2)
    # from the look that first showed it adult, on day 4, to the one that found it dead
    assert [row.day for row in lived.kaplan_meier if row.deaths] == [16, 26]


def test_eggs_that_hatch_after_a_death_move_it_nowhere() -> None:
    hatched = [seen("1", 33, "dead", hatched=4), seen("2", 24, "dead", hatched=0)]
    before, after = notebook(*LATER), notebook(*LATER, *hatched)
    assert after.survival("adult").kaplan_meier == before.survival("adult").kaplan_meier
    assert after.survival("adult").between_looks == before.survival("adult").between_looks
    assert after.in_doubt == before.in_doubt == ()


def test_how_long_the_stages_took_is_as_it_was() -> None:
    assert notebook(*LATER).durations().stages == notebook().durations().stages


def test_how_far_they_came_and_how_warm_it_was_until_then_is_as_it_was() -> None:
    before, after = notebook().progress(), notebook(*LATER).progress()
    assert (before.reached, before.last_reached) == (after.reached, after.last_reached) == (4, 4.0)
    assert after.celsius == before.celsius
    assert after.celsius is not None
    assert after.celsius > 19  # of day 4 a part was cold
    assert [(each.name, each.individuals) for each in after.groups] == [
        ("reached", ("1", "2", "3", "4")),
        ("died", ("5",)),
    ]
    assert notebook(*LATER).stage_counts().celsius == after.celsius
    assert notebook(*LATER).heat().celsius == after.celsius


def test_the_counts_of_a_day_tell_who_is_left() -> None:
    counts = notebook(*LATER).stage_counts()
    last = counts.days[-1]
    assert (last.dead, last.lost, last.removed, last.in_stage[-1]) == (3, 1, 0, 1)
    assert counts.arrivals == notebook().stage_counts().arrivals


def test_nothing_is_foretold_of_adults() -> None:
    told = notebook(*LATER).forecast(as_of=moment(44.5))
    assert told.individuals == ()
    due = notebook(*LATER).due(moment(44.5))
    assert (due.alive, due.events, due.overdue) == (1, (), 0)
    assert {(each.fate, each.stage, each.n) for each in due.ended} == {
        (Fate.DEAD, "adult", 1),
        (Fate.LOST, "adult", 1),
        (Fate.DEAD, "pupa", 1),
    }


def test_living_adults_are_asked_for() -> None:
    log = notebook(*LATER).log
    assert begin(log, moment(10.5)).asked == ("1", "2", "3", "4")
    assert begin(log, moment(44.5)).asked == ("4",)


@pytest.mark.parametrize(("looks", "missed"), [((), []), (LATER[:1], ["4", "3", "2", "1"])])
def test_nobody_is_told_to_look_at_adults_before_eggs_or_a_mate_were_told(
    looks: tuple[Observation, ...], missed: list[str]
) -> None:
    found = notebook(*looks).due(moment(30))
    assert sorted(each.individual for each in found.not_seen) == sorted(missed)
