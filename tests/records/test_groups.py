from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import pytest
from msgspec.structs import replace

from rearlog.records.errors import UsageError
from rearlog.records.groups import LogGroup, grouped, level_name, level_of
from rearlog.records.log import CohortLog, ConstantTemperature
from tests.builders import START, seen, small_profile, tiny_log

WARM = ConstantTemperature(22.0, date(2026, 3, 9), number=1)


def log(name: str, lives: dict[str, str] | None = None, **told: Any) -> CohortLog:
    """A cohort of which something is told, such as food or factors."""
    found = tiny_log(lives or {"1": "egg L1", "2": "egg egg"}, name=name)
    return replace(found, cohort=replace(found.cohort, **told))


def shown(groups: Sequence[LogGroup]) -> list[tuple[str, str | None, list[str]]]:
    return [(each.short, each.level, [*each.log.by_code]) for each in groups]


def test_a_cohort_is_parted_by_what_its_individuals_are() -> None:
    found = log("room", {str(n): "egg L1 pupa adult" for n in range(1, 5)})
    cups = ("cup 2", "cup 1", None, "cup 2")
    found = replace(
        found,
        individuals=tuple(
            replace(each, container=cup, clutch="a")
            for each, cup in zip(found.individuals, cups, strict=True)
        ),
        all_observations=(*found.all_observations, seen("1", 4, "adult", sex="m"),
                          seen("4", 4, "adult", sex="f")),
    )  # fmt: skip
    assert shown(grouped([found], "sex")) == [
        ("females", "f", ["4"]), ("males", "m", ["1"]), ("sex not known", None, ["2", "3"]),
    ]  # fmt: skip
    parted = grouped([found], "Container")
    assert shown(parted) == [
        ("container cup 2", "cup 2", ["1", "4"]), ("container cup 1", "cup 1", ["2"]),
        ("container not known", None, ["3"]),
    ]  # fmt: skip
    first = parted[0].log
    assert first.cohort.name == "room, container cup 2"
    assert {each.individual for each in first.all_observations} == {"1", "4"}
    assert len(first.all_observations) == 8
    # what parts them does not tie them together too
    assert [(each.container, each.clutch) for each in first.individuals] == [(None, "a")] * 2
    assert not parted[0].pooled
    clutches = grouped([found], "clutch")
    assert [each.clutch for each in clutches[0].log.individuals] == [None] * 4
    assert clutches[0].log.individuals[0].container == "cup 2"


def test_groups_of_several_cohorts_bear_their_names_and_are_not_pooled() -> None:
    def sexed(name: str) -> CohortLog:
        found = log(name)
        return replace(found, all_observations=(seen("1", 1, "L1", sex="f"),))

    found = grouped([sexed("cool"), sexed("warm")], "sex")
    assert [each.short for each in found] == [
        "cool, females", "warm, females", "cool, sex not known", "warm, sex not known",
    ]  # fmt: skip
    assert [each.cohorts for each in found] == [("cool",), ("warm",), ("cool",), ("warm",)]


def test_cohorts_of_one_level_are_pooled() -> None:
    late = log("b", food="leek", factors={"line": "A"})
    late = replace(
        late,
        cohort=replace(late.cohort, started=START + timedelta(days=2), invented=True),
        all_observations=(
            replace(seen("1", 3, "L1"), mate="2"),
            replace(seen("1", 4, "L1"), mate="alone"),
        ),
    )
    late = replace(late, individuals=(replace(late.individuals[0], container="cup"),
                                      late.individuals[1]))  # fmt: skip
    logs = [late, log("a", food="leek", factors={"line": "B"}), log("c")]
    leek, rest = grouped(logs, "food")
    assert shown([leek, rest]) == [
        ("leek", "leek", ["b:1", "b:2", "a:1", "a:2"]), ("food not known", None, ["1", "2"]),
    ]  # fmt: skip
    assert (leek.cohorts, leek.pooled) == (("b", "b", "a", "a"), True)
    assert (leek.log.cohort.name, leek.log.cohort.started) == ("leek", START)
    assert leek.log.cohort.invented
    assert {each.individual for each in leek.log.all_observations} == {"b:1", "a:1", "a:2"}
    assert [each.mate for each in leek.log.checks["b:1"]] == ["b:2", "alone"]
    assert [each.container for each in leek.log.individuals] == ["b:cup", None, None, None]
    assert leek.log.individuals[0].entered_at == START
    assert [each.short for each in grouped(logs, "LINE")] == ["line A", "line B", "line not known"]
    assert [each.short for each in grouped(logs, "cohort")] == ["b", "a", "c"]
    assert not grouped(logs, "cohort")[0].pooled


def test_temperatures_of_a_pool_stay_where_all_had_the_same() -> None:
    def kept(*temperatures: ConstantTemperature) -> tuple[Any, ...]:
        logs = [
            replace(log(name, food="leek"), all_temperatures=(each,))
            for name, each in zip("abc", temperatures, strict=False)
        ]
        return grouped(logs, "food")[0].log.temperatures

    again = replace(WARM, number=7, source="typed", entered=START)
    assert kept(WARM, again) == (WARM,)
    assert kept(WARM, replace(WARM, celsius=25.0)) == ()


def test_levels_that_are_numbers_stand_in_their_order() -> None:
    logs = [log(f"t{celsius}", planned_celsius=celsius) for celsius in (25.0, 7.5, 30.0)]
    assert [each.short for each in grouped(logs, "temperature")] == ["7.5 °C", "25 °C", "30 °C"]
    logs = [log(level, factors={"day": level}) for level in ("10", "9", "-1")]
    assert [each.level for each in grouped(logs, "day")] == ["-1", "9", "10"]
    logs = [log(level, factors={"day": level}) for level in ("b", "9", "a")]
    assert [each.level for each in grouped(logs, "day")] == ["b", "9", "a"]


def test_names_of_levels() -> None:
    assert level_name("line", "A") == "line A"
    assert level_name("line", "Line 2") == "Line 2"
    assert level_name("place", "shelf") == "shelf"
    cohort = log("a", place="shelf").cohort
    assert [level_of(cohort, each) for each in ("place", "species", "temperature", "line")] == [
        "shelf", "Moth test", None, None,
    ]  # fmt: skip


def test_what_cannot_be_grouped_is_told() -> None:
    one = log("a", food="leek")
    with pytest.raises(UsageError, match="“colour” is no factor of these cohorts"):
        grouped([one], "colour")
    with pytest.raises(UsageError, match="no sex was noted of anybody in a"):
        grouped([one], "sex")
    with pytest.raises(UsageError, match="no temperature was noted of anybody in a, b"):
        grouped([one, log("b")], "temperature")
    with pytest.raises(UsageError, match="given twice"):
        grouped([one, one], "food")
    other = replace(small_profile(), scientific_name="Moth other")
    strange = replace(one, cohort=replace(one.cohort, name="b", id="", species=other))
    with pytest.raises(UsageError, match="cohorts of leek are not of the same species"):
        grouped([one, strange], "food")
