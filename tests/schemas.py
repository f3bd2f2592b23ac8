"""JSON answers held against the schemas that are shipped: every key described, and no other."""

import json
from functools import cache
from importlib import resources
from typing import Any

from jsonschema import Draft202012Validator


def validated(text: str) -> dict[str, Any]:
    """A JSON answer as it was read; it must be as its schema says, without a key more."""
    document = json.loads(text)
    validator_of(document["schema"]).validate(document)
    assert isinstance(document, dict)
    return document


@cache
def validator_of(name: str) -> Draft202012Validator:
    file = resources.files("rearlog") / "present" / "schemas" / f"{name.split('/')[-1]}.json"
    schema = json.loads(file.read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    for each in (schema, *schema.get("$defs", {}).values()):
        each["additionalProperties"] = False
    return Draft202012Validator(schema)
