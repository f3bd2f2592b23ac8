"""Two schools that both call a cohort “room”, what a cohort is called, and where it is."""

import json
import re
import shutil
from pathlib import Path
from uuid import UUID

import pytest

from rearlog.notebook import Notebook, compare, lineage, told_apart
from rearlog.records.errors import UsageError
from rearlog.store.cohort_file import CohortFile
from tests.cli.conftest import Run

NORTH, SOUTH = "north/room.json", "south/room.json"


@pytest.fixture
def schools(run: Run, folder: Path) -> Path:
    """Two folders, each with a room of its own."""
    for school, celsius, seed in (("north", "18", "3"), ("south", "26", "4")):
        (folder / school).mkdir()
        run(
            *("simulate", f"{school}/room", "--species", "painted-lady", "--eggs", "12"),
            *("--temp", celsius, "--seed", seed, "--on", "2026-03-09", "--zone", "UTC"),
        )
    return folder


def described(run: Run) -> None:
    run("describe", NORTH, "--site", "Northfield")
    run("describe", SOUTH, "--site", "Southgate", "--latitude", "51.5", "--longitude", "-0.25")


def test_they_are_compared_and_shown_with_their_sites(run: Run, schools: Path) -> None:
    described(run)
    found = json.loads(run("compare", NORTH, SOUTH, "--format", "json").stdout)
    assert found["cohorts"] == ["room (Northfield)", "room (Southgate)"]
    for words in (
        ("compare",),
        ("thermal", "--full"),
        ("table", "survival"),
        ("survival", "--by", "site"),
        ("methods",),
    ):
        output = run(*words, NORTH, SOUTH).output
        assert {"Northfield", "Southgate"} <= set(re.findall(r"\w+", output)), words
    run("report", NORTH, SOUTH, "-o", "both.html")
    page = (schools / "both.html").read_text(encoding="utf-8")
    assert "room (Northfield)" in page
    assert "room (Southgate)" in page
    run("chart", "survival", NORTH, SOUTH, "-o", "both.svg")
    assert "room (Northfield)" in (schools / "both.svg").read_text(encoding="utf-8")


def test_without_a_site_a_piece_of_the_identity_tells_them_apart(run: Run, schools: Path) -> None:
    known = [CohortFile(schools / each).read().cohort.id[:4] for each in (NORTH, SOUTH)]
    found = json.loads(run("compare", NORTH, SOUTH, "--format", "json").stdout)
    assert found["cohorts"] == [f"room ({each})" for each in known]


def test_one_file_twice_and_two_copies_are_told(run: Run, schools: Path) -> None:
    twice = run("compare", NORTH, NORTH, fails=2).stderr
    assert "the same cohort is given twice: room (name each cohort once)" in twice
    shutil.copy(schools / NORTH, schools / "room-copy.json")
    run("rename", "room-copy.json", "other")
    told = run("compare", NORTH, "room-copy.json", fails=2).stderr
    assert "north/room.json and room-copy.json are copies of one cohort" in told
    assert "“rearlog merge”" in told
    merged = run("merge", NORTH, "room-copy.json").stderr
    assert "Note: the label stays as it is here; the copy says other" in merged
    assert "it is another cohort" in run("merge", NORTH, SOUTH, fails=1).stderr


def test_a_new_label_is_shown_and_the_file_stays(run: Run, schools: Path) -> None:
    before = CohortFile(schools / NORTH).read().cohort
    told = run("rename", NORTH, "class-4b").stderr
    assert "room is called class-4b from now on; its file is still north/room.json" in told
    assert "class-4b" in run("survival", NORTH).stdout
    after = CohortFile(schools / NORTH).read().cohort
    assert (after.name, after.id) == ("class-4b", before.id)
    assert "is not a cohort name" in run("rename", NORTH, "class 4b!", fails=2).stderr


def test_a_label_that_a_cohort_beside_it_has_is_told(run: Run, schools: Path) -> None:
    words = "--species", "painted-lady", "--eggs", "3"
    for name in ("shelf", "sill"):
        run("start", f"north/{name}", *words)
    assert run("rename", "north/shelf.json", "class-4b").stderr.count("\n") == 1
    told = run("rename", "north/sill.json", "class-4b").stderr
    assert (
        "Note: north/shelf.json is called class-4b too: answers put a site or a piece of its "
        "identity behind each, and commands take them by their files"
    ) in told
    assert CohortFile(schools / "north/sill.json").read().cohort.name == "class-4b"
    both = run("rename", NORTH, "class-4b").stderr
    assert "Note: north/shelf.json and north/sill.json are called class-4b too: answers" in both
    assert run("rename", "north/sill.json", "class-4b").stderr.count("Note:") == 1


def test_renaming_tells_whose_origin_it_is(run: Run, schools: Path) -> None:
    words = "--species", "painted-lady", "--eggs", "3"
    run("start", "north/next", *words, "--origin", "room")
    told = run("rename", NORTH, "first").stderr
    assert (
        "next says that it comes from room; “rearlog describe north/next.json --origin first”"
        in told
    )
    refused = run("rename", "north/next.json", "room", fails=1).stderr
    assert "room cannot come from itself" in refused


def test_a_parent_is_that_of_the_same_site(run: Run, schools: Path) -> None:
    words = "--species", "painted-lady", "--eggs", "3", "--origin", "room"
    run("start", "north/next", *words, "--site", "Northfield")
    paths = [schools / each for each in (NORTH, SOUTH, "north/next.json")]
    with pytest.raises(UsageError, match="next comes from room, and several cohorts are called so"):
        lineage(list(map(Notebook, paths)))
    described(run)
    found = lineage(list(map(Notebook, paths)))
    (family,) = found.families
    assert [each.cohort for each in family.members] == ["room (Northfield)", "next"]
    assert found.alone == ("room (Southgate)",)


def test_an_identity_is_new_or_drawn_from_the_seed(run: Run, folder: Path) -> None:
    ids = []
    for name in ("a", "b"):
        run("start", name, "--species", "painted-lady", "--eggs", "3")
        ids.append(CohortFile(folder / f"{name}.json").read().cohort.id)
    assert [UUID(each).version for each in ids] == [4, 4]
    assert ids[0] != ids[1]
    words = "--species", "painted-lady", "--eggs", "5", "--on", "2026-03-09", "--zone", "UTC"
    drawn = []
    for place, more in (("x", ()), ("y", ()), ("z", ("--seed", "2")), ("w", ("--loss", "0.5"))):
        (folder / place).mkdir()
        run("simulate", f"{place}/demo", *words, "--temp", "24", *more)
        drawn.append(CohortFile(folder / place / "demo.json").read().cohort.id)
    assert drawn[0] == drawn[1]
    assert len(set(drawn)) == 3


def test_site_and_coordinates_are_taken_down_and_taken_out(run: Run, folder: Path) -> None:
    words = "--species", "painted-lady", "--eggs", "3"
    run("start", "room", *words, "--site", "Northfield", "--latitude", "51.5", "--longitude", "0")
    told = run("describe", "room", "--site", "Southgate").stderr
    assert "Southgate; 51.5, 0" in told
    alone = run("start", "other", *words, "--latitude", "51.5", fails=2).stderr
    assert "latitude and longitude go together" in alone
    assert "is not a site" in run("describe", "room", "--site", "a;b", fails=2).stderr
    run("redact", "room", "site")
    run("redact", "room", "coordinates")
    cohort = CohortFile(folder / "room.json").read().cohort
    assert (cohort.site, cohort.latitude, cohort.longitude) == (None, None, None)


def test_what_is_published_of_both_comes_back_as_both(run: Run, schools: Path) -> None:
    described(run)
    run("export", NORTH, SOUTH, "-o", "data")
    run("unpack", "data", "--into", ".")
    names = ["room-Northfield.json", "room-Southgate.json"]
    for name, source in zip(names, (NORTH, SOUTH), strict=True):
        found, was = (CohortFile(schools / each).read() for each in (name, source))
        for field in ("id", "name", "site", "latitude", "longitude", "started"):
            assert getattr(found.cohort, field) == getattr(was.cohort, field)
        assert len(found.all_observations) == len(was.all_observations)
    run("export", *names, "-o", "again")
    for table in ("cohorts", "individuals", "observations", "durations"):
        first, again = ((schools / each / f"{table}.csv") for each in ("data", "again"))
        assert first.read_bytes() == again.read_bytes(), table


def test_no_site_slips_into_what_is_published_without_names(run: Run, schools: Path) -> None:
    described(run)
    run("export", NORTH, SOUTH, "-o", "data", "--no-names")
    every = b"".join(each.read_bytes() for each in (schools / "data").rglob("*.*"))
    assert b"Northfield" not in every
    assert b"51.5" not in every


def test_today_names_them_apart(run: Run, schools: Path) -> None:
    described(run)
    found = json.loads(run("today", NORTH, SOUTH, "--format", "json").stdout)
    assert {each["cohort"] for each in found["cohorts"]} == {
        "room (Northfield)", "room (Southgate)",
    }  # fmt: skip


def test_python_tells_them_apart_too(schools: Path) -> None:
    both = [Notebook(schools / each) for each in (NORTH, SOUTH)]
    apart = told_apart(both)
    assert len({each.name for each in apart}) == 2
    assert [each.name for each in told_apart(apart)] == [each.name for each in apart]
    assert compare(both).cohorts == compare(apart).cohorts
