"""The sample cohorts that come with the package, copied to be tried."""

from pathlib import Path

import pytest

import rearlog
from rearlog.cli import demo
from rearlog.exchange import samples
from tests.cli.conftest import Run

BESIDE = Path(__file__).parents[2] / "sample_cohorts"
PLAIN = {
    each.relative_to(BESIDE).as_posix(): each.read_bytes()
    for each in BESIDE.rglob("*")
    if each.suffix in (".json", ".csv", ".md") and ".rearlog" not in each.parts
}


def test_the_samples_are_those_of_the_source_wherever_the_package_lies() -> None:
    """Also of an installed package, which the run from the wheel asks."""
    assert samples.sample_files() == PLAIN
    assert {"room.json", "raw/warm-logger.csv", "life_table/dock-19.json"} <= PLAIN.keys()
    assert [each.stem for each in samples.sample_cohorts()] == ["cool", "room", "warm"]


def test_samples_of_the_package_come_before_what_lies_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(samples, "__file__", str(tmp_path / "rearlog" / "exchange" / "samples.py"))
    assert samples.sample_folder() == tmp_path / "sample_cohorts"
    (tmp_path / "rearlog" / "sample_cohorts").mkdir(parents=True)
    assert samples.sample_folder() == tmp_path / "rearlog" / "sample_cohorts"


def test_cohorts_and_their_page_are_copied_and_nothing_is_written_over(
    run: Run, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(demo, "report_of_samples", lambda: "a page")
    run("demo", "to-try")
    there = {
        each.relative_to(folder / "to-try").as_posix(): each.read_bytes()
        for each in (folder / "to-try").rglob("*")
        if each.is_file()
    }
    assert there == {**PLAIN, "fernhill.html": b"a page"}
    (folder / "to-try" / "room.json").write_text("mine")
    assert "exists already" in run("demo", "to-try", fails=2).stderr
    assert (folder / "to-try" / "room.json").read_text() == "mine"
    assert rearlog.open(folder / "to-try" / "warm.json").survival().n == 24


@pytest.mark.slow
def test_the_page_is_that_of_a_report(run: Run, folder: Path) -> None:
    run("demo")
    words = [str(folder / "fernhill" / f"{name}.json") for name in ("cool", "room", "warm")]
    run("report", *words, "-o", "again.html")
    assert (folder / "fernhill" / "fernhill.html").read_text() == (
        folder / "again.html"
    ).read_text()
