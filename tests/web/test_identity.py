"""What cohorts are called on the shelf, where labels meet and where files are copies."""

from pathlib import Path

from msgspec.structs import replace

from rearlog.store.cohort_file import CohortFile
from rearlog.web.shelf import Shelf
from tests.builders import START, tiny_log
from tests.web.shelves import BASE, Classroom, put


def test_labels_are_told_apart_and_copies_are_told(tmp_path: Path) -> None:
    room = Classroom(tmp_path, START)
    for name, site in (("north", "Northfield"), ("south", "Southgate"), ("hall", None)):
        log = tiny_log({"1": "egg"}, name=name)
        put(tmp_path, replace(log, cohort=replace(log.cohort, site=site)))
        CohortFile(tmp_path / f"{name}.json").rename("hall" if name == "hall" else "room")
    shelf = Shelf(tmp_path)
    assert shelf.called() == {
        "hall": "hall", "north": "room (Northfield)", "south": "room (Southgate)",
    }  # fmt: skip
    assert shelf.copies() == {}
    page = room.keeper().get("/", base_url=BASE).text
    assert '<a href="/cohort/north/round">room (Northfield)</a>' in page
    assert "copies of one cohort" not in page
    (tmp_path / "other.json").write_bytes((tmp_path / "north.json").read_bytes())
    assert shelf.called()["other"] == "other"
    assert shelf.called()["north"] == "north"
    assert shelf.copies() == {"north": ["other"], "other": ["north"]}
    page = room.keeper().get("/", base_url=BASE).text
    assert "This file and other are copies of one cohort" in page
    assert "rearlog merge north other" in page
