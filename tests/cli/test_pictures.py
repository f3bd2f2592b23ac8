import re
from pathlib import Path

import pytest
from PIL import Image

from rearlog.present.pictures import KINDS, OF_ALL, OF_SEASON
from tests.cli.conftest import Run

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
THREE = [str(SAMPLES / f"{name}.json") for name in ("cool", "room", "warm")]
STARTS = {"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF", "tiff": b"II*"}


@pytest.mark.parametrize("kind", ["progress", "stages", "durations", "heat", "survival", "growth"])
def test_every_kind_of_chart_of_one_cohort(run: Run, folder: Path, kind: str) -> None:
    run("chart", kind, THREE[1], "-o", "chart.svg")
    assert (folder / "chart.svg").read_bytes().startswith(STARTS["svg"])


NOTHING_TO_SEE = {
    "progress": "Nobody in new was looked at yet.",
    "stages": None,  # all are eggs
    "durations": None,  # how long an egg should take
    "survival": "Nobody was looked at yet.",
    "growth": "Nothing was measured yet.",
    "forecast": None,
    "agreement": "No two observers called the same animal.",
    "rate": "No cohort has finished a stage with known temperatures.",
    "mortality": "No cohort has come through a stage, or died in it, at a temperature that is "
    "known.",
    "pace": "No cohort has finished development.",
    "means": "No cohort has three animals that came through a stage.",
    "funnel": "Three cohorts that are over are needed.",
}
REFUSED = {
    "heat": "no temperature of new is on record",
    "reproduction": "no eggs were counted in new",
}
"""Charts of answers that are none without such records."""


@pytest.mark.parametrize("kind", KINDS)
def test_a_chart_of_cohorts_just_begun_says_where_there_is_nothing_to_see(
    run: Run, folder: Path, kind: str
) -> None:
    for name in ("new", "other"):
        run("start", name, "--species", "painted-lady", "--eggs", "4", "--on", "2026-03-09")
    cohorts = ["new", "other"] if kind in (*OF_ALL, *OF_SEASON) else ["new"]
    if kind in REFUSED:
        assert REFUSED[kind] in run("chart", kind, *cohorts, "-o", "c.svg", fails=2).stderr
        return
    then = ["--as-of", "2026-03-10"] if kind == "forecast" else []
    told = run("chart", kind, *cohorts, *then, "-o", "c.svg").stderr
    sentence = NOTHING_TO_SEE[kind]
    note = f"Note: There is nothing to see in it: “{sentence}”" if sentence else "nothing to see"
    assert (note in told) == (sentence is not None)
    assert f"Drew {kind}" in told


@pytest.mark.parametrize(
    ("kind", "seen"), [("progress", True), ("survival", True), ("growth", False), ("pace", False)]
)
def test_what_some_of_the_cohorts_show_is_something_to_see(
    run: Run, folder: Path, kind: str, *, seen: bool
) -> None:
    for name in ("new", "other"):
        run("start", name, "--species", "painted-lady", "--eggs", "4", "--on", "2026-03-09")
    run("log", "other", "all same", "--on", "2026-03-10")
    told = run("chart", kind, "new", "other", "-o", "c.svg").stderr
    assert ("nothing to see" in told) != seen


@pytest.mark.parametrize("form", STARTS)
def test_every_form(run: Run, folder: Path, form: str) -> None:
    run("chart", "survival", *THREE, "-o", f"chart.{form}", "--size", "slide", "--large-text")
    assert (folder / f"chart.{form}").read_bytes().startswith(STARTS[form])


def test_the_same_chart_has_the_same_bytes(run: Run, folder: Path) -> None:
    run("chart", "rate", *THREE, "-o", "a.svg")
    run("chart", "rate", *THREE, "-o", "b.svg")
    assert (folder / "a.svg").read_bytes() == (folder / "b.svg").read_bytes()


def test_the_stage_of_a_rate_is_chosen_and_no_other_chart_takes_one(run: Run, folder: Path) -> None:
    run("chart", "rate", *THREE, "--stage", "pupa", "-o", "pupa.svg")
    assert "pupa: threshold" in (folder / "pupa.svg").read_text().replace("Pupa", "pupa")
    assert "pupa" in run("chart", "rate", *THREE, "--stage", "L9", "-o", "b.svg", fails=2).stderr
    assert "--stage" in run("chart", "heat", *THREE, "--stage", "L1", "-o", "c.svg", fails=2).stderr


def test_nothing_is_overwritten_unasked(run: Run, folder: Path) -> None:
    (folder / "mine.png").write_text("mine")
    (folder / "mine.html").write_text("mine")
    assert "--force" in run("chart", "heat", THREE[0], "-o", "mine.png", fails=2).stderr
    assert "--force" in run("report", THREE[0], "-o", "mine.html", fails=2).stderr
    assert (folder / "mine.png").read_text() == (folder / "mine.html").read_text() == "mine"
    run("chart", "heat", THREE[0], "-o", "mine.png", "--force")
    assert (folder / "mine.png").read_bytes().startswith(STARTS["png"])


def test_other_endings_are_refused(run: Run) -> None:
    assert ".png" in run("chart", "heat", THREE[0], "-o", "chart.gif", fails=2).stderr
    assert ".html" in run("report", THREE[0], "-o", "page.pdf", fails=2).stderr


def test_the_page_stands_alone_and_says_that_its_data_are_invented(run: Run, folder: Path) -> None:
    run("report", *THREE, "-o", "page.html")
    page = (folder / "page.html").read_text(encoding="utf-8")
    assert "the data are invented" in page
    fetched = re.findall(r'(?:src|href)="(?!#)([^"]*)"|url\((?!#|"data:font)[^)]*\)|@import', page)
    assert fetched == []
    ids = re.findall(r'\bid="([^"]*)"', page)
    assert len(ids) == len(set(ids))


def test_a_page_has_a_title_and_words_of_ones_own(run: Run, room: Path, folder: Path) -> None:
    (folder / "ours.md").write_text("We **saw** it. <b>x</b>", encoding="utf-8")
    own = ("--title", "Our <class>", "--words", "ours.md", "--for", "parents")
    run("report", "room", "-o", "page.html", *own)
    page = (folder / "page.html").read_text(encoding="utf-8")
    assert "<title>Our &lt;class&gt;" in page
    assert "We <strong>saw</strong> it. &lt;b&gt;x&lt;/b&gt;" in page
    assert '<details class="curious">' in page


def test_words_that_cannot_be_read_are_refused(run: Run, room: Path, folder: Path) -> None:
    (folder / "large.md").write_bytes(b"a" * 2**20)
    (folder / "none.md").write_bytes(b"\xff\xfe\x00")
    for wrong, said in (
        ("large.md", "not taken"),
        ("none.md", "UTF-8"),
        ("no.md", "cannot be read"),
    ):
        told = run("report", "room", "-o", "page.html", "--words", wrong, fails=1).stderr
        assert said in told
    told = run("report", "room", "-o", "page.html", "--title", "a" * 201, fails=2).stderr
    assert "200 letters" in told
    assert not (folder / "page.html").exists()


def test_text_of_a_log_is_text_on_the_page(run: Run, room: Path, folder: Path) -> None:
    run("log", "room", '1 dead(<script>alert) "<b>x"; rest same', "--on", "2026-03-12")
    run("report", "room", "-o", "page.html")
    page = (folder / "page.html").read_text(encoding="utf-8")
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert" in page


@pytest.mark.parametrize(
    "rounds",
    [[], ["all same"], ["1 L1; rest same"], ["all dead"], ["all lost"]],
    ids=["never looked", "nothing yet", "one hatched", "all dead as eggs", "all lost"],
)
def test_a_page_of_a_cohort_with_little_to_show(run: Run, room: Path, rounds: list[str]) -> None:
    for line in rounds:
        run("log", "room", line, "--on", "2026-03-12")
    run("report", "room", "-o", "page.html")
    for kind in ("progress", "stages", "durations", "survival", "growth"):
        run("chart", kind, "room", "-o", f"{kind}.png")


def shown(path: Path) -> str:
    """The text of a picture whose text is text."""
    return " ".join(re.sub(r"<[^>]*>", " ", path.read_text(encoding="utf-8")).split())


@pytest.mark.parametrize("kind", ["progress", "stages", "heat", "survival", "forecast", "growth"])
def test_a_chart_as_it_was_known_on_a_day(run: Run, folder: Path, kind: str) -> None:
    """Nobody of the room was an adult on 24 March."""
    run("chart", kind, THREE[1], "--as-of", "2026-03-24", "-o", "then.svg")
    run("chart", kind, THREE[1], "-o", "now.svg")
    then, now = (folder / "then.svg").read_bytes(), (folder / "now.svg").read_bytes()
    assert then != now


def test_what_was_known_then_is_what_other_commands_say(run: Run, folder: Path) -> None:
    run("chart", "progress", THREE[1], "--as-of", "2026-03-24", "-o", "then.svg")
    text = shown(folder / "then.svg")
    assert "14 in L5" in text  # as rearlog today --as-of says
    assert "14 L5" in run("today", THREE[1], "--as-of", "2026-03-24").stdout
    assert "As it was known by Tue 24 Mar 2026." in text


@pytest.mark.parametrize(
    ("when", "message"), [("2026-02-01", "before room started"), ("2100-01-01", "in the future")]
)
def test_a_moment_that_cannot_be_is_refused(
    run: Run, folder: Path, when: str, message: str
) -> None:
    asked = ("chart", "heat", THREE[1], "--as-of", when, "-o", "no.svg")
    assert message in run(*asked, fails=2).stderr
    assert not (folder / "no.svg").exists()


def test_a_bare_chart_has_its_words_on_the_screen(run: Run, folder: Path) -> None:
    told = run("chart", "survival", THREE[1], "-o", "s.tiff", "--size", "column", "--bare")
    assert told.stdout.startswith("75 % reached adulthood: 17 did, 6 died and 1 was lost or taken ")
    assert " Steps: Kaplan–Meier," in told.stdout
    assert told.stdout.endswith(" Invented data.\n")
    assert told.stdout.count("\n") == 1
    assert told.stderr == "Drew survival of room in s.tiff\n"
    with Image.open(folder / "s.tiff") as picture:
        assert (picture.width, picture.info["dpi"]) == (1003, (300, 300))
    then = ("chart", "survival", THREE[1], "-o", "s.png", "--as-of", "2026-03-20", "--bare")
    assert "As it was known by Fri 20 Mar 2026." in run(*then).stdout
    assert run("chart", "survival", THREE[1], "-o", "t.png").stdout == ""


def test_dots_are_for_pictures_that_have_them(run: Run, folder: Path) -> None:
    run("chart", "survival", THREE[1], "-o", "s.png", "--dpi", "600", "--size", "column")
    with Image.open(folder / "s.png") as picture:
        assert picture.width in (2007, 2008)
    told = run("chart", "survival", THREE[1], "-o", "s.pdf", "--dpi", "600", fails=2).stderr
    assert "PDF is drawn in lines" in told
    for dots in ("299", "601"):
        run("chart", "survival", THREE[1], "-o", "u.png", "--dpi", dots, fails=2)
