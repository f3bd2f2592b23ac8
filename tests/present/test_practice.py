"""The pages to practise on: what they ask, and what stands beside it."""

import json
import re
from typing import Any

import pytest
from msgspec.structs import replace

from rearlog.analysis.growth.practice import ROUND, as_stage, specimens
from rearlog.drawings.stages import picture_of
from rearlog.present.drawings import drawing_of
from rearlog.present.practice import ROUNDS, practice, practice_on_pictures, practice_page
from rearlog.records.profile import Quantity
from rearlog.sentences.practice import facts, sign
from rearlog.species.catalogue import find
from tests.builders import small_profile

LADY = find("painted-lady")


@pytest.fixture(scope="module")
def asked() -> dict[str, Any]:
    return practice(LADY, 3)


def test_animals_are_asked_with_what_was_measured_of_them(asked: dict[str, Any]) -> None:
    animals = specimens(LADY, ROUNDS, 3)
    assert (asked["species"], asked["name"]) == ("painted-lady", LADY.name)
    assert (asked["round"], len(asked["animals"])) == (ROUND, 12 * ROUND)
    assert [each["stage"] for each in asked["animals"]] == [each.stage for each in animals]
    for each, animal in zip(asked["animals"], animals, strict=True):
        assert each["facts"] == facts(animal)
        assert each["sign"] == sign(LADY, animal)
        words = ", ".join(facts(animal))
        drawn = drawing_of(
            picture_of(as_stage(LADY, animal)),
            f"an animal to tell: {words}" if words else "an animal to tell",
        )
        shown = each["svg"]
        assert (shown["svg"], shown["width"], shown["height"]) == (
            drawn.svg, drawn.width_mm, drawn.height_mm,
        )  # fmt: skip
    assert any(not each["facts"] for each in asked["animals"])


def test_usual_stages_are_beside_them_and_what_is_none_where_it_is_asked(
    asked: dict[str, Any],
) -> None:
    assert asked["choices"] == [*LADY.codes, "none"]
    assert [*asked["usual"]] == [*LADY.codes]
    assert 'aria-label="a usual L2"' in asked["usual"]["L2"]["svg"]
    assert asked["usual"]["L2"]["scaled"]
    plain = practice(small_profile(), 1)
    assert plain["choices"] == [*small_profile().codes]
    assert not any(each["scaled"] for each in plain["usual"].values())


def test_a_ruler_stands_beside_a_drawing_of_which_something_was_measured() -> None:
    """The length of an egg, the head of an L1; nothing of an L2."""
    width = Quantity("test", value=0.5)
    profile = small_profile()
    egg, first, *others = profile.stages
    known = (replace(egg, length_mm=width), replace(first, head_width_mm=width))
    usual = practice(replace(profile, stages=(*known, *others)), 1)["usual"]
    assert {code for code, each in usual.items() if each["scaled"]} == {"egg", "L1"}


@pytest.mark.parametrize("count", [3, 10, 11])
def test_own_pictures_are_asked_up_to_ten_a_round(count: int) -> None:
    pictures = [(f"/photo/{n}", "L1") for n in range(count)]
    found = practice_on_pictures(LADY, "room", pictures)
    assert (found["species"], found["name"], found["usual"]) == ("painted-lady/room", "room", {})
    assert (found["round"], len(found["animals"])) == (min(count, 10), count)
    assert (found["choices"], found["none"]) == ([*LADY.codes], "none")
    assert found["animals"][1] == {
        "photo": "/photo/1", "facts": [], "stage": "L1", "sign": LADY.stage("L1").signs[0].text,
    }  # fmt: skip


def test_the_page_holds_all_of_it_and_no_name_ends_its_script() -> None:
    page = practice_page(replace(small_profile(), name="</script><b>"), 1)
    (data,) = re.findall(r'<script type="application/json" id="data">(.*?)</script>', page)
    assert json.loads(data)["name"] == "</script><b>"
    assert "<title>&lt;/script&gt;&lt;b&gt; – which stage is it?</title>" in page
