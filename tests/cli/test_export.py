import html
import json
import os
import shutil
import zipfile
from pathlib import Path
from typing import Any

import pytest
from frictionless import validate
from msgspec.structs import replace

from rearlog.cli.options import cohorts_here
from rearlog.records.incoming import telling
from rearlog.records.log import CohortLog, Mark
from rearlog.store import arriving
from rearlog.store.cohort_file import CohortFile
from tests.cli.conftest import Run
from tests.open_data import NOW, north, south

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
ANSWERS = ("durations", "heat", "survival", "growth")


def save(log: CohortLog, folder: Path) -> None:
    """Write a log one record after the other: those that are struck are no longer in the way."""
    file = CohortFile(folder / f"{log.cohort.name}.json")
    file.create(log.cohort, log.individuals)
    for record in log.all_observations:
        file.record([telling([record])], NOW)
    file.add_temperatures(log.all_temperatures, NOW)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with two cohorts that have everything that a log can hold."""
    folder = tmp_path_factory.mktemp("made")
    save(north(), folder)
    save(south(), folder)
    return folder


@pytest.fixture
def cohorts(folder: Path, made: Path) -> list[str]:
    """These two and the sample cohorts, in the current folder."""
    paths = [*made.glob("*.json"), *SAMPLES.glob("*.json")]
    for path in paths:
        shutil.copy(path, folder)
    return sorted(path.stem for path in paths)


@pytest.mark.parametrize(
    "words",
    [
        ["data"],
        ["data.zip"],
        ["data", "--darwin-core"],
        ["data.zip", "--darwin-core", "--no-notes"],
    ],
)
def test_what_comes_back_gives_identical_answers(
    run: Run, folder: Path, cohorts: list[str], words: list[str]
) -> None:
    (folder / "back").mkdir()
    run("export", *cohorts, "-o", *words)
    run("unpack", words[0], "--into", "back")
    for cohort in cohorts:
        for answer in ANSWERS[: 1 if cohort == "south" else None]:  # without temperatures no heat
            before = run(answer, cohort, "--format", "json").stdout
            assert run(answer, f"back/{cohort}.json", "--format", "json").stdout == before
            assert json.loads(before)["cohort"] == cohort
        run("verify", f"back/{cohort}.json")


def test_the_package_of_the_commands_is_valid(run: Run, folder: Path, cohorts: list[str]) -> None:
    run("export", *cohorts, "-o", "data", "--licence", "CC0-1.0", "--title", "Rearings, 2026")
    report = validate(str(folder / "data" / "datapackage.json"))
    assert report.valid, report.flatten(["name", "type", "message"])
    about = json.loads((folder / "data" / "datapackage.json").read_text("utf-8"))
    assert about["title"] == "Rearings, 2026 (invented)"
    assert about["licenses"][0]["name"] == "CC0-1.0"
    derived = json.loads(run("durations", "north", "--format", "json").stdout)["individuals"]
    lines = (folder / "data" / "durations.csv").read_text("utf-8").splitlines()
    found = [line.split(",")[1:5] for line in lines if line.startswith("north,")]
    assert [each[:3] for each in found] == [
        [each["individual"], each["stage"], each["outcome"]] for each in derived
    ]
    assert [float(each[3]) if each[3] else None for each in found] == [
        each["days"] for each in derived
    ]


def test_two_exports_are_the_same_bytes(run: Run, folder: Path, cohorts: list[str]) -> None:
    run("export", *cohorts, "-o", "first.zip")
    run("export", *cohorts, "-o", "second.zip")
    assert (folder / "first.zip").read_bytes() == (folder / "second.zip").read_bytes()


def test_cohorts_that_are_called_alike_are_told_apart(run: Run, cohorts: list[str]) -> None:
    run("rename", "south", "north")
    for name, site in (("north", "Northfield"), ("south", "Fernhill")):
        run("describe", f"{name}.json", "--site", site)
    told = run("export", "north.json", "south.json", "-o", "one").stderr
    assert "Wrote north (Northfield), north (Fernhill) with 8 checks to one" in told
    told = run("export", "north.json", "south.json", "-o", "two", "--no-names").stderr
    assert "Wrote north (Northfield), north (Fernhill) with 8 checks to two" in told


def test_what_to_mind_is_said(run: Run, cohorts: list[str]) -> None:
    told = run("export", "north", "south", "-o", "one").stderr
    assert "Wrote north, south with 8 checks to one" in told
    assert "no real animal was observed in south" in told
    assert "Without a licence nobody may reuse the data" in told
    assert "leave them out with --no-names" in told
    told = run("export", "north", "-o", "two", "--no-names", "--licence", "CC0-1.0").stderr
    assert "licence" not in told
    assert "Observers are named" not in told
    assert "Kept, as everyone will see it: code: A01, A02; cohort: north; food: nettles" in told
    assert run("export", "north", "-o", "three", "--quiet").stderr == ""


def test_an_export_is_not_written_over(run: Run, folder: Path, cohorts: list[str]) -> None:
    run("export", "north", "-o", "data")
    assert "add --force" in run("export", "north", "-o", "data", fails=2).stderr
    run("export", "north", "-o", "data", "--force")
    (folder / "data" / "mine.txt").write_text("mine")
    result = run("export", "north", "-o", "data", "--force", fails=2)
    assert "other files in it: mine.txt" in result.stderr
    assert (folder / "data" / "mine.txt").exists()
    run("export", "north", "-o", "data", "--darwin-core", "--force", fails=2)


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        (["north", "-o", "no/where"], 2, "there is no folder"),
        (["north", "copy/north.json", "-o", "data"], 2, "copies of one cohort"),
        (["nobody", "-o", "data"], 1, "there is no cohort file"),
        (["north", "-o", "data", "--licence", "mine"], 2, "CC-BY-4.0"),
        (["north"], 2, "--output"),
    ],
)
def test_exports_that_are_wrong_write_nothing(
    run: Run, folder: Path, cohorts: list[str], words: list[str], code: int, message: str
) -> None:
    (folder / "copy").mkdir()
    shutil.copy(folder / "north.json", folder / "copy")
    assert message in run("export", *words, fails=code).stderr
    assert not (folder / "data").exists()


def test_cohort_files_are_not_written_over(run: Run, folder: Path, cohorts: list[str]) -> None:
    run("export", "south", "north", "-o", "data")
    before = (folder / "north.json").read_bytes()
    (folder / "south.json").unlink()
    assert "north.json exists already" in run("unpack", "data", fails=2).stderr
    assert (folder / "north.json").read_bytes() == before
    assert not (folder / "south.json").exists()


def test_what_is_unpacked_goes_where_cohorts_are(
    run: Run, folder: Path, cohorts: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    run("export", "north", "-o", "data")
    (folder / "shelf").mkdir()
    monkeypatch.setenv("REARLOG_DIR", "shelf")
    run("unpack", "data/datapackage.json")
    assert sorted(os.listdir("shelf")) == [".rearlog", "north.json"]
    assert "no folder" in run("unpack", "data", "--into", "nowhere", fails=2).stderr


def test_data_that_break_a_rule_make_no_cohort(run: Run, folder: Path, cohorts: list[str]) -> None:
    """All cohorts or none: the rules of the file hold for what comes in, too."""
    run("export", "south", "north", "-o", "data")
    path = folder / "data" / "temperatures.csv"
    path.write_bytes(path.read_bytes().replace(b",-1.5,23.25", b",23.25,-1.5"))
    (folder / "back").mkdir()
    result = run("unpack", "data", "--into", "back", fails=1)
    assert "swapped" in result.stderr
    assert os.listdir(folder / "back") == [".rearlog"]


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ("empty", "there is neither datapackage.json nor meta.xml in it"),
        ("nowhere", "cannot be read"),
        ("north.json", "neither a folder nor a ZIP archive"),
    ],
)
def test_what_is_no_exported_data_is_told(
    run: Run, folder: Path, cohorts: list[str], data: str, message: str
) -> None:
    (folder / "empty").mkdir()
    assert message in run("unpack", data, fails=1).stderr


def test_an_archive_of_another_program_is_told(run: Run, folder: Path, cohorts: list[str]) -> None:
    run("export", "north", "-o", "data", "--darwin-core")
    (folder / "data" / "cohorts.csv").unlink()
    assert "cohorts.csv: cannot be read" in run("unpack", "data", fails=1).stderr
    (folder / "data" / "observations.csv").unlink()
    assert "it is of another program or version" in run("unpack", "data", fails=1).stderr


def test_a_cohort_without_checks_can_be_published(run: Run, folder: Path) -> None:
    log = south()
    save(replace(log, individuals=()), folder)
    run("export", "south", "-o", "data")
    assert validate(str(folder / "data" / "datapackage.json")).valid
    (folder / "back").mkdir()
    run("unpack", "data", "--into", "back")


def test_cohorts_that_a_stopped_unpack_left_on_their_way_are_listed(
    run: Run, folder: Path, cohorts: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    run("export", *cohorts, "-o", "data")
    (folder / "other").mkdir()
    with monkeypatch.context() as patch:
        patch.setattr(arriving, "_withdraw", lambda *_: None)  # a kill leaves no time for it
        patch.setattr(arriving, "also_name", lambda *_: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            run("unpack", "data", "--into", "other")
    assert not list((folder / "other").glob("*.json"))
    monkeypatch.setenv("REARLOG_DIR", "other")
    assert sorted(path.stem for path in cohorts_here()) == sorted(cohorts)


SECRET = {
    "place": "Anna's window",
    "container": "cup of Berta",
    "clutch": "Carla-7",
    "cause": "dropped by Doris",
    "by": "Emil",
    "note": "Frida was ill",
    "source": "Gustavs logger.csv",
    "because": "Hanna said so",
    "code": "Ida",
}


@pytest.fixture
def class_cohort(folder: Path) -> str:
    """A cohort in which every field that somebody can write names a pupil."""
    log = north()
    codes = {"A01": "A01", "A02": "A02", "ä_3": SECRET["code"]}
    told: dict[str, Any] = {name: SECRET[name] for name in ("by", "note")}
    struck = Mark(NOW, SECRET["because"], SECRET["by"])
    save(
        replace(
            log,
            cohort=replace(log.cohort, place=SECRET["place"]),
            individuals=tuple(
                replace(
                    each,
                    code=codes[each.code],
                    container=SECRET["container"],
                    clutch=SECRET["clutch"],
                    note=SECRET["note"],
                )
                for each in log.individuals
            ),
            all_observations=tuple(
                replace(
                    each,
                    individual=codes[each.individual],
                    cause=SECRET["cause"] if each.fate else None,
                    marks=(),
                    **told,
                )
                for each in log.all_observations
                if each.struck is None
            ),
            all_temperatures=tuple(
                replace(each, source=SECRET["source"]) for each in log.temperatures
            ),
        ),
        folder,
    )
    CohortFile(folder / "north.json").strike([1], [1], struck)
    return "north"


@pytest.mark.parametrize("kind", [[], ["--darwin-core"]])
def test_without_names_nothing_tells_who_somebody_is(
    run: Run, folder: Path, class_cohort: str, kind: list[str]
) -> None:
    run("export", class_cohort, "-o", "named", *kind)
    run("export", class_cohort, "-o", "nameless", "--no-names", *kind)
    run("export", class_cohort, "-o", "nameless.zip", "--no-names", *kind)
    whole = [b"".join(each.read_bytes() for each in (folder / name).rglob("*") if each.is_file())
             for name in ("named", "nameless")]  # fmt: skip
    with zipfile.ZipFile(folder / "nameless.zip") as archive:
        whole.append(b"".join(map(archive.read, archive.namelist())))
        assert {each.date_time for each in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    for field, secret in SECRET.items():
        assert (secret.encode() in whole[0]) is (field != "because"), field
        assert secret.encode() not in whole[1], field
        assert secret.encode() not in whole[2], field
    (folder / "back").mkdir()
    run("unpack", "nameless", "--into", "back")
    before, after = CohortFile(folder / "north.json").read(), CohortFile(folder / "back/north.json")
    assert [each.code for each in after.read().individuals] == ["A01", "A02", "1"]
    assert {each.clutch for each in after.read().individuals} == {"1"}
    assert {each.container for each in after.read().individuals} == {"1"}
    assert [(each.at, each.stage, each.fate) for each in after.read().all_observations] == [
        (each.at, each.stage, each.fate) for each in before.all_observations if not each.struck
    ]


def test_what_stays_can_be_seen_before(run: Run, folder: Path, class_cohort: str) -> None:
    told = run("export", class_cohort, "-o", "data", "--no-names", "--dry-run").stdout
    rows = {tuple(line.split()[:3]) for line in told.splitlines() if line.strip()}
    assert {("code", "replaced", "1"), ("code", "kept", "2"), ("food", "kept", "1")} <= rows
    assert {("clutch", "replaced", "1"), ("by", "left", "out"), ("zone", "kept", "1")} <= rows
    assert ("container", "replaced", "1") in rows
    assert not (folder / "data").exists()
    told = run("export", class_cohort, "-o", "data", "--dry-run").stdout
    assert "left out" not in told
    assert "replaced" not in told


def test_the_report_says_what_of_it_it_shows(run: Run, folder: Path, class_cohort: str) -> None:
    told = run("report", class_cohort, "-o", "page.html").stderr
    page = html.unescape((folder / "page.html").read_text("utf-8"))
    shown = {name for name, secret in SECRET.items() if secret in page}
    assert shown == {"place", "cause", "code"}
    assert "it shows the cohorts' names, the individuals' codes, places, food, factors" in told
    assert "no observers, notes, containers, clutches" in told


def test_what_unpack_would_not_take_is_told(
    run: Run, cohorts: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "does not take that much" not in run("export", *cohorts, "-o", "data").output
    monkeypatch.setattr("rearlog.exchange.delimited.MOST_ROWS", 400)
    told = " ".join(run("export", *cohorts, "-o", "more").output.split())
    assert "does not take that much (observations.csv: it has more than 400 lines)" in told


def test_who_publishes_comes_from_the_settings(
    run: Run, folder: Path, cohorts: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("REARLOG_SETTINGS", str(folder / "settings.toml"))
    assert "Nobody is named as who made it" in run("export", "north", "-o", "one").stderr
    run("settings", "publisher.name", "K. T.")
    run("settings", "publisher.licence", "CC-BY-4.0")
    told = run("export", "north", "-o", "two").stderr
    assert "Nobody is named" not in told
    about = json.loads((folder / "two" / "datapackage.json").read_text("utf-8"))
    assert about["contributors"] == [{"title": "K. T.", "roles": ["creator"]}]
    assert validate(str(folder / "two" / "datapackage.json")).valid
    registered = json.loads((folder / "two" / "datacite.json").read_text("utf-8"))
    assert registered["creators"][0]["name"] == "T., K."
    assert about["id"] == f"urn:uuid:{about['id'][9:]}"
    assert registered["alternateIdentifiers"][0]["alternateIdentifier"] == about["id"]
    shown = run("cite", "north", "--format", "datacite").stdout
    assert json.loads(shown) == registered


def test_coordinates_are_coarse_where_that_is_asked_for(
    run: Run, folder: Path, cohorts: list[str]
) -> None:
    run(
        "describe",
        "north",
        "--site",
        "Northfield",
        "--latitude",
        "51.5074",
        "--longitude",
        "-0.1278",
    )
    assert "The coordinates are exact; --blur 0.1" in run("export", "north", "-o", "one").stderr
    told = run("export", "north", "-o", "two", "--blur", "0.1", "--no-names").stderr
    assert "exact" not in told
    table = (folder / "two" / "cohorts.csv").read_text("utf-8")
    assert ",51.5,-0.1," in table
    assert "Northfield" not in table
    assert "51.5074" not in (folder / "two" / "datapackage.json").read_text("utf-8")
    shown = run("export", "north", "-o", "three", "--blur", "0.1", "--dry-run").stdout
    assert "latitude" in shown
    assert validate(str(folder / "two" / "datapackage.json")).valid
    for wrong in ("0", "-1", "11", "nan"):
        run("export", "north", "-o", "three", "--blur", wrong, fails=2)


def test_an_archive_under_a_licence_that_is_not_taken_is_not_written(
    run: Run, folder: Path, cohorts: list[str]
) -> None:
    words = "export", "north", "-o", "data", "--darwin-core", "--licence", "ODbL-1.0"
    assert "not taken under ODbL-1.0" in run(*words, fails=2).stderr
    assert not (folder / "data").exists()


def test_cite_names_the_program_or_a_data_set(run: Run, cohorts: list[str]) -> None:
    assert run("cite").stdout.startswith("@software{rearlog,")
    assert run("cite", "--format", "cff").stdout.startswith('cff-version: "1.2.0"')
    found = run("cite", "north", "south", "--title", "Two moths").stdout
    assert "title = {{Two moths (invented)}}" in found
    assert 'type: "dataset"' in run("cite", "north", "--format", "cff").stdout
    assert "name its cohorts" in run("cite", "--format", "datacite", fails=2).stderr
    assert "given twice" in run("cite", "north", "north", fails=2).stderr


def test_cohorts_go_into_a_data_set_that_grows(run: Run, folder: Path, cohorts: list[str]) -> None:
    first = run("export", "warm", "-o", "years", "--parquet").stderr
    assert first.startswith("Wrote 1 cohort with ")
    assert "Observers are named" in first
    second = run("export", *cohorts, "-o", "years", "--parquet", "--no-names").stderr
    assert second.startswith("Wrote 5 cohorts with ")
    assert "named" not in second
    for path in folder.glob("*.json"):
        path.unlink()
    found = json.loads(run("season", "years", "--format", "json").stdout)
    assert sorted(each["name"] for each in found["cohorts"]) == sorted(cohorts)
    assert {each["site"] for each in found["cohorts"]} == {None}
    again = run("export", "warm", "-o", "years", "--parquet", "--title", "Ours", fails=2).stderr
    assert "--parquet goes neither with --darwin-core nor with --title" in again


def test_what_a_data_set_would_tell_of_people_can_be_seen_before(run: Run, folder: Path) -> None:
    shutil.copy(SAMPLES / "warm.json", folder)
    run("export", "warm", "-o", "years", "--parquet", "--dry-run")
    assert not (folder / "years").exists()
