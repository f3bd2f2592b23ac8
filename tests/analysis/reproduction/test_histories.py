"""From looks to lives by age: ages, eggs between looks, cages, sexes. Day 0 is the start."""

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.reproduction.histories import Histories, histories
from rearlog.analysis.reproduction.lives_by_age import FEMALE, MALE, UNKNOWN
from rearlog.analysis.stages.events import event_history
from rearlog.records.log import CohortLog, Individual, Observation
from tests.analysis.reproduction.laying_cohort import GROWN, same
from tests.builders import START, seen, tiny_log


def read(log: CohortLog) -> Histories:
    return histories(log, event_history(log))


def grown(codes: str, *looks: Observation, laid: tuple[float, float] | None = (-1, 0)) -> CohortLog:
    return tiny_log(dict.fromkeys(codes.split(), GROWN), laid=laid).with_checks(looks)


def laid_by(found: Histories) -> list[tuple[int, float, float, float]]:
    laid = found.lives.laid
    columns = (laid.row, laid.after, laid.by, laid.eggs)
    return [*zip(*(each.tolist() for each in columns), strict=True)]


def test_ages_count_from_the_middle_of_the_laying() -> None:
    log = grown("1 2 3", seen("1", 9, "dead"), seen("2", 8.25, "removed"), seen("3", 7, "lost"))
    found = read(log)
    lives = found.lives
    assert lives.stages == ("egg", "L1", "L2", "L3", "pupa", "adult")
    assert lives.entered.tolist() == [0.5] * 3
    assert lives.until.tolist() == [(4 + 9) / 2 + 0.5, 8.75, 4.5]
    assert lives.died.tolist() == [True, False, False]
    assert lives.into[0, [1, 2, 4, 5]].tolist() == [1.0, 2.0, 3.0, 4.0]
    assert np.isneginf(lives.into[:, 0]).all()
    assert np.isnan(lives.into[0, 3])
    assert lives.adult_from.tolist() == [4.0] * 3
    assert (found.since_entry, found.caged) == (0, False)
    assert found.who.all()


def test_where_the_laying_is_not_known_ages_count_from_entry() -> None:
    found = read(grown("1 2", seen("1", 9, "dead"), laid=None))
    assert found.since_entry == 2
    assert found.lives.entered.tolist() == [0.0, 0.0]
    assert found.lives.until.tolist() == [6.5, 4.0]


def test_who_entered_as_a_larva_is_left_out_and_so_are_her_eggs() -> None:
    log = tiny_log({"1": "L1 L2 pupa adult", "2": GROWN}, laid=None)
    found = read(log.with_checks([same("1", 5, eggs=7), same("2", 6, eggs=9)]))
    assert found.who.tolist() == [False, True]
    assert laid_by(found) == [(0, 4.0, 6.0, 9.0)]
    assert found.lives.sex.tolist() == [FEMALE]


def test_eggs_were_laid_since_the_look_before_as_an_adult_and_alive() -> None:
    log = grown(
        "1",
        seen("1", 4, "adult", eggs=2),
        same("1", 6, eggs=30),
        same("1", 8),
        same("1", 9, eggs=0),
        seen("1", 11, "dead", eggs=5),
    )
    found = read(log)
    half_day = 0.5  # the egg was half a day old at the start
    assert laid_by(found) == [
        (0, 4.0, 4.5, 2.0),
        (0, 4.5, 6.5, 30.0),
        (0, 9.5, 10.0 + half_day, 5.0),
    ]
    assert found.lives.until.tolist() == [10.5]
    assert found.lives.sex.tolist() == [FEMALE]


def test_sexes_are_those_noted_and_who_lays_is_a_female() -> None:
    log = grown(
        "1 2 3 4",
        same("1", 5, sex="m"),
        same("2", 5, sex="f"),
        same("3", 5, eggs=0),
        same("4", 5, eggs=1),
    )
    assert read(log).lives.sex.tolist() == [MALE, FEMALE, UNKNOWN, FEMALE]


def test_eggs_of_a_cage_are_shared_by_the_females_that_lived_in_it() -> None:
    looks = [
        *(same(code, 5, mate="cage-1", sex=sex) for code, sex in zip("1234", "ffmf", strict=True)),
        same("5", 5, sex="f"),
        *(same(code, 6) for code in "234"),
        same("1", 6, eggs=12),
        seen("4", 8, "dead"),
        same("1", 8, eggs=30),
        same("1", 9, eggs=8),
    ]
    found = read(grown("1 2 3 4 5", *looks))
    assert laid_by(found) == [
        (0, 5.5, 6.5, 4.0),
        (1, 5.5, 6.5, 4.0),
        (3, 5.5, 6.5, 4.0),
        (0, 6.5, 8.5, 10.0),
        (1, 6.5, 8.5, 10.0),
        (3, 6.5, 7.5, 10.0),  # she was found dead at this look
        (0, 8.5, 9.5, 4.0),
        (1, 8.5, 9.5, 4.0),
    ]
    assert found.caged
    labels = found.lives.units.tolist()
    assert len(set(labels[:4])) == 1
    assert labels[4] not in labels[:4]


def test_only_while_she_is_in_the_cage_eggs_are_shared() -> None:
    looks = [
        same("1", 5, mate="cage-1", sex="f"),
        same("2", 5.5, mate="Cage-1", sex="f"),
        same("1", 7, eggs=10),
        same("2", 8, mate="alone"),
        same("1", 9, eggs=6),
        same("2", 9, eggs=3),
        same("1", 10, mate="2"),
        same("1", 11, eggs=5),
    ]
    assert laid_by(read(grown("1 2", *looks))) == [
        (0, 5.5, 7.5, 5.0),
        (1, 5.5, 7.5, 5.0),
        (0, 7.5, 9.5, 6.0),
        (0, 10.5, 11.5, 5.0),
        (1, 8.5, 9.5, 3.0),
    ]


def test_what_is_counted_when_one_leaves_the_cage_is_of_both() -> None:
    looks = [
        *(same(code, 5, mate="cage-1", sex="f") for code in "12"),
        same("1", 8, eggs=10),
        same("2", 8, mate="alone"),
        same("1", 9, eggs=6),
    ]
    assert laid_by(read(grown("1 2", *looks))) == [
        (0, 5.5, 8.5, 5.0),
        (1, 5.5, 8.5, 5.0),
        (0, 8.5, 9.5, 6.0),
    ]


def test_what_is_counted_when_she_comes_into_a_cage_is_her_own() -> None:
    looks = [
        same("1", 5, mate="cage-1", sex="f", eggs=6),
        same("2", 5, mate="cage-1", sex="f"),
        same("2", 7, eggs=4),
    ]
    assert laid_by(read(grown("1 2", *looks))) == [
        (0, 4.5, 5.5, 6.0),
        (0, 5.5, 7.5, 2.0),
        (1, 5.5, 7.5, 2.0),
    ]


def test_where_no_female_is_known_in_a_cage_all_but_males_share() -> None:
    looks = [
        *(same(code, 5, mate="cage-1") for code in "12"),
        same("3", 5, mate="cage-1", sex="m"),
        same("1", 6, eggs=4),
    ]
    found = read(grown("1 2 3", *looks))
    assert [(row, eggs) for row, *_, eggs in laid_by(found)] == [(0, 2.0), (1, 2.0)]
    assert found.lives.sex.tolist() == [UNKNOWN, UNKNOWN, MALE]
    assert (found.cages_unsexed, found.males_records, found.males_eggs) == (1, 0, 0)
    of_male = read(grown("1 2 3", *looks[:3], same("3", 6, eggs=4, hatched=1)))
    assert laid_by(of_male) == laid_by(found)  # the cage's, of whomever they are told
    known = read(grown("1 2 3", *looks, same("2", 7, sex="f")))
    assert [(row, eggs) for row, *_, eggs in laid_by(known)] == [(1, 4.0)]
    assert known.lives.sex.tolist() == [UNKNOWN, FEMALE, MALE]
    assert known.cages_unsexed == 0


def test_eggs_that_only_males_can_have_laid_are_left_out() -> None:
    looks = [
        same("1", 5, sex="m"),
        same("1", 6, eggs=4, hatched=2),
        same("2", 5, mate="cage-1"),
        same("2", 6, eggs=3),
        same("2", 7, sex="m"),
        same("3", 6, eggs=5),
        same("4", 5, sex="f"),
        same("4", 6, sex="m"),
        same("4", 7, eggs=2),
    ]
    found = read(grown("1 2 3 4", *looks))
    assert [(row, eggs) for row, *_, eggs in laid_by(found)] == [(2, 5.0), (3, 2.0)]
    assert found.lives.sex.tolist() == [MALE, MALE, FEMALE, UNKNOWN]
    assert (found.cages_unsexed, found.males_records, found.males_eggs) == (0, 2, 7)
    assert found.lives.followed.sum() == found.lives.hatched.sum() == 0


def test_a_shared_container_makes_one_unit_and_cages_join_them() -> None:
    log = grown("1 2 3 4 5", same("2", 5, mate="cage-1"), same("3", 5, mate="cage-1"))
    boxes = ["a", "a", "b", None, None]
    log = replace(
        log,
        individuals=tuple(
            replace(each, container=box) for each, box in zip(log.individuals, boxes, strict=True)
        ),
    )
    found = read(log)
    assert found.caged
    assert found.lives.units.tolist() == [0, 0, 0, 3, 4]


def test_eggs_of_which_hatching_was_counted_are_followed() -> None:
    looks = [
        same("1", 5, eggs=10),
        same("1", 6, eggs=6, hatched=0),
        same("1", 9, hatched=12),
        same("2", 5, eggs=50),
        *(same(code, 5, mate="cage-1", sex="f") for code in "34"),
        same("3", 6, eggs=20),
        same("4", 8, hatched=15),
        same("5", 5, eggs=5, hatched=0),
    ]
    found = read(grown("1 2 3 4 5", *looks)).lives
    assert found.followed.tolist() == [16, 0, 20, 0, 5]
    assert found.hatched.tolist() == [12, 0, 0, 15, 0]
    assert found.units[2] == found.units[3]


def test_one_first_seen_as_an_adult_has_no_time_to_its_first_eggs() -> None:
    individual = Individual("1", START, "adult")
    log = replace(grown("2"), individuals=(individual, *grown("2").individuals))
    found = read(log.with_checks([same("1", 2, eggs=4), same("2", 6, eggs=1)]))
    assert found.who.tolist() == [False, True]
    assert laid_by(found) == [(0, 4.5, 6.5, 1.0)]


@pytest.mark.parametrize("day", [3.0, 2.5])
def test_eggs_of_the_young_change_nothing_of_its_stages(day: float) -> None:
    found = read(grown("1", same("1", day, eggs=2), same("1", 6, eggs=4)))
    assert found.lives.adult_from.tolist() == [4.0]
    assert sum(eggs for *_, eggs in laid_by(found)) == 6.0
