"""Tiny logs: right lines beside wrong ones. Day 0 is 2026-03-09 09:00; `now` is day 40."""

from datetime import timedelta, timezone
from typing import Any

import pytest
from msgspec.structs import replace

from rearlog.records.log import Cohort, Individual, Observation, time_order
from rearlog.records.profile import Profile, Quantity, Source, StageProfile
from rearlog.records.rules import doubts_of, problems_of, problems_of_individual
from tests.builders import START, moment, seen, small_profile

NOW = moment(40)


def told(*checks: Observation, entry: str = "egg", profile: Profile | None = None) -> list[str]:
    """What is wrong with the checks of one individual."""
    individual = Individual("7", START, entry)
    ordered = sorted(checks, key=time_order)
    found = problems_of(profile or small_profile(), individual, ordered, NOW)
    return [each.message for each in found]


def line(*states: str, first: float = 1) -> list[Observation]:
    """One check a day."""
    return [seen("7", first + day, state) for day, state in enumerate(states)]


@pytest.mark.parametrize(
    "states",
    [
        [],
        ["egg", "egg", "L1"],
        ["L1", "L1", "L2", "L3", "pupa", "adult"],
        ["L2", "pupa"],  # stages may be missed between two checks
        ["L1!", "L2!", "pupa!"],  # L3 is optional
        ["L1", "dead:mould"],
        ["lost"],
        ["adult", "removed:released"],
        ["L1", "L1", "dead!"],
        ["L2", "L1"],  # a doubt, and no broken rule
        ["dead", "L1"],
        ["L2!"],
    ],
)
def test_right_lives(states: list[str]) -> None:
    assert told(*line(*states)) == []


@pytest.mark.parametrize(
    ("states", "message"),
    [
        (["L9"], "stage L9 is not in the profile"),
    ],
)
def test_wrong_lives(states: list[str], message: str) -> None:
    assert told(*line(*states)) == [message]


def test_checks_lie_between_entry_and_now() -> None:
    assert told(seen("7", 0, "egg"), seen("7", 40, "egg")) == []
    assert told(seen("7", -0.01, "egg")) == ["the check is before the individual entered"]
    assert told(seen("7", 40.01, "egg")) == ["the check is in the future"]


def test_one_check_a_moment() -> None:
    assert told(seen("7", 1, "L1"), seen("7", 1.001, "L1")) == []
    assert told(seen("7", 1, "L1"), seen("7", 1, "L1")) == [
        "there is a check of it at that moment already"
    ]


def test_two_observers_may_look_at_one_moment() -> None:
    kt, mb = (replace(seen("7", 1, "L1"), by=each) for each in ("KT", "MB"))
    assert told(kt, mb) == []
    assert told(kt, mb, replace(kt, stage="L2")) == [
        "there is a check of it at that moment already"
    ]


def test_no_change_stands_alone() -> None:
    same = replace(seen("7", 1, "L1"), stage=None, same=True)
    assert told(same) == []
    for more in ({"stage": "L1"}, {"fate": "dead"}, {"witnessed": True}):
        assert told(replace(same, **more)) == ["no change, and yet something happened"]  # type: ignore[arg-type]


def test_one_moment_in_two_zones_is_one_moment() -> None:
    here = seen("7", 1, "L1")
    there = replace(here, at=here.at.astimezone(timezone(timedelta(hours=5))))
    assert told(here, there) == ["there is a check of it at that moment already"]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"stage": None}, "neither a stage nor a fate"),
        ({"fate": "eaten"}, "fate eaten is not known"),
        ({"cause": "mould"}, "there is a cause but no fate"),
        ({"sex": "x"}, "sex x is not known"),
    ],
)
def test_words_that_are_not_known(change: dict[str, Any], message: str) -> None:
    assert told(replace(seen("7", 1, "L1"), **change)) == [message]


def measured_profile() -> Profile:
    """L1 heads are 0.4 to 0.6 mm, L2 heads 0.9 ± 0.05 mm: three times the largest is 2.7 mm."""
    heads = {
        "L1": Quantity("test", low=0.4, high=0.6),
        "L2": Quantity("test", value=0.9, sd=0.05),
        "pupa": None,
    }
    stages = tuple(StageProfile(code, code, head_width_mm=head) for code, head in heads.items())
    return Profile("m", "m", "M m", stages, {"test": Source("own", "made for a test")})


@pytest.mark.parametrize(
    ("width", "messages"),
    [
        (0.5, []),
        (2.7, []),
        (2.71, ["head width 2.71 cannot be: the largest known is 0.9"]),
        (0.0, ["head width 0 is not above zero"]),
        (-1.0, ["head width -1 is not above zero"]),
        (float("nan"), ["head width nan is not above zero"]),
        (float("inf"), ["head width inf is not above zero"]),
    ],
)
def test_measurements_that_cannot_be(width: float, messages: list[str]) -> None:
    check = replace(seen("7", 1, "L1"), head_width_mm=width)
    assert told(check, entry="L1", profile=measured_profile()) == messages


def test_what_the_profile_does_not_know_is_bounded_by_what_any_insect_could_be() -> None:
    """The heaviest insects weigh some 100 g; a kilogram is a slip of the unit."""
    for mass_mg, fits in ((100_000.0, True), (1e6, False)):
        check = replace(seen("7", 1, "L1"), mass_mg=mass_mg)
        assert (told(check, entry="L1", profile=measured_profile()) == []) == fits


@pytest.mark.parametrize(
    ("stage", "width", "doubtful"),
    [
        ("L1", 0.4, False),
        ("L1", 0.6, False),
        ("L1", 0.39, True),
        ("L2", 0.75, False),  # within three standard deviations
        ("L2", 1.06, True),
        ("pupa", 5.0, False),  # nothing is known of it
    ],
)
def test_measurements_that_are_unusual_are_doubted(
    stage: str, width: float, doubtful: bool
) -> None:
    check = replace(seen("7", 1, stage), head_width_mm=width)
    assert bool(doubts_of(measured_profile(), check, stage)) is doubtful


def test_every_problem_is_told_with_its_record() -> None:
    profile, individual = small_profile(), Individual("7", START, "egg")
    checks = [
        replace(seen("7", 1, "L2"), number=1),
        replace(seen("7", 2, "L1"), number=2, length_mm=-1.0),
        replace(seen("7", 41, "egg"), number=3),
    ]
    found = problems_of(profile, individual, checks, NOW)
    assert [each.place for each in found] == [
        "7 at 2026-04-19 09:00 (@3)",
        "7 at 2026-03-11 09:00 (@2)",
    ]


@pytest.mark.parametrize(
    ("individual", "messages"),
    [
        (Individual("7", START, "egg", moment(-2), moment(-1)), []),
        (Individual("7", START, "egg", moment(-2), START), []),
        (Individual("7", moment(3), "L2"), []),
        (Individual("7", START, "L9"), ["stage L9 is not in the profile"]),
        (Individual("All", START, "egg"), ["this code has a meaning of its own"]),
        (Individual("7", moment(-1), "egg"), ["it entered before the cohort started"]),
        (Individual("7", START, "egg", moment(-1), moment(-2)), ["it was laid after the time by"]),
        (Individual("7", START, "egg", None, moment(1)), ["it was laid after it entered"]),
    ],
)
def test_individuals(individual: Individual, messages: list[str]) -> None:
    cohort = Cohort("room", small_profile(), "UTC", START, START)
    found = [each.message for each in problems_of_individual(cohort, individual)]
    assert len(found) == len(messages)
    assert all(one.startswith(other) for one, other in zip(found, messages, strict=True))


@pytest.mark.parametrize(
    ("sd", "usual", "unusual"), [(1.0, (7.0, 13.0), (6.9, 13.1)), (None, (5.0, 15.0), (4.9, 15.1))]
)
def test_a_length_is_usual_within_three_sds_or_half_of_its_value(
    sd: float | None, usual: tuple[float, float], unusual: tuple[float, float]
) -> None:
    profile = small_profile()
    length = Quantity("test", value=10.0, sd=sd)
    stages = [
        replace(each, length_mm=length if each.code == "L2" else None) for each in profile.stages
    ]
    profile = replace(profile, stages=tuple(stages))
    assert not any(doubts_of(profile, seen("1", 1, "L2", length_mm=one), "L2") for one in usual)
    for one in unusual:
        (problem,) = doubts_of(profile, seen("1", 1, "L2", length_mm=one), "L2")
        assert problem.message == f"length {one:g} is unusual for L2"
        assert problem.remedy == f"{usual[0]:g} to {usual[1]:g} would be expected"
