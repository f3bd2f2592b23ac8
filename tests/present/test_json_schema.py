"""The schemas that are shipped are what the types say, and the answers are as they say."""

import json
from datetime import UTC, date, datetime
from enum import Enum
from pathlib import Path
from typing import Any, Literal

import pytest
from jsonschema import ValidationError
from msgspec import Struct

from rearlog.notebook import Notebook, compare, thermal
from rearlog.present.json import RESULTS, to_json
from rearlog.present.json_schema import FOLDER, Parts, schema_of, schemas, written
from tests.schemas import validated, validator_of

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"


def test_those_that_are_shipped_are_what_the_code_gives() -> None:
    """After a change that is meant: python -m rearlog.present.json_schema."""
    shipped = {each.stem: each.read_text(encoding="utf-8") for each in FOLDER.glob("*.json")}
    assert shipped == {name: written(schema) for name, schema in schemas().items()}


def test_each_answer_is_said_in_one_sentence_and_most_keys_are_explained() -> None:
    undescribed, keys = [], 0
    for name, schema in schemas().items():
        assert schema.get("description"), name
        for kind in (schema, *schema.get("$defs", {}).values()):
            keys += len(kind["properties"])
            undescribed += [key for key, each in kind["properties"].items() if not each]
    assert keys > 500
    assert undescribed == []


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    return validated(to_json(Notebook(SAMPLES / "room.json").durations()))


def test_an_answer_names_its_schema_first(document: dict[str, Any]) -> None:
    assert list(document)[:2] == ["schema", "version"]
    assert (document["schema"], document["version"]) == ("rearlog/durations", 1)


@pytest.mark.parametrize(
    ("place", "value"),
    [
        (["stages", 0, "entered"], "three"),
        (["stages", 0, "mean"], [1.0]),
        (["individuals", 0, "stage"], None),
        (["version"], 2),
        (["words"], "one"),
        (["more"], 1),
    ],
)
def test_what_is_not_so_is_noticed(
    document: dict[str, Any], place: list[Any], value: object
) -> None:
    changed = json.loads(json.dumps(document))
    inner = changed
    for each in place[:-1]:
        inner = inner[each]
    inner[place[-1]] = value
    with pytest.raises(ValidationError):
        validator_of("rearlog/durations").validate(changed)


def test_a_key_that_is_missing_is_noticed(document: dict[str, Any]) -> None:
    for each in document:
        shorter = {key: value for key, value in document.items() if key != each}
        with pytest.raises(ValidationError):
            validator_of("rearlog/durations").validate(shorter)


def test_answers_of_which_no_command_gives_json_are_as_their_schemas_say() -> None:
    room = Notebook(SAMPLES / "room.json")
    for result in (room.progress(), room.stage_counts()):
        validated(to_json(result))


def test_answers_of_several_cohorts_are_as_their_schemas_say() -> None:
    cohorts = [Notebook(SAMPLES / f"{name}.json") for name in ("cool", "room", "warm")]
    for result in (compare(cohorts), thermal(cohorts)):
        validated(to_json(result))
    midway = datetime(2026, 3, 20, 12, tzinfo=UTC)
    validated(to_json(cohorts[0].forecast(as_of=midway)))


def test_a_result_without_a_schema_is_refused() -> None:
    with pytest.raises(TypeError, match="name it in RESULTS"):
        to_json(Notebook(SAMPLES / "room.json").durations().stages[0])


class Colour(Enum):
    RED = "red"
    PALE = "pale"


class Inner(Struct):
    """One thing. `day` is when."""

    day: date | None
    parts: tuple["Inner", ...]


@pytest.mark.parametrize(
    ("hint", "expected"),
    [
        (float | None, {"type": ["number", "null"]}),
        (datetime, {"type": "string", "format": "date-time"}),
        (Colour, {"enum": ["red", "pale"]}),
        (Literal["C", "F"], {"enum": ["C", "F"]}),
        (tuple[int, ...], {"type": "array", "items": {"type": "integer"}}),
        (
            tuple[float, str],
            {
                "type": "array",
                "prefixItems": [{"type": "number"}, {"type": "string"}],
                "minItems": 2,
                "maxItems": 2,
            },
        ),
        (
            dict[str, bool] | None,
            {
                "anyOf": [
                    {"type": "object", "additionalProperties": {"type": "boolean"}},
                    {"type": "null"},
                ]
            },
        ),
    ],
)
def test_types_become_those_of_json(hint: Any, expected: dict[str, Any]) -> None:
    assert Parts().hinted(hint) == expected


def test_a_kind_that_holds_itself_is_described_once() -> None:
    parts = Parts()
    assert parts.hinted(Inner | None) == {"anyOf": [{"$ref": "#/$defs/Inner"}, {"type": "null"}]}
    assert parts.found == {
        "Inner": {
            "type": "object",
            "description": "One thing. “day” is when.",
            "properties": {
                "day": {
                    "anyOf": [{"type": "string", "format": "date"}, {"type": "null"}],
                    "description": "day is when.",
                },
                "parts": {"type": "array", "items": {"$ref": "#/$defs/Inner"}},
            },
            "required": ["day", "parts"],
        }
    }


def test_a_type_that_json_has_not_is_refused() -> None:
    with pytest.raises(TypeError, match="no schema for"):
        Parts().hinted(complex)


def test_no_two_schemas_are_of_one_kind() -> None:
    assert len(RESULTS) == len(set(RESULTS.values()))
    assert [schema_of(name)["title"] for name in RESULTS] == [f"rearlog/{each}" for each in RESULTS]
