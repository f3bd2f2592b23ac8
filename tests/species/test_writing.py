import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.species.catalogue import bundled, find
from rearlog.species.loader import read
from rearlog.species.writing import toml_of

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
VALUES = st.recursive(
    TEXTS | st.booleans() | st.floats(allow_nan=False, allow_infinity=False)
    | st.integers(-(2**53), 2**53),
    lambda inside: st.lists(inside, max_size=3) | st.dictionaries(TEXTS, inside, max_size=3),
    max_leaves=8,
)  # fmt: skip


@pytest.mark.parametrize("species", [each.id for each in bundled()])
def test_a_profile_is_read_as_it_was_written(species: str) -> None:
    profile = find(species)
    comments = {"": ["the head"], "egg": ["of the egg"], "adult": ["of\nthe adult"]}
    text = toml_of(profile.to_dict(), comments)
    assert read(tomllib.loads(text)) == profile
    for line in ("# the head", "# of the egg", "# of the adult"):
        assert line in text.splitlines()


@given(st.dictionaries(TEXTS, VALUES, max_size=4), TEXTS)
def test_any_values_and_comments_come_back(values: dict[str, Any], comment: str) -> None:
    """Beside the reader of the standard library."""
    document = {"name": "x", "sources": {}, "stages": [{"code": "egg", "more": values}]}
    assert tomllib.loads(toml_of(document, {"": [comment], "egg": [comment]})) == document
