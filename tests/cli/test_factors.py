from pathlib import Path

from rearlog.store.cohort_file import CohortFile
from rearlog.store.redacting import redactions_of
from tests.cli.conftest import Run

NEW = ("--species", "painted-lady", "--eggs", "3", "--on", "2026-03-09", "--zone", "UTC")


def test_what_sets_a_cohort_apart_is_said_when_it_starts(run: Run, folder: Path) -> None:
    run("start", "second", *NEW, "--factor", "line=A", "--factor", "replicate=2",
        "--origin", "first:M01,M02", "--origin", "wild")  # fmt: skip
    cohort = CohortFile(folder / "second.json").read().cohort
    assert cohort.factors == {"line": "A", "replicate": "2"}
    assert cohort.origins == ("first:M01,M02", "wild")
    run("verify", "second")
    assert "something else" in run("start", "x", *NEW, "--factor", "sex=f", fails=2).stderr
    assert "itself" in run("start", "x", *NEW, "--origin", "x", fails=2).stderr


def test_it_can_be_said_afterwards_and_mended(run: Run, folder: Path, room: Path) -> None:
    before = CohortFile(room).read()
    told = run("describe", "room", "--factor", "line=A", "--factor", "lab=2").stderr
    assert told == "room: line=A; lab=2\n"
    told = run("describe", "room", "--factor", "line=B", "--origin", "first:7").stderr
    note = "Note: there is no file of first here; it is taken down as it was said\n"
    assert told == f"{note}room: line=B; lab=2; from first:7\nIt was before: line=A\n"
    run("describe", "room", "--origin", "other")
    after = CohortFile(room).read()
    assert after.cohort.factors == {"line": "B", "lab": "2"}
    assert after.cohort.origins == ("other",)
    assert after.individuals == before.individuals
    run("verify", "room")
    assert "spelt line here" in run("describe", "room", "--factor", "Line=C", fails=1).stderr
    assert "itself" in run("describe", "room", "--origin", "room:1", fails=1).stderr
    assert "say what" in run("describe", "room", fails=2).stderr
    assert CohortFile(room).read() == after
    told = run("describe", "room", "--food", "leek", "--temp", "0", "--place", "sill").stderr
    assert told == "room: line=B; lab=2; leek; 0 °C; sill; from other\n"
    known = CohortFile(room).read().cohort
    assert (known.food, known.planned_celsius, known.place) == ("leek", 0.0, "sill")
    run("describe", "room", "--factor", "lab=3")
    after = CohortFile(room).read()
    assert (after.cohort.food, after.cohort.planned_celsius) == ("leek", 0.0)


def test_levels_are_redacted_one_by_one(run: Run, folder: Path, room: Path) -> None:
    run("describe", "room", "--factor", "keeper=Anna Weber", "--factor", "line=A")
    told = run("redact", "room", "any", "--saying", "weber").stderr
    assert "Redacted 1 field of the file" in told
    assert not any(b"Weber" in each.read_bytes() for each in folder.rglob("*") if each.is_file())
    assert CohortFile(room).read().cohort.factors == {"line": "A"}
    assert [each.field for each in redactions_of(room)] == ["factors.keeper"]
    run("verify", "room")
    brought_back = room.read_text("utf-8").replace(
        '"factors":{', '"factors":{"keeper":"Anna Weber",'
    )
    room.write_text(brought_back, "utf-8")
    run("verify", "room", "--accept")
    assert CohortFile(room).read().cohort.factors == {"line": "A"}
    run("redact", "room", "factors")
    assert CohortFile(room).read().cohort.factors == {}
    run("verify", "room")


def test_copies_that_were_described_apart_are_told(run: Run, folder: Path, room: Path) -> None:
    (folder / "copy.json").write_bytes(room.read_bytes())
    run("describe", "copy", "--factor", "line=A", "--origin", "first")
    told = run("merge", "room", "copy.json", fails=1).stderr
    assert "its factors are others" in told
    assert "its origins are others" in told
    run("describe", "room", "--factor", "line=A", "--origin", "first")
    run("merge", "room", "copy.json")


def test_codes_that_may_be_names_are_left_out_of_origins(run: Run, folder: Path) -> None:
    run("start", "second", *NEW, "--factor", "line=A", "--origin", "first:M01,Anna",
        "--origin", "wild:7")  # fmt: skip
    told = run("export", "second", "-o", "data", "--no-names").stderr
    assert "factors: A; origins: first, wild:7" in told
    told = run("export", "second", "-o", "data", "--no-names", "--dry-run").stdout
    assert "codes of origins" in told
    (folder / "back").mkdir()
    run("unpack", "data", "--into", "back")
    cohort = CohortFile(folder / "back" / "second.json").read().cohort
    assert cohort.factors == {"line": "A"}
    assert cohort.origins == ("first", "wild:7")
