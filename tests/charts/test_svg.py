"""Charts as SVG: text that can be found, letters that come along, and the same picture in less."""

import io
import re
from pathlib import Path
from xml.etree import ElementTree

import matplotlib
import pytest
from fontTools.ttLib import TTFont
from matplotlib.figure import Figure

from rearlog.charts import fonts
from rearlog.charts.fonts import FACES, Face
from rearlog.charts.output import on_page, render
from rearlog.charts.progress import progress
from rearlog.charts.stages import stages
from rearlog.charts.svg import compact
from tests.charts.conftest import Answers

SVG = "{http://www.w3.org/2000/svg}"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")
FOLDER = Path(fonts.__file__).parent


def texts(svg: str) -> str:
    """All that is said in a picture, a line each."""
    return "\n".join(each.text or "" for each in ElementTree.fromstring(svg).iter(f"{SVG}text"))


def test_text_in_a_file_is_text_and_its_letters_come_along(room: Answers, shelf: Answers) -> None:
    svg = render(progress([room.progress, shelf.progress]), "svg").decode()
    assert "room" in texts(svg)
    assert svg.count("@font-face") == 3  # upright, slanted, and the title's
    ids = re.findall(r' id="([^"]+)"', svg)
    assert len(ids) == len(set(ids))
    assert "stage-room-L1" in ids


def test_only_the_fonts_that_are_used_come_along() -> None:
    figure = Figure(figsize=(2, 1))
    figure.text(0.1, 0.5, "plain", fontfamily="DejaVu Sans")
    svg = render(figure, "svg").decode()
    assert svg.count("@font-face") == 1
    assert "font-style:normal" in svg


def test_words_in_a_file_stay_as_they_were_written() -> None:
    figure = Figure(figsize=(2, 1))
    figure.text(0.1, 0.5, 'a < b & "c" 1.23456\nrotate(0 1', parse_math=False)
    assert texts(render(figure, "svg").decode()) == 'a < b & "c" 1.23456\nrotate(0 1'


@pytest.mark.parametrize("face", FACES, ids=lambda face: face.file)
def test_letters_are_as_wide_as_those_that_charts_are_laid_out_with(face: Face) -> None:
    whole = TTFont(Path(matplotlib.get_data_path(), "fonts", "ttf", f"{face.file}.ttf"))
    part = TTFont(FOLDER / f"{face.file}.woff")
    assert part["head"].unitsPerEm == whole["head"].unitsPerEm
    letters, all_letters = part.getBestCmap(), whole.getBestCmap()
    assert set("AZaz09äßéłŠ°±×–−≤≥→▷’“”…") <= set(map(chr, letters))
    for letter, name in letters.items():
        assert part["hmtx"][name][0] == whole["hmtx"][all_letters[letter]][0], chr(letter)


def test_all_that_charts_say_is_in_the_letters(room: Answers) -> None:
    said = texts(render(progress([room.progress]), "svg").decode())
    said += texts(render(stages([room.stage_counts]), "svg").decode())
    for face in FACES:
        assert set(said) - {"\n"} <= set(
            map(chr, TTFont(FOLDER / f"{face.file}.woff").getBestCmap())
        )


def test_the_licence_of_the_letters_is_beside_them() -> None:
    assert "Bitstream Vera" in (FOLDER / "LICENSE_DEJAVU").read_text(encoding="utf-8")


def shapes(svg: str) -> list[tuple[str, list[float]]]:
    """Each path, mark and text of a picture with where it is, in the order in which it is drawn."""
    told = []
    for each in ElementTree.fromstring(svg).iter():
        kind = each.tag.removeprefix(SVG)
        if kind in ("path", "use", "text"):
            where = " ".join(each.get(name, "") for name in ("d", "x", "y"))
            told.append((kind, [float(number) for number in NUMBER.findall(where)]))
    return told


def test_less_is_still_the_same_picture(room: Answers, shelf: Answers) -> None:
    figure = progress([room.progress, shelf.progress])
    with matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": "rearlog"}):
        target = io.StringIO()
        figure.savefig(target, format="svg")
    drawn = target.getvalue()
    less = compact(drawn)
    assert len(less) < 0.5 * len(drawn)
    before, after = shapes(drawn), shapes(less)
    assert [kind for kind, _ in before] == [kind for kind, _ in after]
    for (_, old), (_, new) in zip(before, after, strict=True):
        assert new == pytest.approx(old, abs=0.006)


def test_a_picture_within_a_page_has_names_of_its_own_and_no_styles() -> None:
    figure = Figure(figsize=(1, 1))
    axes = figure.subplots()
    axes.plot([0, 1], [0, 1], gid="total", color="red")
    axes.plot([0, 1], [1, 0], gid="total")
    svg = on_page(figure, "room-")
    names = re.findall(r' id="([^"]*)"', svg)
    assert names
    assert len(names) == len(set(names))
    assert all(name.startswith("room-") for name in names)
    assert names.count("room-total") == 1
    for target in re.findall(r'(?:href="#|url\(#)([^")]*)', svg):
        assert target in names
    assert "style" not in svg
    assert svg.count('aria-hidden="true"') == 1
    assert 'stroke="#ff0000"' in svg
    assert '=""' not in svg
