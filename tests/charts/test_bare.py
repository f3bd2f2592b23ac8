"""Figures as journals take them: without title and notes, of exact width, fine enough, with text
that stays text, and told apart in grey as those with a title are."""

import io
import re
from pathlib import Path

import pytest
from matplotlib.collections import Collection
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from PIL import Image
from pypdf import PdfReader

from rearlog.charts.output import render, save
from rearlog.charts.pace import pace
from rearlog.charts.style import Style, add_note, caption_of, look, said
from rearlog.charts.survival import survival
from rearlog.notebook import Notebook, compare
from rearlog.present.pictures import KINDS
from rearlog.records.errors import UsageError
from tests.charts.conftest import Answers, words
from tests.charts.eyes import faults
from tests.charts.made_cohorts import SPECIES, chart

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
COLUMN, DOUBLE = (look(size, bare=True) for size in ("column", "double"))
MM_PER_INCH = 25.4
TWO = [(place, 24, SPECIES) for place in range(2)]


@pytest.fixture(scope="module")
def bare() -> Figure:
    shelves = [Notebook(SAMPLES / f"{name}.json") for name in ("cool", "room", "warm")]
    return pace(compare(shelves), COLUMN, invented=True)


def marks(figure: Figure) -> list[str]:
    """How everything that carries meaning is drawn: colours, dashes, markers, hatching."""
    lines = [
        ("line", each.get_color(), str(each.get_linestyle()), str(each.get_marker()))
        for each in figure.findobj(Line2D)
    ]
    patches = [
        ("patch", to_hex(each.get_facecolor()), each.get_hatch()) for each in figure.findobj(Patch)
    ]
    areas = [
        ("area", tuple(map(to_hex, each.get_facecolor())), tuple(map(to_hex, each.get_edgecolor())))
        for each in figure.findobj(Collection)
    ]
    return sorted(set(map(str, [*lines, *patches, *areas])))


@pytest.mark.parametrize("kind", KINDS)
def test_a_bare_chart_holds_and_is_told_apart_as_the_other_is(kind: str) -> None:
    """What is told apart in grey with a title is so without one: the marks are the same."""
    for size in ("column", "double"):
        style, usual = look(size, bare=True), look(size)
        figure = chart(kind, TWO, style)
        assert faults(figure, style) == []
        assert figure.get_suptitle() == ""
        assert figure.get_supxlabel().strip() == ""
        other = chart(kind, TWO, usual)
        assert marks(figure) == marks(other)
        assert figure.get_figwidth() == other.get_figwidth()
        assert figure.get_figheight() < other.get_figheight() + 1e-9


def test_the_caption_has_the_title_and_the_notes_and_says_what_is_invented(room: Answers) -> None:
    usual = survival([room.survival], look("column"), invented=True)
    figure = survival([room.survival], COLUMN, invented=True)
    title = " ".join(usual.get_suptitle().split())
    notes = " ".join(usual.get_supxlabel().split())
    assert caption_of(figure) == caption_of(usual) == f"{title}. {notes} Invented data."
    assert "invented data" in words(figure)  # that much stays in the picture
    own = survival([room.survival], COLUMN, invented=False)
    assert "nvented" not in caption_of(own)
    assert "invented" not in words(own)


def test_what_is_added_to_a_bare_chart_is_added_to_its_caption(room: Answers) -> None:
    for invented in (True, False):
        figure = survival([room.survival], COLUMN, invented=invented)
        before = words(figure)
        add_note(figure, "As it was known by then.")
        assert caption_of(figure).endswith(" As it was known by then.")
        assert words(figure) == before
    usual = survival([room.survival], look("column"), invented=False)
    add_note(usual, "As it was known by then.")
    assert "As it was known by then." in words(usual)


def test_a_sentence_in_place_of_a_drawing_has_a_caption_too() -> None:
    figure = said(COLUMN, "Nothing yet", "Nobody was looked at.", invented=False)
    assert caption_of(figure) == "Nothing yet."
    assert words(figure) == "Nobody was looked at."


@pytest.mark.parametrize(
    ("style", "mm", "dpi"), [(COLUMN, 85, 300), (COLUMN, 85, 600), (DOUBLE, 175, 300)]
)
def test_a_tiff_is_as_wide_and_as_fine_as_it_says(
    room: Answers, style: Style, mm: int, dpi: int
) -> None:
    figure = survival([room.survival], style)
    with Image.open(io.BytesIO(render(figure, "tiff", dpi))) as picture:
        assert picture.format == "TIFF"
        assert picture.mode == "RGB"
        assert picture.info["compression"] == "tiff_lzw"
        assert picture.info["dpi"] == (dpi, dpi)
        assert picture.width == pytest.approx(mm / MM_PER_INCH * dpi, abs=1)
        assert picture.width / dpi * MM_PER_INCH == pytest.approx(mm, abs=MM_PER_INCH / dpi)
        assert picture.height / dpi == pytest.approx(figure.get_figheight(), abs=1 / dpi)
        tiff = picture.convert("RGB").tobytes()
    with Image.open(io.BytesIO(render(figure, "png", dpi))) as picture:
        assert picture.info["dpi"] == pytest.approx((dpi, dpi), abs=0.1)
        assert picture.convert("RGB").tobytes() == tiff


def test_dots_are_300_an_inch_in_a_tiff_and_200_in_a_png_unless_it_is_said(room: Answers) -> None:
    figure = survival([room.survival], COLUMN)
    for form, dpi in {"tiff": 300, "png": 200}.items():
        with Image.open(io.BytesIO(render(figure, form))) as picture:
            assert picture.info["dpi"] == pytest.approx((dpi, dpi), abs=0.1)
            assert picture.width == pytest.approx(85 / MM_PER_INCH * dpi, abs=1)


@pytest.mark.parametrize("form", ["svg", "pdf"])
def test_what_is_drawn_in_lines_has_no_dots(room: Answers, form: str) -> None:
    with pytest.raises(UsageError, match=f"{form.upper()} is drawn in lines.*leave out --dpi"):
        render(survival([room.survival], COLUMN), form, 300)


def test_a_tif_is_a_tiff(room: Answers, tmp_path: Path) -> None:
    save(survival([room.survival], COLUMN), tmp_path / "chart.TIF", dpi=300)
    assert (tmp_path / "chart.TIF").read_bytes()[:4] in (b"II*\0", b"MM\0*")


def test_a_pdf_has_its_fonts_within_and_text_to_be_found(bare: Figure) -> None:
    (page,) = PdfReader(io.BytesIO(render(bare, "pdf"))).pages
    assert float(page.mediabox.width) == pytest.approx(85 / MM_PER_INCH * 72, abs=0.1)
    fonts = [each.get_object() for each in page["/Resources"]["/Font"].values()]  # type: ignore[index]
    assert fonts
    for font in fonts:
        assert font["/Subtype"] in ("/TrueType", "/Type0")  # type 42 within, none of type 3
        inner = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
        assert "/FontFile2" in inner["/FontDescriptor"].get_object()
    text = page.extract_text()
    for word in ("Days", "cool", "room", "warm", "38.2, n = 18", "invented data"):
        assert word in text
    assert "times as many" not in text  # the title


def test_an_svg_has_its_fonts_within_and_text_to_be_found(bare: Figure) -> None:
    text = render(bare, "svg").decode()
    (width,) = re.findall(r'<svg[^>]*\bwidth="([\d.]+)pt"', text)
    assert float(width) == pytest.approx(85 / MM_PER_INCH * 72, abs=0.1)
    told = " ".join(re.findall(r"<text[^>]*>([^<]+)<", text))
    for word in ("Days", "cool", "room", "warm", "38.2, n = 18"):
        assert word in told
    assert '@font-face{font-family:"DejaVu Sans"' in text
    assert 'src:url("data:font/woff;base64,' in text
