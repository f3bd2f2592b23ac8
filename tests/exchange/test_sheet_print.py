import re
from datetime import date, timedelta
from itertools import chain, combinations
from pathlib import Path

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.transforms import Bbox
from msgspec.structs import replace

from rearlog.exchange.canvas import fitted, width_mm
from rearlog.exchange.sheet import Sheet, SheetRow
from rearlog.exchange.sheet_print import PAPERS, Paper, page_paths, pages, save
from rearlog.records.errors import UsageError
from rearlog.records.profile import Sign, StageProfile
from rearlog.species.catalogue import bundled, find

FIRST = date(2026, 3, 9)


def sheet_of(species: str, count: int, days: int = 7, prefix: str = "A") -> Sheet:
    profile = find(species)
    return Sheet(
        cohort="room",
        species=profile.name,
        place="window shelf",
        days=tuple(FIRST + timedelta(days=step) for step in range(days)),
        rows=tuple(SheetRow(f"{prefix}{number:02d}", "L3") for number in range(1, count + 1)),
        stages=profile.stages,
        invented=True,
    )


CROWDED = replace(
    sheet_of("mealworm", 40, days=14, prefix="MEALWORM_CUP_NUMBER_"),
    cohort="the-warm-shelf-of-the-second-year-beside-the-window-2026",
    place="the second shelf from above in the cupboard behind the door of the room upstairs " * 3,
)


GROWN = replace(CROWDED, rows=tuple(replace(each, last_stage="adult") for each in CROWDED.rows))


def words(figure: Figure) -> list[str]:
    return [text.get_text() for text in figure.axes[0].texts]


def told(figure: Figure) -> str:
    """All words in their order, those of several lines behind each other."""
    return " ".join(words(figure))


def boxes(figure: Figure) -> dict[str, Bbox]:
    """Where each text is drawn, in mm; its place in the key keeps equal texts apart."""
    renderer = FigureCanvasAgg(figure).get_renderer()
    millimetres = figure.axes[0].transData.inverted()
    return {
        f"{place}: {text.get_text()}": text.get_window_extent(renderer).transformed(millimetres)
        for place, text in enumerate(figure.axes[0].texts)
        if text.get_text()
    }


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("species", [listing.id for listing in bundled()])
def test_thirty_individuals_fit_a_page(species: str, paper: Paper) -> None:
    [figure] = pages(sheet_of(species, 30), paper)
    shown = words(figure)
    assert [f"A{number:02d}" for number in range(1, 31)] == [
        each for each in shown if re.fullmatch(r"A\d\d", each)
    ]
    assert shown.count("L3") >= 30
    assert {"lowest °C", "highest °C", "initials", "notes", "invented data"} <= {*shown}


@pytest.mark.parametrize(
    ("sheet", "paper"),
    [(sheet_of("painted-lady", 30), "A4"), (sheet_of("tobacco-hornworm", 30), "letter"),
     (CROWDED, "letter"), (CROWDED, "A4"), (sheet_of("vinegar-fly", 2, days=1), "A4"),
     (sheet_of("painted-lady", 1), "letter"), (sheet_of("tobacco-hornworm", 12, days=14), "A4"),
     (sheet_of("mealworm", 24), "A4"), (sheet_of("monarch", 120), "letter"), (GROWN, "letter")],
)  # fmt: skip
def test_no_text_is_too_small_or_lies_on_another_or_beyond_the_margin(
    sheet: Sheet, paper: Paper
) -> None:
    width, height = PAPERS[paper]
    for figure in pages(sheet, paper):
        assert min(text.get_fontsize() for text in figure.axes[0].texts) >= 7
        found = boxes(figure)
        for name, box in found.items():
            assert box.x0 >= 10, name
            assert box.x1 <= width - 10, name
            assert 8 <= min(box.y0, box.y1) <= max(box.y0, box.y1) <= height - 8, name
        for (one, box), (two, other) in combinations(found.items(), 2):
            assert not box.overlaps(other), f"{one} lies on {two}"


def test_more_individuals_break_evenly_over_pages() -> None:
    figures = pages(sheet_of("painted-lady", 70), unit="F")
    found = [[each for each in words(figure) if re.fullmatch(r"A\d\d", each)] for figure in figures]
    assert [len(codes) for codes in found] == [35, 35]
    assert [*chain(*found)] == [f"A{number:02d}" for number in range(1, 71)]
    for number, figure in enumerate(figures, start=1):
        assert f"invented data · page {number} of {len(figures)}" in words(figure)
        assert {"lowest °F", "highest °F", "initials", "example"} <= {*words(figure)}


def test_how_eggs_are_written_stands_where_there_are_adults() -> None:
    (line,) = [each for each in words(pages(GROWN)[0]) if each.startswith("of adults:")]
    assert "eggs=34 (laid since the look before)" in line
    assert "hatched=30 (of those laid so far)" in line
    assert line.endswith("mate=7 (with whom, or in which cage)")
    assert "of adults:" not in told(pages(CROWDED)[0])


def test_long_codes_are_never_cut() -> None:
    shown = [each for figure in pages(CROWDED) for each in words(figure)]
    assert {row.individual for row in CROWDED.rows} <= {*shown}


def test_the_legend_has_each_stage_with_a_sign() -> None:
    for count in (1, 12, 24, 36):
        [figure] = pages(sheet_of("painted-lady", count))
        for stage in find("painted-lady").stages:
            assert {stage.code, stage.name} <= {*words(figure)}
            assert stage.signs[0].text in told(figure)
    assert {"L1–L9", "first to ninth instar"} <= {*words(pages(sheet_of("mealworm", 1))[0])}


def hint_size(figure: Figure) -> float:
    [size] = {
        text.get_fontsize()
        for text in figure.axes[0].texts
        if text.get_text() in ("first instar", "third instar", "adult")
    }
    return float(size)


def test_hints_are_larger_where_rows_leave_room_and_tell_more() -> None:
    few, some, many = (pages(sheet_of("painted-lady", count))[0] for count in (1, 24, 36))
    assert hint_size(few) == 10
    assert 7 <= hint_size(some) < 10
    assert hint_size(many) == 7
    second = find("painted-lady").stage("egg").signs[1].text
    assert second in told(few)
    assert second not in told(many)


def test_the_example_is_no_row_of_somebody_and_shows_every_kind_of_cell() -> None:
    [figure] = pages(sheet_of("painted-lady", 6))
    shown = words(figure)
    place = shown.index("example")
    assert shown[place : place + 7] == ["example", "L2", "L3", "•", "•", "dead", "A01"]
    muted = {text.get_text(): text.get_color() for text in figure.axes[0].texts}
    assert muted["example"] != muted["A01"]


def test_days_that_were_looked_at_show_what_was_seen() -> None:
    plain = sheet_of("painted-lady", 2, days=3)
    rows = (replace(plain.rows[0], seen=("L4", "", "")), replace(plain.rows[1], seen=(".", "", "")))
    shown = words(pages(replace(plain, rows=rows))[0])
    place = shown.index("A01")
    assert shown[place : place + 6] == ["A01", "L3", "L4", "A02", "L3", "•"]


def test_stages_without_signs_have_a_line_each() -> None:
    stages = tuple(StageProfile(code, code) for code in ("egg", "L1", "L2"))
    [figure] = pages(replace(sheet_of("monarch", 1), stages=stages))
    legend = words(figure)[words(figure).index("initials") :]
    assert [each for each in legend if each in ("egg", "L1", "L2")] == [
        "egg", "egg", "L1", "L1", "L2", "L2"
    ]  # fmt: skip


def test_a_very_long_legend_leaves_room_for_the_rows() -> None:
    stages = tuple(StageProfile(f"L{n}", f"L{n}", signs=(Sign(f"{n}", "x"),)) for n in range(1, 99))
    figures = pages(replace(sheet_of("monarch", 40), stages=stages), "letter")
    assert len(figures) == 2
    assert {f"A{number:02d}" for number in range(1, 41)} <= {
        each for figure in figures for each in words(figure)
    }


def test_letters_that_the_font_has_not_and_signs_of_mathematics() -> None:
    [figure] = pages(replace(sheet_of("monarch", 1), place=r"蝶 $\nosuchsign$"))
    assert r"monarch · □ $\nosuchsign$" in words(figure)
    boxes(figure)  # drawing them is no error


def test_cutting_a_text() -> None:
    assert fitted("a short one", 50, 8) == "a short one"
    cut = fitted("a much longer one that does not fit", 20, 8)
    assert cut.endswith("…")
    assert 17 < width_mm(cut, 8) <= 20


def test_one_pdf_of_the_size_of_the_paper(tmp_path: Path) -> None:
    figures = pages(sheet_of("monarch", 40), "letter")
    assert save(figures, tmp_path / "week.pdf") == [tmp_path / "week.pdf"]
    content = (tmp_path / "week.pdf").read_bytes()
    assert content.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type /Page\b", content)) == len(figures) == 2
    # letter is 8.5 × 11 in (ANSI/ASME Y14.1), a point is 1/72 in
    assert re.findall(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", content) == [(b"612", b"792")] * 2


def test_one_png_a_page(tmp_path: Path) -> None:
    paths = save(pages(sheet_of("monarch", 40)), tmp_path / "week.png")
    assert [path.name for path in paths] == ["week-1.png", "week-2.png"]
    for path in paths:
        content = path.read_bytes()
        assert content.startswith(b"\x89PNG")
        size = int.from_bytes(content[16:20], "big"), int.from_bytes(content[20:24], "big")
        # A4 is 210 × 297 mm (ISO 216), at 200 dots per inch
        assert size == pytest.approx((210 / 25.4 * 200, 297 / 25.4 * 200), abs=1)


def test_names_of_files() -> None:
    assert page_paths("week.PNG", 1) == [Path("week.PNG")]
    assert page_paths("a/week.pdf", 3) == [Path("a/week.pdf")]
    with pytest.raises(UsageError, match="neither PDF nor PNG"):
        page_paths("week.svg", 1)


def drawn(figure: Figure) -> list[Bbox]:
    """Where shapes of drawings are, in mm, each patch by itself."""
    millimetres = figure.axes[0].transData.inverted()
    return [patch.get_window_extent().transformed(millimetres) for patch in figure.axes[0].patches]


@pytest.mark.parametrize(("paper", "count"), [("A4", 1), ("letter", 19), ("A4", 30)])
@pytest.mark.parametrize("species", [listing.id for listing in bundled()])
def test_drawings_stand_between_codes_and_names_and_push_nothing_off(
    species: str, paper: Paper, count: int
) -> None:
    [figure] = pages(sheet_of(species, count), paper)
    height = PAPERS[paper][1]
    texts = boxes(figure)
    code, name = [box for each, box in texts.items() if each.partition(": ")[2] == "egg"]
    shapes = drawn(figure)
    rows = {round((box.y0 + box.y1) / 2) for box in shapes}
    assert len(shapes) > len(rows) >= 5
    for box in shapes:
        assert code.x1 < box.x0 <= box.x1 < name.x0
        assert min(code.y0, code.y1) - 8 < min(box.y0, box.y1)
        assert max(box.y0, box.y1) < height - 8
        for each, text in texts.items():
            assert not box.overlaps(text), each


def test_long_names_of_stages_are_cut_where_the_signs_begin() -> None:
    name = "a name that needs all the room there is, and more of it than there can be"
    stages = tuple(replace(stage, name=name) for stage in find("monarch").stages)
    [figure] = pages(replace(sheet_of("monarch", 3), stages=stages))
    assert drawn(figure)
    found = boxes(figure)
    for (one, box), (two, other) in combinations(found.items(), 2):
        assert not box.overlaps(other), f"{one} lies on {two}"
