"""`methods` as people meet it."""

import re
from pathlib import Path

from rearlog.sentences.works import works_named
from tests.cli.conftest import Run

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
COOL, ROOM = (str(SAMPLES / f"{name}.json") for name in ("cool", "room"))


def test_the_paragraph_is_printed_and_its_works_are_kept(run: Run, folder: Path) -> None:
    told = run("methods", COOL, ROOM, "--bibtex", "m.bib")
    text = (folder / "m.bib").read_text(encoding="utf-8")
    works = works_named(told.stdout)
    assert len(re.findall(r"^@", text, flags=re.M)) == len(works) > 20
    assert told.stderr == f"Wrote {len(works)} works in m.bib\n"
    assert told.stdout == run("methods", COOL, ROOM).stdout
    assert "48 individuals of Vanessa cardui" in told.stdout
    assert "m.bib exists already" in run("methods", ROOM, "--bibtex", "m.bib", fails=2).stderr
    run("methods", ROOM, "--bibtex", "m.bib", "--force", "-q")
    assert len((folder / "m.bib").read_text(encoding="utf-8")) < len(text)


def test_the_same_cohort_twice_is_told(run: Run) -> None:
    assert "given twice" in run("methods", ROOM, ROOM, fails=2).stderr
