import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.records.errors import UsageError
from rearlog.records.profile import Profile
from rearlog.species.loader import check
from rearlog.species.of_stages import EXAMPLE, profile_of_stages, stages_in


def test_runs_are_written_out_and_some_may_be_passed_over() -> None:
    profile = profile_of_stages("egg, l1-L3 ,L4?,L5-L6?,Prepupa,pupa,adult")
    assert profile.codes == (
        "egg", "L1", "L2", "L3", "L4", "L5", "L6", "prepupa", "pupa", "adult"
    )  # fmt: skip
    assert [each.code for each in profile.stages if each.optional] == ["L4", "L5", "L6"]
    assert profile.stage("L2").name == "second instar"


def test_nothing_is_known_but_the_stages_and_it_is_a_profile_like_others() -> None:
    profile = profile_of_stages(EXAMPLE)
    assert check(profile.to_dict()) == []
    assert Profile.from_dict(profile.to_dict()) == profile
    assert profile.sources == {}
    assert profile.lower is None
    assert all(each.days is None and each.degree_days is None for each in profile.stages)
    assert (profile.name, profile.scientific_name) == ("unnamed insect", "Insecta")


def test_as_many_stages_as_there_can_be() -> None:
    assert len(stages_in("egg," + "L1-L99," + "L1-L19," + "adult")) == 120
    with pytest.raises(UsageError, match="too many stages"):
        stages_in("egg," + "L1-L99," + "L1-L20," + "adult")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "a stage without a code"),
        ("egg,,adult", "a stage without a code"),
        ("egg,?,adult", "a stage without a code"),
        ("egg", "two stages or more"),
        ("egg,larva,adult", "“larva” is not a stage code"),
        ("egg,L2,adult", "no instar with the number 1"),
        ("egg,L1,N2,adult", "use either L or N"),
        ("egg,L1?,L2,adult", "L2 is not optional"),
        ("egg,pupa?,adult", "only instars can be optional"),
        ("adult,egg", "it stands after adult"),
        ("egg,L1,L1,adult", "the stage is given twice"),
        ("egg," + "L1-L99," * 3 + "adult", "too many stages"),
    ],
)
def test_what_is_no_list_of_stages_is_told(text: str, told: str) -> None:
    with pytest.raises(UsageError, match=told):
        profile_of_stages(text)


@given(st.text(max_size=40) | st.text("egLlN123-?,adultp ", max_size=30))
def test_any_text_is_a_profile_or_a_mistake_that_can_be_mended(text: str) -> None:
    with contextlib.suppress(UsageError):
        assert check(profile_of_stages(text).to_dict()) == []
