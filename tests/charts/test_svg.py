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
from rearlog.charts.fonts.__main__ import main as make_letters
from rearlog.charts.individuals import of_individual
from rearlog.charts.output import on_page, render
from rearlog.charts.progress import progress
from rearlog.charts.stages import stages
from rearlog.charts.svg import compact, grouped
from rearlog.present.policy import template
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


def test_the_letters_are_sans_upright_and_slanted_and_serif_bold() -> None:
    assert [(each.family, each.weight, each.style) for each in FACES] == [
        ("DejaVu Sans", "normal", "normal"),
        ("DejaVu Sans", "normal", "italic"),
        ("DejaVu Serif", "bold", "normal"),
    ]


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


def test_the_files_of_letters_are_those_that_are_made_of_the_fonts(tmp_path: Path) -> None:
    """With the numbers of the names of a font: copyright, licence and where that is to be read."""
    make_letters(tmp_path)
    for face in FACES:
        kept, made = (TTFont(folder / f"{face.file}.woff") for folder in (FOLDER, tmp_path))
        assert kept.flavor == made.flavor == "woff"
        assert sorted(kept.keys()) == sorted(made.keys())
        assert "fpgm" not in made
        assert kept.getBestCmap() == made.getBestCmap()
        said, anew = (
            {each.nameID: str(each) for each in font["name"].names} for font in (kept, made)
        )
        assert said == anew
        assert sorted(anew) == [0, 13, 14]
        assert kept.getGlyphOrder() == made.getGlyphOrder()


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
    # the outline around all rows is parted by rows, see below
    drawn = re.sub(r'<g id="of-row-.*?</g>', "", drawn, flags=re.S)
    before, after = shapes(drawn), shapes(re.sub("<path[^>]*data-of[^>]*/>", "", less))
    assert [kind for kind, _ in before] == [kind for kind, _ in after]
    for (_, old), (_, new) in zip(before, after, strict=True):
        assert new == pytest.approx(old, abs=0.006)


def things(svg: str) -> list[tuple[str, dict[str, str]]]:
    """Each thing that is drawn, with what is said of it by itself or by the groups around it."""
    found = []

    def walk(part: ElementTree.Element, said: dict[str, str]) -> None:
        kind = part.tag.removeprefix(SVG)
        of_it = {**said, **part.attrib}
        if kind in ("path", "use", "text"):
            found.append((kind, {**of_it, "text": part.text or ""}))
        for each in part:
            walk(each, {} if kind == "defs" else of_it if kind == "g" else said)

    walk(ElementTree.fromstring(svg), {})
    return found


def corners(outline: str) -> list[tuple[float, float]]:
    """The points of an outline of straight lines, without those that lie on the way along an axis
    from the last to the next, and without repeated ones."""
    points: list[tuple[float, float]] = []
    x = y = 0.0
    for command, numbers in re.findall(r"([MLHVz])([^MLHVz]*)", outline):
        at = [float(each) for each in numbers.split()]
        if command in "ML":
            x, y = at
        elif command == "H":
            x = at[0]
        elif command == "V":
            y = at[0]
        if command != "z":
            points.append((round(x, 1), round(y, 1)))
    kept: list[tuple[float, float]] = []
    for point in points:
        if kept and kept[-1] == point:
            continue
        if len(kept) > 1:
            (x0, y0), (x1, y1) = kept[-2:]
            flat = y0 == y1 == point[1] and (x1 - x0) * (point[0] - x1) >= 0
            steep = x0 == x1 == point[0] and (y1 - y0) * (point[1] - y1) >= 0
            if flat or steep:
                kept.pop()
        kept.append(point)
    return kept


@pytest.mark.parametrize("draw", ["progress", "stages"])
def test_a_page_shows_the_same_picture_in_less(draw: str, room: Answers, shelf: Answers) -> None:
    if draw == "progress":
        figure = progress([room.progress, shelf.progress])
    else:
        figure = stages([room.stage_counts])
    whole = render(figure, "svg").decode()
    part = on_page(figure, "p-")
    assert len(part) < 0.85 * len(re.sub("<style.*?</style>", "", whole, flags=re.S))
    inside = part.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"', 1)
    before, after = things(whole), things(inside)
    assert [kind for kind, _ in before] == [kind for kind, _ in after]
    for (_, old), (_, new) in zip(before, after, strict=True):
        for name in (set(old) | set(new)) - {"id", "class"}:
            if name == "d" and not set("CQ") & set(old["d"]):
                for one, other in zip(corners(old["d"]), corners(new["d"]), strict=True):
                    assert other == pytest.approx(one, abs=0.11)
            elif name in ("x", "y"):
                assert float(new[name]) == pytest.approx(float(old[name]), abs=0.011)
            else:
                assert new[name].replace("#p-", "#") == old[name], name


@pytest.mark.parametrize(("said", "saves"), [(' k="rr"', False), (' k="rrr"', True)])
def test_things_are_grouped_where_that_is_shorter(said: str, saves: bool) -> None:
    """A group takes seven letters: it saves as many of the first, and one more of the second."""
    apart = f'<path{said} d="M0 0"/><path{said} d="M1 1"/>'
    together = f'<g{said}><path d="M0 0"/><path d="M1 1"/></g>'
    assert grouped(apart) == (together if saves else apart)


def test_letters_that_stay_white_are_known_as_letters(room: Answers) -> None:
    """Whatever else is white is dark on a dark page."""
    part = on_page(progress([room.progress]), "p-")
    assert "<text" in part
    assert '<g fill="#ffffff"' not in re.sub(r"<g[^>]*>(?!<text)", "", part)


def test_marks_are_told_apart_for_a_dark_page(room: Answers) -> None:
    """What a page says of all in a chart does not reach a shape where that is used."""
    part = on_page(progress([room.progress]), "p-")
    shapes_of_marks = re.findall("<defs><path[^>]*>", part)
    assert shapes_of_marks
    assert all('class="mark"' in each for each in shapes_of_marks)
    assert ":is(.chart *, .mark)[stroke=" in template("charts.css")


def test_each_row_can_be_found_by_its_individual(room: Answers, shelf: Answers) -> None:
    """The outlines lie where the rows are, from one side of the panel to the other."""
    part = on_page(progress([room.progress, shelf.progress]), "p-")
    found = re.findall(r'<path (?:d="([^"]*)" )?data-of="(\d)/(\w+)"(?: d="([^"]*)")?', part)
    assert len(found) == len(room.progress.individuals) + len(shelf.progress.individuals)
    for place, course in enumerate((room.progress, shelf.progress)):
        outlines = {code: corners(one or two) for one, at, code, two in found if at == str(place)}
        assert set(outlines) == {each.individual for each in course.individuals}
        sides = {(min(x for x, _ in each), max(x for x, _ in each)) for each in outlines.values()}
        assert len(sides) == 1
        heights = sorted(min(y for _, y in each) for each in outlines.values())
        assert len(set(heights)) == len(heights)


def test_what_belongs_to_an_individual_says_so_in_all_its_parts() -> None:
    figure = Figure(figsize=(1, 1))
    axes = figure.subplots()
    for part, line in {"up": [0, 1], "down": [1, 0]}.items():
        axes.plot([0, 1], line, gid=of_individual(part, 1, 'a"<7>'))
    for svg in (on_page(figure, "p-"), render(figure, "svg").decode()):
        assert svg.count(' data-of="1/a%22%3C7%3E"') == 2


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
    assert set(names) == set(re.findall(r'(?:href="#|url\(#)([^")]*)', svg))
    assert "style" not in svg
    assert svg.count('aria-hidden="true"') == 1
    assert 'stroke="#ff0000"' in svg
    assert '=""' not in svg
