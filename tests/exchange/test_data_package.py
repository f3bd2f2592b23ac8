"""The outside authority is the `frictionless` library, which checks data against its description
by the Data Package standard."""

import csv
import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from frictionless import Package, validate
from msgspec.structs import replace

from rearlog.exchange import bundle
from rearlog.exchange.data_package import data_package, read_data_package
from rearlog.exchange.publication import LICENCES, Publication
from rearlog.records.errors import ImportRefused, UsageError
from rearlog.records.log import CohortLog
from rearlog.species.loader import read as read_profile
from tests.open_data import NOTE, NOW, as_bytes, as_taken_in, north, south

DURATION = SimpleNamespace(
    individual="A01", stage="egg", outcome="completed", days=3.0, low=2.5, high=None,
    degree_days=None,
)  # fmt: skip


def durations_of(log: CohortLog) -> list[object]:
    return [DURATION] if log.cohort.name == "north" else []


def written(folder: Path, publication: Publication) -> Path:
    path = folder / "data"
    bundle.write(path, data_package(publication, durations_of))
    return path


@pytest.fixture
def package(tmp_path: Path) -> Path:
    """Both logs as a data package."""
    return written(tmp_path, Publication((north(), south()), licence=LICENCES["CC-BY-4.0"]))


def mistakes(package: Path) -> list[str]:
    report = validate(str(package / "datapackage.json"))
    return [error.type for task in report.tasks for error in task.errors] + [
        error.type for error in report.errors
    ]


def rows(package: Path, table: str) -> list[dict[str, str]]:
    with (package / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def descriptor(package: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((package / "datapackage.json").read_text("utf-8"))
    return found


def change(package: Path, table: str, before: str, after: str) -> None:
    """Change a file, and make its description fit in length and hash."""
    path = package / table
    content = path.read_bytes()
    assert content.count(before.encode()) >= 1
    path.write_bytes(content.replace(before.encode(), after.encode(), 1))
    about = descriptor(package)
    for resource in about["resources"]:
        if resource["path"] == table:
            del resource["bytes"], resource["hash"]
    (package / "datapackage.json").write_text(json.dumps(about))


def test_frictionless_finds_no_mistake(package: Path) -> None:
    assert mistakes(package) == []


def test_frictionless_reads_the_values_that_were_recorded(package: Path) -> None:
    table: Any = Package(str(package / "datapackage.json")).get_resource("observations")
    found = table.read_rows()
    told = [(row["at"], row["individual"], row["stage"], row["witnessed"]) for row in found]
    expected = as_taken_in(north()).all_observations
    assert told == [
        (each.at, each.individual, each.stage, each.witnessed or None) for each in expected
    ]
    assert float(found[0]["head_width_mm"]) == 0.35


@pytest.mark.parametrize(
    ("table", "before", "after", "mistake"),
    [
        ("observations.csv", "north,3,A02", "north,1,A02", "primary-key"),
        ("observations.csv", "north,3,A02", "north,3,B77", "foreign-key"),
        ("individuals.csv", "south,1", "west,1", "foreign-key"),
        ("observations.csv", "2.5,0.35", "2.5,wide", "type-error"),
        ("observations.csv", "2.5,0.35", "2.5,-0.35", "constraint-error"),
        ("observations.csv", "lost", "gone", "constraint-error"),
        ("observations.csv", ",34,30,", ",34.5,30,", "type-error"),
        ("observations.csv", ",34,30,", ",-34,30,", "constraint-error"),
        ("observations.csv", "cage-1", "the first cage", "constraint-error"),
        ("temperatures.csv", "23.25", "93.25", "constraint-error"),
        ("cohorts.csv", "08:40", "8.40", "constraint-error"),
        ("cohorts.csv", ",yes", ",perhaps", "type-error"),
        ("individuals.csv", "A02,2026", "A02,in 2026", "type-error"),
    ],
)
def test_the_description_is_strict(
    package: Path, table: str, before: str, after: str, mistake: str
) -> None:
    change(package, table, before, after)
    assert mistake in mistakes(package)


def test_a_file_that_was_changed_does_not_fit_its_hash(package: Path) -> None:
    path = package / "observations.csv"
    path.write_bytes(path.read_bytes().replace(b"mould; wet", b"mould; dry"))
    assert "hash-count" in mistakes(package)


def test_columns_have_descriptions_and_measures_have_units(package: Path) -> None:
    fields = {
        f"{resource['name']}.{field['name']}": field
        for resource in descriptor(package)["resources"]
        if "schema" in resource
        for field in resource["schema"]["fields"]
    }
    assert all(field["description"] for field in fields.values())
    units = {name: field["unit"] for name, field in fields.items() if "unit" in field}
    assert units["observations.length_mm"] == "mm"
    assert units["observations.mass_mg"] == "mg"
    assert units["temperatures.celsius"] == units["cohorts.planned_celsius"] == "°C"
    numbers = {name for name, field in fields.items() if field["type"] == "number"}
    assert units.pop("observations.eggs") == units.pop("observations.hatched") == "eggs"
    assert units.keys() == numbers
    assert fields["observations.eggs"]["type"] == "integer"


def test_the_licence_is_named_or_left_out(package: Path, tmp_path: Path) -> None:
    assert descriptor(package)["licenses"] == [
        {
            "name": "CC-BY-4.0",
            "title": "Creative Commons Attribution 4.0",
            "path": "https://creativecommons.org/licenses/by/4.0/",
        }
    ]
    other = as_bytes(data_package(Publication((north(),))))
    assert "licenses" not in json.loads(other["datapackage.json"])


def test_what_is_read_is_what_was_written(package: Path) -> None:
    found = read_data_package(package, read_profile, NOW)
    expected = [as_taken_in(north()), as_taken_in(south())]
    assert found == expected


def test_a_record_that_was_struck_out_stands_nowhere(package: Path) -> None:
    everything = b"".join(path.read_bytes() for path in package.rglob("*.csv"))
    assert b"struck note" not in everything
    assert [row["number"] for row in rows(package, "observations")] == list("13456789")
    assert "struck out are left out (2)" in descriptor(package)["description"]


def test_without_names_no_observer_is_in_any_file(tmp_path: Path) -> None:
    package = written(tmp_path, Publication((north(),), names=False))
    for path in package.rglob("*.*"):
        assert not {"KT", "LM", "PQ"}.intersection(
            path.read_text("utf-8").replace(",", " ").split()
        )
    assert "by" not in rows(package, "observations")[0]
    assert "Observers, notes, causes of death, sites, places" in descriptor(package)["description"]
    assert mistakes(package) == []
    (found,) = read_data_package(package, read_profile, NOW)
    assert {each.note for each in found.all_observations} == {None}


def test_without_notes_no_note_is_in_any_file(tmp_path: Path) -> None:
    package = written(tmp_path, Publication((north(),), notes=False))
    assert not any("second line" in path.read_text("utf-8") for path in package.rglob("*.*"))
    assert mistakes(package) == []
    assert "The notes are left out" in descriptor(package)["description"]


def test_what_is_invented_says_so_everywhere(package: Path) -> None:
    about = descriptor(package)
    told = [each["description"] for each in about["resources"] if "schema" in each]
    assert all(
        "Invented data" in text and "south" in text for text in [about["description"], *told]
    )
    assert "invented" in about["title"]
    assert [row["invented"] for row in rows(package, "cohorts")] == ["no", "yes"]
    honest = json.loads(as_bytes(data_package(Publication((north(),))))["datapackage.json"])
    assert "nvented data" not in json.dumps(honest)


def test_profiles_that_differ_get_files_of_their_own(package: Path) -> None:
    assert [row["profile"] for row in rows(package, "cohorts")] == ["test-moth", "test-moth-2"]
    twins = replace(north(), cohort=replace(north().cohort, name="twin", id=""))
    files = data_package(Publication((north(), twins)))
    assert [name for name in files if name.startswith("profiles/")] == ["profiles/test-moth.json"]


def test_a_profile_id_cannot_lead_out_of_the_folder() -> None:
    log = north()
    species = replace(log.cohort.species, id="../../etc/passwd")
    files = data_package(Publication((replace(log, cohort=replace(log.cohort, species=species)),)))
    assert [name for name in files if name.startswith("profiles/")] == ["profiles/etc-passwd.json"]


def test_formulas_are_disarmed(package: Path) -> None:
    assert [row["cause"] for row in rows(package, "observations")][4] == "'+escaped"
    assert rows(package, "individuals")[0]["note"] == f"'{NOTE}"
    assert rows(package, "cohorts")[0]["place"].startswith("'@home")
    assert rows(package, "temperatures")[1]["min_c"] == "-1.5"  # a number is no formula


def test_the_same_records_give_the_same_bytes() -> None:
    first, second = (as_bytes(data_package(Publication((north(),)))) for _ in range(2))
    assert first == second


def test_one_cohort_twice_is_refused() -> None:
    with pytest.raises(UsageError, match="the same cohort is given twice: north"):
        Publication((north(), north()))


@pytest.mark.parametrize(
    ("table", "before", "after", "message"),
    [
        ("observations.csv", "north,3,A02", "north,3,B77", "line 3: there is no individual B77"),
        ("observations.csv", "north,3,A02", "west,3,A02", "there is no cohort west"),
        ("observations.csv", "A01,2026-03-31", "A01,2099-03-31", "is in the future"),
        ("observations.csv", ",L2,,", ",L9,,", "stage L9 is not in the profile"),
        ("individuals.csv", ",egg,", ",imago,", "line 2: stage imago is not in the profile"),
        ("cohorts.csv", "Europe/London", "Europe/Nowhere", "no time zone “Europe/Nowhere”"),
        ("cohorts.csv", "north,test-moth", "../x,test-moth", "“../x” cannot be a cohort"),
        ("cohorts.csv", ",test-moth,", ",moth,", "profiles/moth.json: cannot be read"),
        ("cohorts.csv", ",test-moth,", ",../moth,", "cannot be a profile"),
        ("profiles/test-moth.json", '"egg"', '"ovum"', "“ovum” is not a stage code"),
        ("profiles/test-moth.json", "{", "", "profiles/test-moth.json: it is not JSON"),
        ("temperatures.csv", "-1.5,23.25", ",23.25", "a day needs min_c"),
        ("temperatures.csv", ",,20.0,", ",,,", "a constant needs celsius"),
        ("temperatures.csv", "north,2,1", "north,1,2", "record 1 is there already"),
        ("temperatures.csv", "28T09:10", "28T07:10", "goes on in time order"),
    ],
)  # fmt: skip
def test_what_cannot_be_taken_in_is_told_with_its_place(
    package: Path, table: str, before: str, after: str, message: str
) -> None:
    change(package, table, before, after)
    with pytest.raises(ImportRefused) as refusal:
        read_data_package(package, read_profile, NOW)
    assert any(message in str(problem) for problem in refusal.value.problems), str(refusal.value)


def test_every_problem_of_a_package_is_told_at_once(package: Path) -> None:
    change(package, "observations.csv", "2.5,0.35", "2.5,wide")
    change(package, "temperatures.csv", "23.25", "hot")
    change(package, "cohorts.csv", "Europe/London", "London")
    with pytest.raises(ImportRefused) as refusal:
        read_data_package(package, read_profile, NOW)
    assert len(refusal.value.problems) == 3


def test_one_mistake_brings_one_message(package: Path) -> None:
    change(package, "individuals.csv", ",egg,", ",imago,")  # A01, whose checks are not at fault
    with pytest.raises(ImportRefused) as refusal:
        read_data_package(package, read_profile, NOW)
    assert len(refusal.value.problems) == 1


def test_a_missing_table_is_told(package: Path) -> None:
    (package / "temperatures.csv").unlink()
    with pytest.raises(ImportRefused, match=r"temperatures\.csv: cannot be read"):
        read_data_package(package, read_profile, NOW)


def test_a_package_without_a_cohort_is_told(package: Path) -> None:
    for table in ("cohorts", "individuals", "observations", "temperatures"):
        path = package / f"{table}.csv"
        path.write_bytes(path.read_bytes().partition(b"\r\n")[0])
    with pytest.raises(ImportRefused, match="no cohort in it"):
        read_data_package(package, read_profile, NOW)
