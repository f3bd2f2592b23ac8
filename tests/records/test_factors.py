from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.records.errors import UsageError
from rearlog.records.factors import (
    OF_COHORTS,
    OF_INDIVIDUALS,
    factors_text,
    origin,
    origins_text,
    read_factors,
    read_origins,
    split,
)
from rearlog.records.starting import new_cohort
from rearlog.records.values import FACTOR, LEVEL
from tests.builders import small_profile

NAMES = st.from_regex(FACTOR, fullmatch=True).filter(
    lambda name: name.casefold() not in (*OF_COHORTS, *OF_INDIVIDUALS)
)
FACTORS = st.dictionaries(NAMES, st.from_regex(LEVEL, fullmatch=True).map(str.strip), max_size=4)


def test_factors_are_read_as_they_are_typed() -> None:
    assert read_factors(["line=A", " diet = low protein=8 % "]) == {
        "line": "A", "diet": "low protein=8 %",
    }  # fmt: skip


@given(FACTORS.filter(lambda found: len({each.casefold() for each in found}) == len(found)))
def test_factors_come_back_from_their_text(factors: dict[str, str]) -> None:
    assert read_factors(split(factors_text(factors))) == factors


@pytest.mark.parametrize(
    ("texts", "told"),
    [
        (["line"], "“line” is not a factor and its level"),
        (["=A"], "is not a factor"),
        (["line= "], "is not a factor"),
        (["a b=1"], "is not a factor"),
        (["2nd=1"], "is not a factor"),
        (["line=A;B"], "is not a factor"),
        (["line=A\nB"], "is not a factor"),
        (["line=" + "x" * 61], "is not a factor"),
        (["Sex=f"], "“Sex” means something else"),
        (["food=leek"], "“food” means something else"),
        (["line=A", "Line=B"], "the factor Line is there twice"),
        ([f"x{number}=1" for number in range(21)], "at most 20 factors"),
    ],
)
def test_what_is_no_factor_is_told(texts: list[str], told: str) -> None:
    with pytest.raises(UsageError, match=told):
        read_factors(texts)


def test_origins_of_one_cohort_are_put_together() -> None:
    found = read_origins(["summer: A01, A02", "autumn", "summer:A02,A03"])
    assert found == ("summer:A01,A02,A03", "autumn")
    assert read_origins(split(origins_text(found))) == found
    assert origin(found[0]) == ("summer", ("A01", "A02", "A03"))
    assert origin("autumn") == ("autumn", ())


@pytest.mark.parametrize("text", ["", "two words", "summer:", "summer:A01,", "a/b", "summer:A:B"])
def test_what_is_no_origin_is_told(text: str) -> None:
    with pytest.raises(UsageError, match="is not a cohort’s name"):
        read_origins([text])


def test_no_cohort_comes_from_itself() -> None:
    with pytest.raises(UsageError, match="second cannot come from itself"):
        new_cohort("second", small_profile(), 3, "UTC", origins=["second:1"])


def test_a_new_cohort_keeps_what_was_said() -> None:
    said: dict[str, Any] = {"factors": ["line=A"], "origins": ["first:1", "other"]}
    cohort, _ = new_cohort("second", small_profile(), 3, "UTC", **said)
    assert (cohort.factors, cohort.origins) == ({"line": "A"}, ("first:1", "other"))
