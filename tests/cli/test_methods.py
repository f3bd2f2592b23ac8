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


def test_the_published_source_of_the_threshold_is_in_the_bibliography(
    run: Run, folder: Path
) -> None:
    docks = [str(SAMPLES / "life_table" / f"dock-{celsius}.json") for celsius in (19, 22)]
    told = run("methods", *docks, "--bibtex", "m.bib")
    assert "published: Honěk et al. 2003" in told.stdout
    text = (folder / "m.bib").read_text(encoding="utf-8")
    (note,) = re.findall(r"^@misc\{Threshold1,\n  note = \{(.*)\},\n\}$", text, flags=re.M)
    assert note.startswith("Honěk et al. 2003, Eur. J. Entomol. 100:295--300")
    assert told.stderr == f"Wrote {len(re.findall('^@', text, flags=re.M))} works in m.bib\n"
    run("methods", COOL, ROOM, "--bibtex", "derived.bib")
    assert "@misc" not in (folder / "derived.bib").read_text(encoding="utf-8")
