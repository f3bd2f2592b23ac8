"""Drawings of stages: to scale where numbers are, plain where none are, safe in any page."""

import math
import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from rearlog.drawings.stages import picture
from rearlog.present.drawings import drawing, side_by_side
from rearlog.records.forms import Form
from rearlog.records.profile import Profile, Quantity, Source, StageProfile
from rearlog.sentences.drawings import label
from rearlog.species.catalogue import bundled, find

SVG = "{http://www.w3.org/2000/svg}"
ALL = [(each.id, code) for each in bundled() for code in find(each.id).codes]
ALLOWED = {"svg", "g", "title", "text", "path", "ellipse"}


def elements(svg: str, stage: str | None = None) -> list[ElementTree.Element]:
    root = ElementTree.fromstring(svg)
    where = root if stage is None else root.find(f".//{SVG}g[@data-stage='{stage}']")
    assert where is not None
    return list(where.iter())


def ink(found: list[ElementTree.Element], name: str) -> list[ElementTree.Element]:
    return [each for each in found if each.get("class") == f"ink-{name}"]


def traced(path: ElementTree.Element) -> list[tuple[float, float]]:
    """Points along the cubic pieces of a path, by the casteljau construction."""
    numbers = [float(each) for each in re.findall(r"-?[\d.]+", path.get("d", ""))]
    corners = list(zip(numbers[::2], numbers[1::2], strict=True))
    points = [corners[0]]
    for first in range(1, len(corners), 3):
        piece = [corners[first - 1], *corners[first : first + 3]]
        for step in range(1, 101):
            level = piece
            while len(level) > 1:
                level = [
                    (a[0] + (b[0] - a[0]) * step / 100, a[1] + (b[1] - a[1]) * step / 100)
                    for a, b in pairwise(level)
                ]
            points.append(level[0])
    return points


def length_of(path: ElementTree.Element) -> float:
    points = traced(path)
    return sum(math.dist(a, b) for a, b in pairwise(points))


def bare(*stages: StageProfile) -> Profile:
    return Profile("own", "own <moth>", "Genus", stages, {"own": Source("own", "mine")})


@pytest.mark.parametrize(("species", "code"), ALL)
def test_every_stage_is_drawn_and_asks_nothing_of_the_page(species: str, code: str) -> None:
    drawn = drawing(find(species), code)
    found = elements(drawn.svg)
    assert {each.tag.removeprefix(SVG) for each in found} <= ALLOWED
    assert not {name for each in found for name in each.attrib} & {"style", "id", "href", "onload"}
    assert "url(" not in drawn.svg
    size = [float(each) for each in found[0].get("viewBox", "").split()]
    assert size == pytest.approx([0, 0, drawn.width_mm, drawn.height_mm], abs=1e-4)
    assert found[0].get("width") == f"{found[0].get('viewBox', '').split()[2]}mm"
    assert found[0].get("aria-label") == drawn.alt
    assert drawn.alt.startswith(find(species).stage(code).name)


@pytest.mark.parametrize(
    ("code", "head", "length", "front", "back"),
    [("L3", 1.5, 12, 1.7, 0.9), ("L4", 2.2, 19, 5, 2), ("L5", 3.5, 35, 11, 4)],
)
def test_a_monarch_is_as_large_as_the_field_guide_says(
    code: str, head: float, length: float, front: float, back: float
) -> None:
    """Head, body and filaments of the larval field guide (University of Minnesota), in mm."""
    monarch = find("monarch")
    for svg in (drawing(monarch, code).svg, side_by_side(monarch)):
        found = elements(svg, code)
        (face,) = [each for each in ink(found, "solid") if each.tag == f"{SVG}ellipse"]
        (body,) = ink(found, "body")
        assert 2 * float(face.get("rx", 0)) == pytest.approx(head, abs=1e-3)
        assert 2 * float(face.get("ry", 0)) == pytest.approx(head, abs=1e-3)
        rear = max(x for x, _ in traced(body))
        begin = float(face.get("cx", 0)) - float(face.get("rx", 0))
        assert rear - begin == pytest.approx(length, rel=0.01)
        lengths = sorted(length_of(each) for each in ink(found, "line"))
        assert lengths[-2:] == pytest.approx([front, front], rel=2e-3)
        assert sum(abs(each - back) < 0.002 * back for each in lengths) == 2


@pytest.mark.parametrize(("species", "wide", "high"), [("tobacco-hornworm", 1.4, 1.4)])
def test_an_egg_is_as_large_as_the_profile_says(species: str, wide: float, high: float) -> None:
    (shell,) = ink(elements(drawing(find(species), "egg").svg), "body")
    assert 2 * float(shell.get("rx", 0)) == pytest.approx(wide)
    assert 2 * float(shell.get("ry", 0)) == pytest.approx(high)


@pytest.mark.parametrize(
    ("species", "code", "extent"),
    [("painted-lady", "egg", 0.65), ("monarch", "egg", 1.1), ("silkworm", "L5", 57.5)],
)
def test_the_greatest_extent_is_that_of_the_profile(species: str, code: str, extent: float) -> None:
    found = elements(drawing(find(species), code).svg)
    (body,) = ink(found, "body")
    xs, ys = zip(*traced(body), strict=True)
    faces = [each for each in ink(found, "solid") if each.tag == f"{SVG}ellipse"]
    left = min([*xs, *(float(each.get("cx", 0)) - float(each.get("rx", 0)) for each in faces)])
    assert max(max(xs) - left, max(ys) - min(ys)) == pytest.approx(extent, rel=0.01)


def test_wings_are_as_wide_as_they_span() -> None:
    wings = [traced(each) for each in ink(elements(drawing(find("monarch"), "adult").svg), "body")]
    xs = [x for wing in wings for x, _ in wing]
    assert max(xs) - min(xs) == pytest.approx(97.5, rel=0.01)


def test_ribs_and_bands_are_drawn_where_the_profile_says_so() -> None:
    monarch = find("monarch")
    assert len(ink(elements(drawing(monarch, "egg").svg), "line")) == 5
    assert len(ink(elements(drawing(monarch, "L2").svg), "tone")) == 13
    assert ink(elements(drawing(monarch, "L1").svg), "tone") == []
    smooth = replace(monarch.stage("egg"), form=Form("oval", "practice"))
    assert ink(elements(drawing(bare(smooth), "egg").svg), "line") == []


def test_what_is_not_known_is_plain_and_says_so() -> None:
    own = bare(*(StageProfile(code, code) for code in ("egg", "L1", "N1", "pupa", "adult")))
    for code in own.codes:
        drawn = drawing(own, code)
        found = elements(drawn.svg)
        assert ink(found, "guess")
        for name in ("solid", "tone", "line", "body"):
            assert ink(found, name) == [], (code, name)
        assert "a plain form" in drawn.alt
        assert "the profile does not say: drawn dashed" in drawn.alt
        assert "All of it is only a shape." in drawn.alt
    assert side_by_side(own).count("size not known") == 5


def test_a_head_alone_is_to_scale_on_a_dashed_body() -> None:
    larva = StageProfile("L2", "second instar", head_width_mm=Quantity("own", value=0.8))
    drawn = drawing(bare(larva), "L2")
    (face,) = ink(elements(drawn.svg), "solid")
    assert 2 * float(face.get("rx", 0)) == pytest.approx(0.8)
    assert len(ink(elements(drawn.svg), "guess")) == 1
    assert "From the profile: head 0.8 mm wide." in drawn.alt


def test_the_words_tell_numbers_from_shapes() -> None:
    told = drawing(find("monarch"), "L5").alt
    assert told == (
        "fifth instar: line drawing, caterpillar with bands. From the profile: length 25–45 mm, "
        "head 3.5 mm wide, front filament 11 mm, back filament 4 mm, drawn at the middle of the "
        "range. All else is only a shape."
    )


def test_a_measure_that_cannot_be_drawn_is_named() -> None:
    parts = {"hind_leg": Quantity("own", value=1.0)}
    told = drawing(bare(StageProfile("L1", "L1", measures_mm=parts)), "L1").alt
    assert "Measured, but not drawn: hind leg." in told


def test_words_of_a_profile_stay_words() -> None:
    stage = StageProfile("L1", '"><script>alert(1)</script>')
    own = replace(bare(stage), name="<b>moth</b>")
    for svg in (drawing(own, "L1").svg, side_by_side(own)):
        assert "<script" not in svg
        assert "<b>" not in svg
        ElementTree.fromstring(svg)


def test_a_form_that_is_not_known_here_is_drawn_plain() -> None:
    """A cohort file may hold a profile with words of a later version."""
    later = StageProfile("L1", "L1", form=Form("centipede", "own", ("bands",)))
    plain = StageProfile("L1", "L1")
    assert drawing(bare(later), "L1").svg == drawing(bare(plain), "L1").svg


def test_stages_stand_beside_each_other_on_one_ground_with_their_words_beneath() -> None:
    """2 mm from the edges, 5 mm from one column to the next; a column is as wide as its drawing or
    its words, of which a letter takes about 1.736 mm."""
    profile = find("monarch")
    root = ElementTree.fromstring(side_by_side(profile))
    shown = [picture(profile, code) for code in profile.codes]
    ground = 2 + max(each.height_mm for each in shown)
    x, middles = 2.0, []
    for each in shown:
        column = max(each.width_mm, 1.736 * len(label(each)))
        middles.append(x + column / 2)
        x += column + 5
    texts = [*root.iter(f"{SVG}text")]
    told = [(float(each.get("x", 0)), float(each.get("y", 0))) for each in texts]
    for at, code, words in zip(middles, told[::2], told[1::2], strict=True):
        assert (*code, *words) == pytest.approx((at, ground + 5, at, ground + 9), abs=1e-3)
    assert [each.text for each in texts[::2]] == [*profile.codes]
    width, height = map(float, root.get("viewBox", "").split()[2:])
    assert (width, height) == pytest.approx((x - 5 + 2, ground + 11), abs=1e-3)


def test_strokes_beside_each_other_grow_with_the_larger_side_as_far_as_they_print_well() -> None:
    """0.8 % of it: of a pupa 27 mm high 0.216 mm; from 0.1 to 0.3 mm."""
    svg = side_by_side(find("monarch"))
    groups = re.findall(r'data-stage="(\w+)"(.*?)</g>', svg, flags=re.S)
    widths = {
        code: max(map(float, re.findall(r'stroke-width="([\d.]+)"', shapes)))
        for code, shapes in groups
    }
    assert widths == {
        "egg": 0.1, "L1": 0.1, "L2": 0.1, "L3": 0.1, "L4": 0.152, "L5": 0.2944, "pupa": 0.216,
        "adult": 0.3,
    }  # fmt: skip


def test_stages_beside_each_other_do_not_overlap() -> None:
    for each in bundled():
        root = ElementTree.fromstring(side_by_side(find(each.id)))
        width, height = map(float, root.get("viewBox", "").split()[2:])
        edge = 0.0
        for group in root.iter(f"{SVG}g"):
            xs, ys = [], []
            for shape in group:
                if shape.tag == f"{SVG}path":
                    points = traced(shape)
                    xs += [x for x, _ in points]
                    ys += [y for _, y in points]
                elif shape.tag == f"{SVG}ellipse":
                    x, y = float(shape.get("cx", 0)), float(shape.get("cy", 0))
                    rx, ry = float(shape.get("rx", 0)), float(shape.get("ry", 0))
                    xs += [x - rx, x + rx]
                    ys += [y - ry, y + ry]
            assert min(xs) > edge
            assert 0 < min(ys) <= max(ys) < height
            edge = max(xs)
        assert edge < width


@settings(max_examples=20, deadline=None)
@given(
    length=st.floats(0.1, 300),
    head=st.floats(0.01, 60),
    front=st.floats(0.01, 400),
    shape=st.sampled_from(["caterpillar", "grub", "worm", "maggot", "none of these"]),
)
def test_any_numbers_give_a_drawing_within_its_bounds(
    length: float, head: float, front: float, shape: str
) -> None:
    larva = StageProfile(
        "L1",
        "L1",
        length_mm=Quantity("own", value=length),
        head_width_mm=Quantity("own", value=head),
        measures_mm={"front_filament": Quantity("own", value=front)},
        form=Form(shape, "own", ("bands", "spines", "horn")),
    )
    drawn = drawing(bare(larva), "L1")
    assert "nan" not in drawn.svg
    assert "inf" not in drawn.svg
    for path in [each for each in elements(drawn.svg) if each.tag == f"{SVG}path"]:
        xs, ys = zip(*traced(path), strict=True)
        slack = 1e-3 * max(drawn.width_mm, drawn.height_mm) + 1e-3
        assert min(xs) > -slack
        assert min(ys) > -slack
        assert max(xs) < drawn.width_mm + slack
        assert max(ys) < drawn.height_mm + slack


def test_stages_of_which_the_same_is_known_share_a_drawing() -> None:
    """A mealworm has 22 instars of which nothing is known that could be drawn apart."""
    svg = side_by_side(find("mealworm"))
    groups = [each.get("data-stage") for each in elements(svg) if each.tag == f"{SVG}g"]
    instars = " ".join(f"L{number}" for number in range(1, 23))
    assert groups == ["egg", instars, "pupa", "adult"]
    assert "L1–L22" in svg
    assert "first instar to 22nd instar: line drawing, worm." in svg
    lady = [each.get("data-stage") for each in elements(side_by_side(find("painted-lady")))]
    assert [each for each in lady if each] == list(find("painted-lady").codes)
