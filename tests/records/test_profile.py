"""A profile as plain data: there and back, also through a file."""

import json

import pytest

from rearlog.records.errors import ProfileError
from rearlog.records.profile import (
    Confusion,
    KeyAnswer,
    KeyQuestion,
    Profile,
    Quantity,
    Sign,
    Source,
    Span,
    StageProfile,
)

FULL = Profile(
    id="test-moth",
    name="test moth",
    scientific_name="Exemplum inventum",
    stages=(
        StageProfile("egg", "egg", days=Quantity("own", low=0.0, high=4.0)),
        StageProfile(
            "L1",
            "first instar",
            optional=True,
            days=Quantity("own", 3.0, 0.5, 2.0, 4.0, (20.0, 24.0), "guess", "a note"),
            degree_days=Quantity("own", 40.0),
            head_width_mm=Quantity("own", 0.5),
            length_mm=Quantity("own", low=2.0, high=5.0),
            mass_mg=Quantity("own", 1.5),
            measures_mm={"horn": Quantity("own", 0.2)},
            signs=(Sign("green", "own"), Sign("small", "guess")),
            confusions=(Confusion("L2", "look at the horn", "own"),),
        ),
        StageProfile("pupa", "pupa"),
    ),
    sources={"own": Source("own", "notebook"), "guess": Source("from memory", "a guess")},
    spans=(Span("egg", "pupa", "all", days=Quantity("own", 9.0), degree_days=None),),
    lower=Quantity("own", 0.0),
    upper=Quantity("own", 33.0),
    measure_relations=(Sign("the horn doubles", "own"),),
    questions=(
        KeyQuestion("horn", "Has it a horn?", (KeyAnswer("no", {"egg": 1.0, "L1": 0.0}),), "own"),
    ),
    cautions=("wash hands",),
    notes=(Sign("invented", "own"),),
)


def test_a_profile_survives_the_way_into_a_file_and_back() -> None:
    assert Profile.from_dict(json.loads(json.dumps(FULL.to_dict()))) == FULL


def test_what_is_not_known_takes_no_room_in_the_file() -> None:
    pupa = FULL.to_dict()["stages"][2]
    assert pupa == {"code": "pupa", "name": "pupa"}


def test_zero_is_a_value() -> None:
    document = FULL.to_dict()
    assert document["lower"] == {"source": "own", "value": 0.0}
    assert document["questions"][0]["answers"][0]["likelihood"]["L1"] == 0.0


def test_reading_leaves_the_document_as_it_was() -> None:
    document = FULL.to_dict()
    Profile.from_dict(document)
    assert document == FULL.to_dict()


def test_stages_are_found_by_code_and_have_a_rank() -> None:
    assert FULL.codes == ("egg", "L1", "pupa")
    assert FULL.rank["pupa"] == 2
    assert FULL.stage("L1").name == "first instar"
    with pytest.raises(KeyError):
        FULL.stage("L2")


def test_the_centre_is_the_value_or_the_middle_of_the_range() -> None:
    assert Quantity("own", value=3.0, low=2.0, high=6.0).centre == 3.0
    assert Quantity("own", low=2.0, high=6.0).centre == 4.0


@pytest.mark.parametrize(
    "change",
    [
        {"stages": None},
        {"stages": [{"code": "egg"}]},
        {"stages": [[]]},
        {"sources": []},
        {"lower": 11.5},
        {"lower": {"source": "own", "value": 1.0, "at_celsius": [1.0]}},
        {"cautions": 3},
        {"questions": [{"key": "horn"}]},
    ],
    ids=str,
)
def test_a_document_of_another_shape_is_refused_as_one(change: dict[str, object]) -> None:
    with pytest.raises(ProfileError, match="not a species profile"):
        Profile.from_dict({**FULL.to_dict(), **change})
