from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from rearlog.records.errors import RecordError
from rearlog.records.fields import FIELDS, Field, Kind
from rearlog.records.log import (
    ConstantTemperature,
    DayExtremes,
    Individual,
    Mark,
    Observation,
    Readings,
)
from rearlog.records.values import NAME
from rearlog.species.catalogue import bundled, find
from rearlog.store import codec
from rearlog.store.codec import Misfit, to_document
from tests.builders import START
from tests.store.conftest import header

TEXTS = st.text(st.characters(codec="utf-8"))
OFFSETS = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
MOMENTS = st.datetimes(datetime(1900, 1, 2), datetime(2199, 12, 30), timezones=OFFSETS)
DAYS = st.dates(date(1900, 1, 1), date(2199, 12, 31))
NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
COUNTS = st.integers(0, 1_000_000)
SIZES = st.floats(min_value=0, exclude_min=True, allow_infinity=False)
MARKS = st.lists(
    st.builds(Mark, MOMENTS, TEXTS, st.none() | TEXTS.filter(bool), st.booleans()), max_size=3
).map(tuple)
CODES = st.from_regex(r"\w{1,24}", fullmatch=True).filter(lambda code: code.isprintable())

OBSERVATIONS = st.builds(
    Observation, CODES, MOMENTS, stage=st.none() | TEXTS, fate=st.none() | TEXTS,
    cause=st.none() | TEXTS, witnessed=st.booleans(), length_mm=st.none() | SIZES,
    head_width_mm=st.none() | SIZES, mass_mg=st.none() | SIZES, sex=st.none() | TEXTS,
    by=st.none() | TEXTS, note=st.none() | TEXTS, entered=st.none() | MOMENTS,
    marks=MARKS, same=st.booleans(), eggs=st.none() | COUNTS, hatched=st.none() | COUNTS,
    mate=st.none() | st.from_regex(NAME, fullmatch=True), number=st.just(7),
)  # fmt: skip
INDIVIDUALS = st.builds(
    Individual, CODES, MOMENTS, TEXTS, st.none() | MOMENTS, st.none() | MOMENTS,
    st.none() | TEXTS, st.none() | TEXTS, st.none() | TEXTS, MARKS,
)  # fmt: skip
KNOWN = {"number": st.just(7), "marks": MARKS, "source": st.none() | TEXTS}
RUNS = st.lists(st.tuples(st.integers(0, 10**6), NUMBERS), min_size=1).map(sorted)


def readings(run: list[tuple[int, float]]) -> Readings:
    seconds, celsius = zip(*run, strict=True)
    return Readings(START, seconds, celsius, number=7)


TEMPERATURES = (
    st.builds(DayExtremes, DAYS, NUMBERS, NUMBERS, **KNOWN)
    | st.builds(ConstantTemperature, NUMBERS, DAYS, st.none() | DAYS, **KNOWN)
    | RUNS.map(readings)
)


def by_way_of_json(document: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = msgspec.json.decode(msgspec.json.encode(document))
    return found


@given(OBSERVATIONS)
def test_an_observation_comes_back_as_it_went(record: Observation) -> None:
    assert codec.observation(by_way_of_json(to_document(record)), 7) == record


@given(INDIVIDUALS)
def test_an_individual_comes_back_as_it_went(record: Individual) -> None:
    assert codec.individual(by_way_of_json(to_document(record)), 1) == record


@given(TEMPERATURES)
def test_a_temperature_comes_back_as_it_went(
    record: DayExtremes | ConstantTemperature | Readings,
) -> None:
    assert codec.temperature(by_way_of_json(to_document(record)), 7) == record


@pytest.mark.parametrize("profile", [each.id for each in bundled()])
def test_a_cohort_comes_back_with_its_whole_profile(profile: str) -> None:
    cohort = replace(header(), species=find(profile), place="shelf 3", planned_celsius=21.5)
    assert codec.cohort(by_way_of_json(to_document(cohort)), 1) == cohort


def test_a_cohort_keeps_its_factors_and_origins() -> None:
    plain = to_document(header())
    assert not {"factors", "origins"} & plain.keys()
    cohort = replace(header(), factors={"line": "A b"}, origins=("first:1,2", "wild"))
    document = to_document(cohort)
    assert document == plain | {"factors": {"line": "A b"}, "origins": ["first:1,2", "wild"]}
    assert codec.cohort(by_way_of_json(document), 1) == cohort


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"factors": ["line"]}, "factors is not levels by the names of factors"),
        ({"factors": {"a b": "x"}}, "factors is not levels"),
        ({"factors": {"line": ";"}}, "factors is not levels"),
        ({"factors": {"line": 3}}, "factors is not levels"),
        ({"factors": None}, "factors is not levels"),
        ({"origins": "wild"}, "origins is not a list of cohorts"),
        ({"origins": ["wild:"]}, "origins is not a list of cohorts"),
        ({"origins": None}, "origins is not a list of cohorts"),
    ],
)
def test_factors_and_origins_have_their_form(change: dict[str, Any], message: str) -> None:
    with pytest.raises(Misfit) as told:
        codec.cohort(to_document(header()) | change, 1)
    assert str(told.value).startswith(message)


@pytest.mark.parametrize("name", ["marks", "witnessed", "same"])
def test_null_is_only_for_what_may_be_unknown(name: str) -> None:
    document = to_document(Observation("3", START, "L1"))
    assert codec.observation(document | {"note": None}, 7) == codec.observation(document, 7)
    with pytest.raises(codec.Misfit, match=name):
        codec.observation(document | {name: None}, 7)


def test_what_is_unknown_takes_no_room() -> None:
    assert to_document(Observation("3", START, "L1")) == {
        "individual": "3", "at": "2026-03-09T09:00:00+00:00", "stage": "L1",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"at": 5}, "at is not a time with its offset, 1900 to 2199: 5"),
        ({"at": "2026-03-09"}, "at is not a time"),
        ({"at": "2026-03-09T09:00:00"}, "at is not a time"),  # without an offset
        ({"at": "0001-01-01T00:00:00+00:00"}, "at is not a time"),
        ({"at": "9999-12-31T23:59:59-14:00"}, "at is not a time"),
        ({"at": None}, "at is not a time"),
        ({"at": ["2026-03-09T09:00:00+00:00"]}, "at is not a time"),
        ({"at": {"x": []}}, "at is not a time"),
        ({"length_mm": "abc"}, "length_mm is not a number above zero: 'abc'"),
        ({"length_mm": 0}, "length_mm is not a number above zero: 0"),
        ({"length_mm": True}, "length_mm is not a number above zero"),
        ({"length_mm": float("inf")}, "length_mm is not a number above zero"),
        ({"mass_mg": [1]}, "mass_mg is not a number above zero"),
        ({"eggs": -1}, "eggs is not a whole number from 0 to 1,000,000: -1"),
        ({"eggs": 1.5}, "eggs is not a whole number from 0 to 1,000,000: 1.5"),
        ({"eggs": True}, "eggs is not a whole number from 0 to"),
        ({"hatched": "3"}, "hatched is not a whole number from 0 to 1,000,000: '3'"),
        ({"hatched": 10**30}, "hatched is not a whole number from 0 to"),
        ({"length_mm": "\ud800"}, "it holds broken letters"),
        ({"at": "\udcff"}, "it holds broken letters"),
        ({"mate": "a b"}, "mate is not a code, or a name of a cage: 'a b'"),
        ({"stage": 3}, "stage is not a text: 3"),
        ({"individual": None}, "individual is not a text"),
        ({"note": {"deep": [[[]]]}}, "note is not a text"),
        ({"witnessed": "yes"}, "witnessed is not true or false"),
        ({"witnessed": 1}, "witnessed is not true or false"),
        ({"colour": "red"}, "there is no field “colour”"),
        ({"number": 4}, "there is no field “number”"),
        ({"marks": True}, "marks is not a list of marks"),
        ({"marks": []}, "marks is not a list of marks"),
        ({"marks": [{"at": "2026-03-09T09:00:00+00:00"}]}, "marks because is missing"),
        ({"marks": [{"because": 5}]}, "marks because is not a text"),
        (
            {"marks": [{"at": "2026-03-09T09:00:00+00:00", "because": "x", "back": 1}]},
            "marks back is not true or false",
        ),
        ({"struck": {"because": "format 1"}}, "there is no field “struck”"),
    ],
)
def test_what_is_no_observation_is_told_by_its_field(change: dict[str, Any], message: str) -> None:
    right = to_document(Observation("3", START, "L1"))
    codec.observation(right, 1)
    with pytest.raises(Misfit) as told:
        codec.observation(right | change, 1)
    assert str(told.value).startswith(message)


WRONG: dict[Kind, Any] = {
    Kind.CODE: 7, Kind.MOMENT: "2026-03-09T09:00:00", Kind.WORD: 7, Kind.FLAG: 1, Kind.MEASURE: 0,
    Kind.COUNT: -1, Kind.NAME: "a b", Kind.TEXT: 7,
}  # fmt: skip


@pytest.mark.parametrize("field", FIELDS, ids=lambda field: field.name)
def test_every_field_is_held_to_its_kind(field: Field) -> None:
    document = to_document(Observation("3", START, "L1")) | {field.name: WRONG[field.kind]}
    with pytest.raises(Misfit, match=f"^{field.name} is not "):
        codec.observation(document, 1)


@pytest.mark.parametrize("missing", ["individual", "at"])
def test_a_field_that_is_missing_is_told(missing: str) -> None:
    document = to_document(Observation("3", START, "L1"))
    del document[missing]
    with pytest.raises(Misfit, match=f"{missing} is missing"):
        codec.observation(document, 1)


@pytest.mark.parametrize("document", [None, 5, "text", [], True])
def test_what_is_no_document_is_told(document: Any) -> None:
    for read in (codec.observation, codec.individual, codec.temperature, codec.cohort):
        with pytest.raises(Misfit):
            read(document, 1)
    with pytest.raises(Misfit, match=r"^this is not a record"):
        codec.temperature(document, 1)


DAY = {"kind": "day", "date": "2026-03-09", "min_c": 18.0, "max_c": 24}
RUN = {"kind": "readings", "at": "2026-03-09T09:00:00+00:00", "seconds": [0, 5], "celsius": [1, 2]}
KEPT = {"kind": "constant", "celsius": 20, "first": "2026-03-09"}


@pytest.mark.parametrize(
    ("document", "message"),
    [
        (DAY | {"kind": "hot"}, "kind is not one of day, constant, readings"),
        (DAY | {"kind": ["day"]}, "kind is not one of"),
        (DAY | {"date": "09/03/2026"}, "date is not a date"),
        (DAY | {"date": "9999-01-01"}, "date is not a date"),
        (DAY | {"seconds": [1]}, "there is no field “seconds”"),
        (KEPT | {"celsius": [20, 21]}, "celsius does not suit the kind constant"),
        (RUN | {"celsius": 20}, "celsius does not suit the kind readings"),
        (RUN | {"celsius": [1]}, "2 times and 1 temperatures"),
        (RUN | {"celsius": [1, None]}, "celsius is not finite numbers"),
        (RUN | {"seconds": [0, 10**12]}, "its readings leave the years 1900 to 2199"),
        (RUN | {"seconds": [-(10**30), 5]}, "its readings leave the years"),
        (RUN | {"seconds": [5, 0]}, "seconds is not a list of whole numbers in order"),
        (RUN | {"seconds": [0.0, 5.0]}, "seconds is not a list of whole numbers"),
        (RUN | {"seconds": [], "celsius": []}, "seconds is not a list of whole numbers"),
    ],
)
def test_what_is_no_temperature_is_told(document: dict[str, Any], message: str) -> None:
    for right in (DAY, RUN, KEPT):
        codec.temperature(right, 1)
    with pytest.raises(Misfit, match=message):
        codec.temperature(document, 1)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"zone": "Mars/Phobos"}, "zone is not a time zone"),
        ({"zone": "../../etc/passwd"}, "zone is not a time zone"),
        ({"zone": "Europe"}, "zone is not a time zone"),
        ({"zone": "a\0b"}, "zone is not a time zone"),
        ({"zone": 5}, "zone is not a time zone"),
        ({"name": "../../outside"}, "name is not a name"),
        ({"name": "\x1b[2Jroom"}, "name is not a name"),
        ({"check_time": "25:00"}, "check_time is not a time of day"),
        ({"check_time": 9}, "check_time is not a time of day"),
        ({"species": None}, "species is not a species profile"),
        ({"species": {}}, "species is not a species profile"),
    ],
)
def test_what_is_no_cohort_is_told(change: dict[str, Any], message: str) -> None:
    with pytest.raises(Misfit, match=message):
        codec.cohort(to_document(header()) | change, 1)


@pytest.mark.parametrize("code", ["", "a" * 25, "../x", "a b", "\x1b[31m", "a;b", 'a"', "a-b", 7])
def test_a_code_that_the_notation_cannot_name_is_told(code: Any) -> None:
    with pytest.raises(Misfit, match="code is not a code"):
        codec.individual(to_document(Individual("1", START, "egg")) | {"code": code}, 1)


def broken_profile(path: list[Any], value: Any) -> dict[str, Any]:
    document = by_way_of_json(find("painted-lady").to_dict())
    inner = document
    for step in path[:-1]:
        inner = inner[step]
    inner[path[-1]] = value
    return to_document(header()) | {"species": document}


@pytest.mark.parametrize(
    ("path", "value", "message"),
    [
        (["stages"], [], "it has no stages"),
        (["stages"], "egg", "is not a species profile"),
        (["stages", 0, "code"], "L1", "a stage is there twice"),
        (["stages", 0, "code"], "dead", "dead is no code for a stage"),
        (["stages", 0, "code"], 5, "stages code is not a text"),
        (["stages", 0, "optional"], "no", "stages optional is not true or false"),
        (["stages", 0, "days", "low"], "three", "stages days low is not a number"),
        (["stages", 0, "days"], {"source": "practice"}, "days holds no value"),
        (["stages", 0, "days"], {"source": "practice", "low": 3}, "days holds no value"),
        (["stages", 0, "days"], 5, "is not a species profile"),
        (["stages", 0, "days", "at_celsius"], [20], "is not a species profile"),
        (["stages", 0, "days", "at_celsius"], ["a", "b"], "at_celsius is not a number"),
        (["lower", "value"], True, "lower value is not a number"),
        (["stages", 0, "days", "source"], "hearsay", "“hearsay” is not among its sources"),
        (["stages", 0, "signs", 0, "source"], "", "“” is not among its sources"),
        (["sources", "study"], 5, "is not a species profile"),
        (
            ["questions", 0, "answers", 0, "likelihood"],
            {"egg": "often"},
            "likelihood is not a number",
        ),
    ],
)
def test_a_profile_out_of_shape_is_told(path: list[Any], value: Any, message: str) -> None:
    with pytest.raises(Misfit, match=message):
        codec.cohort(broken_profile(path, value), 1)


@pytest.mark.parametrize(
    "record",
    [
        Observation("3", START, "L1", note="\udcff"),  # bytes of the shell that are no text
        Observation("3", START, "L1", length_mm=float("nan")),
        Observation("3", START, "L1", mass_mg=float("-inf")),
        Observation("3", datetime(2026, 3, 9, 9), "L1"),
        Observation("3", datetime(1, 1, 1, tzinfo=UTC), "L1"),
        Individual("../3", START, "egg"),
        DayExtremes(date(2026, 3, 9), 18.0, float("inf")),
        Readings(START, (), ()),
        replace(header(), name="../room"),
        replace(header(), place="\ud800"),
        replace(header(), species=replace(header().species, name="\ud800")),
    ],
    ids=lambda record: type(record).__name__,
)
def test_what_could_not_be_read_again_is_not_written(record: codec.Record) -> None:
    with pytest.raises(RecordError, match="cannot be written down"):
        to_document(record)
