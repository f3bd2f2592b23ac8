import contextlib
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.records.errors import UsageError
from rearlog.records.profile import Profile
from rearlog.species.describing import id_of, profile_text
from rearlog.species.description import EXAMPLES, Description
from rearlog.species.loader import read


def profile(**told: str) -> Profile:
    return read(tomllib.loads(profile_text(Description(**told))[1]))


def test_nothing_known_is_a_profile_too() -> None:
    known_as, text = profile_text(Description())
    found = read(tomllib.loads(text))
    assert known_as == found.id == "unnamed-insect"
    assert (found.name, found.scientific_name) == ("unnamed insect", "Insecta")
    assert found.codes == ("egg", *(f"L{n}" for n in range(1, 10)), "pupa", "adult")
    assert [each.code for each in found.stages if each.optional] == [f"L{n}" for n in range(2, 10)]
    assert found.sources == {}
    assert "# Nobody has counted the instars" in text
    assert "# Its scientific name is not known" in text


def test_the_examples_that_are_shown_are_answers() -> None:
    found = profile(
        name=EXAMPLES["name"], stages=EXAMPLES["stages"], instars="5", days=EXAMPLES["days"],
        heads=EXAMPLES["heads"], kind="published", citation="KT 2025",
    )  # fmt: skip
    assert (found.id, found.name) == ("brown-moth", "brown moth")
    assert found.scientific_name == "Genus species"
    assert found.codes == ("egg", "L1", "L2", "L3", "L4", "L5", "pupa", "adult")
    egg, pupa = found.stage("egg").days, found.stage("pupa").days
    assert egg is not None
    assert pupa is not None
    assert (egg.low, egg.high, egg.at_celsius, egg.source) == (4, 6, (20, 24), "told")
    assert (pupa.value, pupa.at_celsius) == (12, (20, 24))
    [larva] = found.spans
    assert (larva.first, larva.until) == ("L1", "pupa")
    assert larva.days is not None
    assert (larva.days.low, larva.days.high) == (20, 25)
    assert found.lower is not None
    assert found.lower.value == 9.5
    widths = [found.stage(code).head_width_mm for code in ("L1", "L2", "L3", "L5")]
    assert [each and each.centre for each in widths] == [0.3, 0.5, None, 2.1]
    assert found.sources["told"].kind == "published"
    assert found.sources["told"].citation == "KT 2025"


def test_a_temperature_holds_for_what_stands_before_it() -> None:
    found = profile(stages="egg,L1,pupa,adult", days="egg 4 at 25, L1 9; pupa 12 dd at 20, lower 9")
    days = [found.stage(code).days for code in ("egg", "L1")]
    assert [each and each.at_celsius for each in days] == [(25, 25), (20, 20)]
    heat = found.stage("pupa").degree_days
    assert heat is not None
    assert (heat.value, heat.at_celsius) == (12, (20, 20))


def test_nymphs_and_a_range_of_instars() -> None:
    found = profile(stages="egg, Nymph, adult", instars="4 to 6", days="nymph 30, egg to adult 41")
    assert found.codes == ("egg", "N1", "N2", "N3", "N4", "N5", "N6", "adult")
    assert [each.code for each in found.stages if each.optional] == ["N5", "N6"]
    assert [(each.first, each.until) for each in found.spans] == [("N1", "adult"), ("egg", "adult")]


def test_what_is_not_known_stands_as_a_comment_at_its_stage() -> None:
    text = profile_text(Description(stages="egg,L1,L2,adult", days="L1 3", heads="L2 0.5"))[1]
    parts = text.split("[[stages]]")[1:]
    told = ["how long it takes", "how wide the head is", "how long it takes", None]
    for part, lacks in zip(parts, told, strict=True):
        assert (f"# Not known by itself: {lacks}." in part) == (lacks is not None)


@pytest.mark.parametrize(
    ("told", "message"),
    [
        ({"name": "moth ("}, "is no name"),
        ({"name": "x" * 300}, "is no name"),
        ({"name": "m\udcffth"}, "broken letters"),
        ({"citation": "\ud800", "kind": "published"}, "broken letters"),
        ({"stages": "egg,worm,adult"}, "“worm” is not a stage code"),
        ({"stages": "egg,L1-L5,adult", "instars": "5"}, "name their instars already"),
        ({"instars": "many"}, "“many” is no number of instars"),
        ({"instars": "7-5"}, "the smaller number first"),
        ({"instars": "99"}, "1 to 30 instars"),
        ({"days": "egg long"}, "“egg long” is not understood"),
        ({"days": "egg 4, egg 5"}, "egg is told of twice"),
        ({"days": "worm 4"}, "there is no stage “worm”"),
        ({"days": "egg 6-4"}, "low 6 is above high 4"),
        ({"days": "egg 60 dd"}, "lower developmental threshold is missing"),
        ({"days": "lower 9, upper 8"}, "upper 8 °C is not above lower 9 °C"),
        ({"days": "egg 4 at 300"}, "at_celsius 300 °C is not plausible"),
        ({"heads": "L1 wide"}, "“L1 wide” is not understood"),
        ({"heads": "L1 0.5, L2 0.4"}, "0.4 mm is not above the 0.5 mm of L1"),
        ({"heads": "L1 900"}, "is not plausible"),
        ({"days": "egg 4", "kind": "published"}, "where was it published"),
        ({"days": "egg 4", "kind": "guessed"}, "“guessed” is no way to know it"),
    ],
)
def test_answers_that_cannot_be(told: dict[str, str], message: str) -> None:
    with pytest.raises(UsageError, match=message):
        profile_text(Description(**told))


@pytest.mark.parametrize(
    ("name", "known_as"),
    [("Brown Moth", "brown-moth"), ("été", "t"), ("蝶", "my-species"), ("a" * 99, "a" * 60)],
)
def test_an_id_is_made_of_the_name(name: str, known_as: str) -> None:
    assert id_of(name) == known_as


ANSWERS = st.text(max_size=30) | st.text("egL12,- dat.0()", max_size=25)


@given(st.tuples(*[ANSWERS] * 6))
def test_any_answers_make_a_profile_or_a_mistake_that_can_be_mended(told: tuple[str, ...]) -> None:
    name, stages, instars, days, heads, citation = told
    with contextlib.suppress(UsageError):
        text = profile_text(Description(name, stages, instars, days, heads, "own", citation))[1]
        read(tomllib.loads(text))
