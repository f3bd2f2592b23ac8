"""Right records beside wrong ones: the wrong leave the file byte for byte as it was."""

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from rearlog.records.doubts import DoubtKind
from rearlog.records.errors import RecordError, StoreError
from rearlog.records.incoming import telling
from rearlog.records.log import (
    ConstantTemperature,
    DayExtremes,
    Individual,
    Mark,
    Observation,
    Readings,
)
from rearlog.store.cohort_file import CohortFile
from rearlog.store.layout import decode, encode
from tests.builders import START, moment, seen
from tests.store.conftest import NOW, add, backup_names, header, states


@pytest.mark.parametrize(
    ("check", "message"),
    [
        (seen("9", 2, "L1"), "no individual 9 in this cohort"),
        (seen("1", 2, "L9"), "stage L9 is not in the profile"),
        (seen("1", -1, "L1"), "before the individual entered"),
        (seen("1", 41, "L1"), "in the future"),
        (seen("1", 1, "L2"), "a check of it at that moment already"),
        (replace(seen("1", 2, "L1"), length_mm=-1.0), "not above zero"),
        (replace(seen("1", 2, "L1"), stage=None), "neither a stage nor a fate"),
        (replace(seen("1", 2, "L1"), fate="eaten"), "fate eaten is not known"),
        (replace(seen("1", 2, "L1"), note="\udc80"), "cannot be written down"),
    ],
)
def test_a_wrong_check_is_refused_and_the_file_stays(
    room: CohortFile, check: Observation, message: str
) -> None:
    before, backups = room.path.read_bytes(), backup_names(room.path)
    right = seen("3", 2, "L1")
    with pytest.raises(RecordError, match=message):
        add(room, right, check)
    assert room.path.read_bytes() == before
    assert backup_names(room.path) == backups
    add(room, right)
    assert states(room)[-1] == "3 L1"


def test_what_contradicts_another_record_is_kept_and_told_with_both(room: CohortFile) -> None:
    add(room, seen("1", 3, "dead:mould"))
    found = room.record([telling([seen("1", 4, "L2"), seen("2", 4, "L1")])], NOW)
    (doubt,) = found.doubts
    assert (doubt.kind, doubt.record, doubt.against) == (DoubtKind.AFTER_THE_END, 4, 3)
    assert doubt.message == "it is dead since 2026-03-12 09:00"
    assert "@3 or @4" in doubt.remedy
    assert states(room)[-2:] == ["1 L2", "2 L1"]


def test_strict_entry_refuses_what_is_in_doubt(room: CohortFile) -> None:
    before = room.path.read_bytes()
    with pytest.raises(RecordError, match="egg comes before L1"):
        room.record([telling([seen("1", 2, "egg")])], NOW, strict=True)
    assert room.path.read_bytes() == before


def test_every_problem_of_a_round_is_told(room: CohortFile) -> None:
    with pytest.raises(RecordError) as told:
        add(room, seen("1", -2, "egg"), seen("2", 41, "L2"), seen("9", 2, "L1"))
    assert len(told.value.problems) == 3


def test_records_are_numbered_on_and_know_when_they_were_written(room: CohortFile) -> None:
    first, second = add(room, seen("1", 2, "L2"), seen("3", 2, "L1"))
    assert (first.number, second.number) == (3, 4)
    assert first.entered == second.entered == NOW
    assert room.read().all_observations[2:] == (first, second)


def test_numbers_that_were_laid_out_by_hand_are_not_used_again(room: CohortFile) -> None:
    tables = decode(room.path.read_bytes(), room.path).tables
    one, two = tables["observations"].values()
    tables["observations"] = {"9": one, "3": two}
    room.path.write_bytes(encode(tables))
    (new,) = add(room, seen("3", 2, "L1"))
    assert new.number == 10
    assert states(room) == ["1 L1", "2 L1", "3 L1"]


@pytest.mark.parametrize(
    ("individual", "message"),
    [
        (Individual("1", START, "egg"), "1 is in this cohort already"),
        (Individual("B1", START, "L9"), "stage L9 is not in the profile"),
        (Individual("all", START, "egg"), "a meaning of its own"),
        (Individual("Rest", START, "egg"), "a meaning of its own"),
        (Individual("../B1", START, "egg"), "cannot be written down"),
        (Individual("B1", START - timedelta(days=1), "egg"), "before the cohort started"),
        (Individual("B1", START, "egg", moment(-1), moment(-2)), "after the time by which"),
        (Individual("B1", START, "egg", moment(-1), moment(1)), "laid after it entered"),
    ],
)
def test_a_wrong_individual_is_refused_and_the_file_stays(
    room: CohortFile, individual: Individual, message: str
) -> None:
    before = room.path.read_bytes()
    with pytest.raises(RecordError, match=message):
        room.add_individuals([Individual("B2", START, "L1"), individual])
    assert room.path.read_bytes() == before


def test_codes_that_differ_only_in_case_are_one(room: CohortFile) -> None:
    room.add_individuals([Individual("B1", START, "egg")])
    with pytest.raises(RecordError, match="b1 is in this cohort already"):
        room.add_individuals([Individual("b1", START, "egg")])
    with pytest.raises(RecordError, match="C1 is in this cohort already"):
        room.add_individuals([Individual("c1", START, "egg"), Individual("C1", START, "egg")])


def test_a_cohort_with_a_wrong_individual_is_not_started(path: Path) -> None:
    with pytest.raises(RecordError, match="2 is in this cohort already"):
        CohortFile(path).create(header(), [Individual("2", START, "egg")] * 2)
    assert not path.exists()


DAY = date(2026, 3, 10)


@pytest.mark.parametrize(
    ("record", "message"),
    [
        (DayExtremes(DAY, 24.0, 18.0), "its two ends are swapped"),
        (DayExtremes(DAY, 18.0, 75.0), "75 °C cannot be"),
        (ConstantTemperature(-40.0, DAY), "-40 °C cannot be"),
        (ConstantTemperature(20.0, DAY, DAY - timedelta(days=1)), "its two ends are swapped"),
        (Readings(START, (0, 600), (20.0, 99.0)), "99 °C cannot be"),
        (Readings(START, (600, 0), (20.0, 21.0)), "cannot be written down"),
        (DayExtremes(DAY, 18.0, 24.0, source="\udc80"), "cannot be written down"),
    ],
)
def test_a_wrong_temperature_is_refused_and_the_file_stays(
    room: CohortFile, record: DayExtremes, message: str
) -> None:
    before, right = room.path.read_bytes(), DayExtremes(date(2026, 3, 9), 18.0, 24.0)
    with pytest.raises(RecordError, match=message):
        room.add_temperatures([right, record], NOW)
    assert room.path.read_bytes() == before
    assert [each.number for each in room.add_temperatures([right], NOW)] == [1]


WHY = Mark(NOW, "wrong cup", "KT")


def test_a_struck_record_stays_with_the_reason_and_counts_no_more(room: CohortFile) -> None:
    room.add_temperatures([DayExtremes(DAY, 18.0, 24.0)], NOW)
    room.strike([2], [1], WHY)
    log = room.read()
    assert states(room) == ["1 L1"]
    assert [each.struck for each in log.all_observations] == [None, WHY]
    assert log.all_temperatures[0].struck == WHY
    assert log.temperatures == ()


@pytest.mark.parametrize(
    ("observations", "temperatures", "message"),
    [
        ([9], [], "there is no record @9"),
        ([], [9], "there is no record @T9"),
        ([1, 9], [], "there is no record @9"),
        ([0], [], "there is no record @0"),
        ([-1], [], "there is no record @-1"),
    ],
)
def test_records_that_are_not_there_are_not_struck(
    room: CohortFile, observations: list[int], temperatures: list[int], message: str
) -> None:
    before = room.path.read_bytes()
    with pytest.raises(RecordError, match=message):
        room.strike(observations, temperatures, WHY)
    assert room.path.read_bytes() == before


def test_a_record_is_struck_once(room: CohortFile) -> None:
    room.strike([1, 1], [], WHY)
    with pytest.raises(RecordError, match="@1 is struck out already"):
        room.strike([1], [], WHY)


def test_a_strike_is_taken_back(room: CohortFile) -> None:
    room.add_temperatures([DayExtremes(DAY, 18.0, 24.0)], NOW)
    room.strike([2], [1], WHY)
    back = Mark(NOW, "it was cup 2 after all", "JL")
    room.take_back([2], [1], back)
    log = room.read()
    assert states(room) == ["1 L1", "2 L1"]
    assert log.all_observations[1].marks == (WHY, replace(back, back=True))
    assert len(log.temperatures) == 1
    with pytest.raises(RecordError, match="@2 is not struck out"):
        room.take_back([2], [], back)


def test_one_entered_by_mistake_is_withdrawn_and_counts_nowhere(room: CohortFile) -> None:
    room.withdraw(["2"], WHY)
    log = room.read()
    assert [each.code for each in log.individuals] == ["1", "3"]
    assert states(room) == ["1 L1"]
    assert [each.code for each in log.withdrawn] == ["2"]
    assert log.withdrawn[0].struck == WHY
    assert [each.stage for each in log.of_withdrawn] == ["L1"]
    assert list(room.outline(["1", "2"]).checks) == ["1", "3"]
    with pytest.raises(RecordError, match="no individual 2"):
        add(room, seen("2", 2, "L1"))
    with pytest.raises(RecordError, match="2 is in this cohort already"):
        room.add_individuals([Individual("2", START, "egg")])
    with pytest.raises(RecordError, match="2 is withdrawn already"):
        room.withdraw(["2"], WHY)
    with pytest.raises(RecordError, match="there is no individual 9"):
        room.withdraw(["9"], WHY)


def test_a_withdrawal_is_taken_back(room: CohortFile) -> None:
    room.withdraw(["2"], WHY)
    room.withdraw(["2"], replace(WHY, back=True))
    assert states(room) == ["1 L1", "2 L1"]
    assert len(room.read().by_code["2"].marks) == 2


def test_after_a_strike_the_right_entry_can_be_made(room: CohortFile) -> None:
    add(room, seen("1", 2, "dead"))
    room.strike([3], [], WHY)
    add(room, seen("1", 2, "L1"), seen("1", 3, "L2"))
    assert states(room) == ["1 L1", "2 L1", "1 L1", "1 L2"]


def test_an_outline_has_all_checks_of_some_and_how_the_others_ended(room: CohortFile) -> None:
    room.add_individuals([Individual("A7", START, "egg")])
    add(room, seen("A7", 2, "L1"), seen("2", 3, "dead"))
    room.add_temperatures([DayExtremes(DAY, 18.0, 24.0)], NOW)
    found = room.outline(["a7", "1"])
    assert [f"{each.individual} {each.fate or each.stage}" for each in found.all_observations] == [
        "1 L1", "A7 L1", "2 dead",
    ]  # fmt: skip
    assert [each.code for each in found.individuals] == ["1", "2", "3", "A7"]
    assert found.all_temperatures == ()
    assert len(room.outline().all_observations) == 4


def rewrite(room: CohortFile, name: str, change: Callable[[dict[str, Any]], object]) -> None:
    """Change a table behind the back of the rules; the checksum fits."""
    tables = decode(room.path.read_bytes(), room.path).tables
    change(tables.setdefault(name, {}))
    room.path.write_bytes(encode(tables))


@pytest.mark.parametrize(
    ("name", "change", "message"),
    [
        (
            "observations",
            lambda table: table["2"].update(at=5),
            "observations, record 2 of 2: at is",
        ),
        (
            "observations",
            lambda table: table["2"].update(length_mm="abc"),
            "record 2 of 2: length_mm",
        ),
        ("observations", lambda table: table["2"].pop("at"), "record 2 of 2: at is missing"),
        (
            "observations",
            lambda table: table["2"].update(x=1),
            "record 2 of 2: there is no field “x”",
        ),
        ("observations", lambda table: table["2"].update(individual="9"), "no individual 9"),
        ("observations", lambda table: table["2"].update(individual=[1]), "individual is not"),
        ("observations", lambda table: table.update({"2": 5}), "record 2: this is not a record"),
        ("observations", lambda table: table.update({"02": table["2"]}), "not a record number"),
        ("observations", lambda table: table.update({"x": table["2"]}), "not a record number"),
        ("observations", lambda table: table.update({"": table["2"]}), "not a record number"),
        ("individuals", lambda table: table["2"].update(code="1"), "the code 1 is used twice"),
        ("individuals", lambda table: table["2"].update(entered_at="soon"), "record 2: entered_at"),
        ("individuals", lambda table: table["2"].update(stage="L9"), "2: stage L9 is not in the"),
        (
            "individuals",
            lambda table: table["2"].update(laid_by="2026-03-10T09:00:00Z"),
            "2: it was",
        ),
        ("observations", lambda table: table["2"].update(stage="L9"), "@2: L9 is no stage"),
        ("observations", lambda table: table["2"].update(fate="ate"), "@2: ate is no stage"),
        ("temperatures", lambda table: table.update({"1": {}}), "temperatures, record 1: kind"),
        ("cohort", lambda table: table["1"].update(zone="Mars"), "cohort, record 1: zone"),
        ("cohort", lambda table: table.clear(), "there are 0 readable cohorts in it"),
        ("cohort", lambda table: table.update({"2": table["1"]}), "there are 2 readable cohorts"),
    ],
)
def test_a_record_that_is_none_is_told_by_table_and_number(
    room: CohortFile, name: str, change: Callable[[dict[str, Any]], object], message: str
) -> None:
    rewrite(room, name, change)
    with pytest.raises(StoreError, match=message):
        room.read()


def test_nothing_is_added_to_an_individual_with_a_broken_record(room: CohortFile) -> None:
    rewrite(room, "observations", lambda table: table["2"].update(at=5))
    before = room.path.read_bytes()
    with pytest.raises(StoreError, match="record 2 of 2: at is not"):
        add(room, seen("2", 9, "L1"))
    assert room.path.read_bytes() == before
    add(room, seen("1", 9, "L1"))  # the records of others are not read for it


def test_many_broken_records_make_a_short_message(room: CohortFile) -> None:
    add(room, *(seen("3", 2 + day / 10, "L1") for day in range(100)))
    rewrite(room, "observations", lambda table: [each.update(at=0) for each in table.values()])
    with pytest.raises(StoreError) as told:
        room.read()
    assert len(told.value.problems) == 11
    assert told.value.problems[-1].message == "and 92 more like these"
