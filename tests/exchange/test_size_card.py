"""The size card prints at true size: measured in the file by a library that did not write it."""

from itertools import combinations
from pathlib import Path

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from msgspec.structs import replace

from rearlog.exchange.sheet_print import PAPERS, Paper, save
from rearlog.exchange.size_card import RULER_MM, pages, size_card
from rearlog.records.errors import UsageError
from rearlog.records.profile import Profile, Quantity, Source, StageProfile
from rearlog.species.catalogue import bundled, find
from tests.exchange.printed_shapes import Filled, filled_shapes, paper_mm, words

MONARCH = {
    "L1": (0.6, 2, 6),
    "L2": (0.8, 6, 9),
    "L3": (1.5, 10, 14),
    "L4": (2.2, 13, 25),
    "L5": (3.5, 25, 45),
}
"""Head width and range of body length in mm: larval field guide, University of Minnesota."""
BAR_MM = 2.2
IN_FILE = 0.01


def printed(
    tmp_path: Path, profile: Profile, own: dict[str, tuple[float, int]] | None = None
) -> Path:
    card = size_card(profile, own or {}, profile.name)
    [path] = save(pages(card), tmp_path / "card.pdf", title="Size card")
    return path


def bars(found: list[Filled]) -> list[float]:
    return [each.width for each in found if each.height == pytest.approx(BAR_MM, abs=IN_FILE)]


@pytest.mark.parametrize("paper", PAPERS)
def test_the_ruler_and_every_size_are_true(tmp_path: Path, paper: Paper) -> None:
    card = size_card(find("monarch"), {}, "monarch")
    [path] = save(pages(card, paper), tmp_path / "card.pdf")
    assert paper_mm(path) == [pytest.approx(PAPERS[paper], abs=0.01)]
    found = filled_shapes(path)
    lengths = [each.width for each in found if not each.is_round]
    assert lengths[0] == pytest.approx(RULER_MM, abs=IN_FILE) == 50
    discs = [
        each.width
        for each in found
        if each.is_round and each.width == pytest.approx(each.height, abs=IN_FILE)
    ]
    for head, low, high in MONARCH.values():
        assert any(width == pytest.approx(head, abs=IN_FILE) for width in discs)
        for end in (low, high):
            assert any(width == pytest.approx(end, abs=IN_FILE) for width in bars(found))
    for filament in (0.3, 1.7, 0.9, 5, 2, 11, 4):
        assert any(width == pytest.approx(filament, abs=IN_FILE) for width in lengths), filament


def test_what_is_printed_tells_the_ranges(tmp_path: Path) -> None:
    told = words(printed(tmp_path, find("monarch")))
    for words_ in (
        "Print at 100 %",
        "50 mm long",
        "head 3.5 mm",
        "2.94 to 4.06 mm",  # 3.5 ± 2 × 0.28, the profile's 8 %
        "25 to 45 mm",
        "Sizes: published, from memory.",
    ):
        assert words_ in told


def test_a_cohorts_own_heads_are_taken(tmp_path: Path) -> None:
    path = printed(tmp_path, find("monarch"), {"L3": (1.37, 8)})
    discs = [each.width for each in filled_shapes(path) if each.is_round]
    assert any(width == pytest.approx(1.37, abs=0.001) for width in discs)
    assert not any(width == pytest.approx(1.5, abs=0.001) for width in discs)
    assert "head 1.37 mm" in words(path)
    assert "1.15 to 1.59 mm, own, n = 8" in words(path)
    assert "Sizes: published, from memory, own." in words(path)


def test_what_is_too_long_for_the_page_is_said_and_not_drawn(tmp_path: Path) -> None:
    long = replace(find("monarch").stage("L5"), length_mm=Quantity("guide", low=90, high=260))
    profile = replace(find("monarch"), stages=(long,))
    path = printed(tmp_path, profile)
    assert "90 to 260 mm, longer than this page is wide" in words(path)
    assert max(each.left + each.width for each in filled_shapes(path)) < 200


def test_many_stages_go_on_overleaf(tmp_path: Path) -> None:
    sizes = [
        StageProfile(f"L{n}", f"instar {n}", length_mm=Quantity("own", value=3.0 * n))
        for n in range(1, 25)
    ]
    own = Profile("own", "own", "Genus", tuple(sizes), {"own": Source("own", "mine")})
    path = printed(tmp_path, own)
    assert len(paper_mm(path)) == 2
    assert "page 1 of 2" in words(path)
    drawn = [width for page in (0, 1) for width in bars(filled_shapes(path, page))]
    for n in range(1, 25):
        assert any(width == pytest.approx(3.0 * n, abs=IN_FILE) for width in drawn)


def test_stages_without_a_size_are_named() -> None:
    card = size_card(find("seven-spot-ladybird"), {}, "ladybird")
    assert [row.stage.code for row in card.rows] == ["egg"]
    assert card.unknown == ("L1", "L2", "L3", "L4", "pupa")


def test_a_profile_without_sizes_has_no_card() -> None:
    bare = Profile("own", "own moth", "Genus", (StageProfile("L1", "L1"),), {})
    with pytest.raises(UsageError, match="the profile of own moth gives no sizes"):
        size_card(bare, {}, "own moth")


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("species", [each.id for each in bundled()])
def test_no_text_lies_on_another_or_beyond_the_margin(species: str, paper: Paper) -> None:
    width, height = PAPERS[paper]
    for figure in pages(size_card(find(species), {}, find(species).name), paper):
        renderer = FigureCanvasAgg(figure).get_renderer()
        millimetres = figure.axes[0].transData.inverted()
        boxes = [
            (text.get_text(), text.get_window_extent(renderer).transformed(millimetres))
            for text in figure.axes[0].texts
            if text.get_text()
        ]
        for name, box in boxes:
            assert 10 <= box.x0 <= box.x1 <= width - 10, name
            assert 8 <= min(box.y0, box.y1) <= max(box.y0, box.y1) <= height - 8, name
        for (one, box), (two, other) in combinations(boxes, 2):
            assert not box.overlaps(other), f"{one} lies on {two}"
