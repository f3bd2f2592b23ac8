"""Files of charts: the same bytes each time, without a date, in the form that the name says."""

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from rearlog.charts.output import FORMATS, render, save
from rearlog.charts.progress import progress
from rearlog.charts.stages import stages
from rearlog.charts.style import look, said
from rearlog.records.errors import UsageError
from tests.charts.conftest import Answers


@pytest.mark.parametrize("form", FORMATS)
def test_the_same_chart_gives_the_same_bytes(room: Answers, form: str) -> None:
    first, second = (render(progress([room.progress]), form) for _ in range(2))
    if form == "tiff":  # libtiff leaves the byte unset that brings a part to an even place
        first, second = (Image.open(io.BytesIO(each)).tobytes() for each in (first, second))
    assert first == second


ANOTHER_PROCESS = """
import sys
from tests.charts.conftest import LIVES, small_cohort
from rearlog.charts.output import render
from rearlog.charts.stages import stages
sys.stdout.buffer.write(render(stages([small_cohort("room", LIVES).stage_counts]), "svg"))
"""


def test_another_process_gives_the_same_bytes(room: Answers) -> None:
    other = subprocess.run(
        [sys.executable, "-c", ANOTHER_PROCESS],
        capture_output=True,
        check=True,
        cwd=Path(__file__).parents[2],
        env={**os.environ, "PYTHONHASHSEED": "7"},
    )
    assert other.stdout == render(stages([room.stage_counts]), "svg")


def test_no_file_says_when_it_was_made(room: Answers) -> None:
    svg, pdf = (render(stages([room.stage_counts]), form) for form in ("svg", "pdf"))
    assert b"<dc:date>" not in svg
    assert b"CreationDate" not in pdf


@pytest.mark.parametrize("form", ["svg", "png"])
def test_a_chart_is_laid_out_as_it_would_be_without_us(room: Answers, form: str) -> None:
    """Letters are as wide in parts of panels as where matplotlib lays all out while it saves."""
    figure = stages([room.stage_counts])
    render(figure, form)
    ours = [axes.get_position().bounds for axes in figure.axes]
    figure.savefig(io.BytesIO(), format=form, dpi=200)
    for axes, bounds in zip(figure.axes, ours, strict=True):
        assert axes.get_position().bounds == pytest.approx(bounds, abs=1e-7)


@pytest.mark.parametrize(("asked", "dots"), [(50, 50), (None, 300)])
def test_a_tiff_is_as_fine_as_it_is_asked_for(asked: int | None, dots: int) -> None:
    figure = said(look("column"), "A finding", "Nothing to draw.", invented=False)
    with Image.open(io.BytesIO(render(figure, "tiff", asked))) as picture:
        assert picture.info["dpi"] == (dots, dots)
        assert picture.width == pytest.approx(figure.get_figwidth() * dots, abs=1)


def test_the_ending_says_the_form(room: Answers, tmp_path: Path) -> None:
    figure = stages([room.stage_counts])
    for ending, head in ((".png", b"\x89PNG"), (".SVG", b"<?xml"), (".pdf", b"%PDF")):
        path = tmp_path / f"chart{ending}"
        save(figure, path)
        assert path.read_bytes().startswith(head)


def test_another_ending_is_refused_with_the_known_ones(room: Answers, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"gif.*\.png, \.svg, \.pdf"):
        save(stages([room.stage_counts]), tmp_path / "chart.gif")
    assert list(tmp_path.iterdir()) == []


def test_a_chart_is_written_over_an_older_one_unless_it_is_told_not_to(
    tmp_path: Path, room: Answers
) -> None:
    path, figure = tmp_path / "chart.png", stages([room.stage_counts])
    path.write_bytes(b"older")
    save(figure, path)
    assert path.read_bytes() == render(figure, "png")
    with pytest.raises(UsageError):
        save(figure, path, force=False)
