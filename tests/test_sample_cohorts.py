"""The demo: it is what its raw files and its README say, and says that it is invented."""

from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from msgspec.structs import replace

from rearlog.cli.main import main
from rearlog.notebook import Notebook
from rearlog.records.log import CohortLog
from rearlog.species.catalogue import find
from rearlog.store.cohort_file import CohortFile
from sample_cohorts import make

FOLDER = Path(make.__file__).parent
RAW = FOLDER / "raw"
AGAIN = "run “python sample_cohorts/make.py”, and look at what changed"
NAMES = [shelf.name for shelf in make.SHELVES]


@pytest.fixture(params=NAMES)
def name(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def log_of(name: str, folder: Path = FOLDER) -> CohortLog:
    return CohortFile(folder / f"{name}.json").read()


# --- it is made as it says ------------------------------------------------------------------------


def test_the_simulation_gives_the_same_raw_files_again(tmp_path):
    make.write_raw(tmp_path)
    files = sorted(path.name for path in RAW.iterdir())

    assert sorted(path.name for path in tmp_path.iterdir()) == files
    for each in files:
        assert (tmp_path / each).read_bytes() == (RAW / each).read_bytes(), f"{each}: {AGAIN}"


def test_the_raw_files_give_the_same_cohorts_again(tmp_path):
    make.build(RAW, tmp_path)

    for each in NAMES:
        assert log_of(each, tmp_path) == log_of(each), f"{each}: {AGAIN}"


def without_moments(log: CohortLog) -> CohortLog:
    """The log without the moments of writing, and what only the demo has: a mark, its identity."""

    def plain(record):
        marks = tuple(replace(each, at=make.ENTERED) for each in record.marks)
        return replace(record, entered=None, marks=marks)

    return CohortLog(
        replace(log.cohort, created=make.ENTERED, invented=True, id=""),
        log.individuals,
        tuple(map(plain, log.all_observations)),
        tuple(map(plain, log.all_temperatures)),
    )


def test_the_commands_that_people_type_give_the_same_cohorts(tmp_path, monkeypatch):
    monkeypatch.setenv("REARLOG_DIR", str(tmp_path))

    def run(*words: object) -> None:
        result = CliRunner().invoke(main, [str(word) for word in words])
        assert result.exit_code == 0, result.output

    for shelf in make.SHELVES:
        cohort = log_of(shelf.name).cohort
        run(
            *("start", shelf.name, "--species", "painted-lady", "--eggs", 24),
            *("--on", "2026-03-09", "--laid", "2026-03-08", "--check-time", "08:40"),
            *("--zone", "Europe/London", "--temp", cohort.planned_celsius),
            *("--place", cohort.place, "--food", cohort.food),
        )
        run("import", shelf.name, RAW / f"{shelf.name}-observations.csv")
    run("temps", "cool", RAW / "cool-min-max.csv")
    run("temps", "room", "--constant", 22, "--from", "2026-03-08", "--to", "2026-04-10")
    run("temps", "warm", RAW / "warm-logger.csv")
    run("log", "room", "9 L5 len=31.5", "--on", "2026-03-24T15:10", "--by", "JL")
    number = len(log_of("room").all_observations)
    because = "that was cup 9 of the warm shelf"
    run("strike", "room", number, "--because", because, "--by", "KT")

    for each in NAMES:
        assert without_moments(log_of(each, tmp_path)) == without_moments(log_of(each))


def test_importing_once_more_adds_nothing(tmp_path, monkeypatch, name):
    monkeypatch.setenv("REARLOG_DIR", str(tmp_path))
    copy = tmp_path / f"{name}.json"
    copy.write_bytes((FOLDER / copy.name).read_bytes())
    result = CliRunner().invoke(main, ["import", name, str(RAW / f"{name}-observations.csv")])

    assert result.exit_code == 0, result.output
    assert "Imported 0 checks" in result.stderr
    assert log_of(name, tmp_path) == log_of(name)


# --- it is as its README says ---------------------------------------------------------------------


def test_it_says_that_it_is_invented(name):
    log = log_of(name)

    assert log.cohort.invented
    assert log.cohort.place == f"Fernhill, {name} shelf"
    assert log.cohort.species == find("painted-lady"), AGAIN
    assert {check.by for check in log.all_observations} == {"JL", "KT", "MB", "RS"}
    assert "invented" in (FOLDER / "README.md").read_text(encoding="utf-8")


def test_every_life_has_its_end(name):
    notebook = Notebook(FOLDER / f"{name}.json")
    survival = notebook.survival()

    assert survival.n == 24
    assert all(log[-1].fate for log in notebook.log.checks.values())
    assert sum(each.lost for each in survival.stage_table) == (1 if name == "room" else 0)
    assert survival.stage_table[-1].removed >= 12
    assert len({each.cause for each in survival.causes}) >= 3
    assert None not in {each.cause for each in survival.causes}


def test_the_forgotten_weekend():
    weekend = {date(2026, 3, 21), date(2026, 3, 22)}
    rounds = {each: {check.at.date() for check in log_of(each).all_observations} for each in NAMES}

    assert not weekend & rounds["cool"]
    assert weekend < rounds["room"] & rounds["warm"]
    assert {date(2026, 3, 29) + timedelta(day) for day in (-1, 0, 1)} < rounds["cool"]


@pytest.mark.parametrize(
    ("name", "method", "filled", "celsius"),
    [("cool", "single-sine", 2, 18), ("room", "single-sine", 0, 22), ("warm", "readings", 0, 27)],
)
def test_temperatures(name, method, filled, celsius):
    notebook = Notebook(FOLDER / f"{name}.json")
    heat = notebook.heat()
    curve = notebook.heat_curve

    assert (heat.method, heat.coverage.filled, heat.coverage.missing) == (method, filled, 0)
    assert heat.daily[0].date == date(2026, 3, 8)
    assert curve is not None
    assert curve.mean_celsius(curve.knots[0], curve.knots[-1]) == pytest.approx(celsius, abs=0.3)


def test_the_analysis_finds_the_heat_that_the_profile_had(name):
    """The truth behind the demo is the profile's K: within 3 standard errors, in each stage.

    Where by chance nearly all of a few animals show the same whole number of days, their SE is too
    small: it is taken to be no less than that of rounding both passages to a day, √(1/6)/√n days.
    """
    notebook = Notebook(FOLDER / f"{name}.json")
    profile = notebook.log.cohort.species
    rate = notebook.log.cohort.planned_celsius - profile.lower.centre
    for stage in notebook.heat().stages:
        if stage.stage != "adult":
            se = max(stage.se, rate * (6 * stage.n) ** -0.5)
            mean = profile.stage(stage.stage).degree_days.centre
            assert stage.mean == pytest.approx(mean, abs=3 * se), stage.stage


def test_warmer_is_faster():
    stages = [
        Notebook(FOLDER / f"{each}.json").durations("egg", "adult").stages[0] for each in NAMES
    ]
    days = [each.mean for each in stages if each.mean is not None]

    assert len(days) == len(NAMES)
    assert days == sorted(days, reverse=True)
    assert days[0] > 1.5 * days[-1]


def test_the_mistake_is_struck_out_with_its_reason():
    struck = [
        (each, check) for each in NAMES for check in log_of(each).all_observations if check.struck
    ]
    ((where, check),) = struck

    assert (where, check.individual, check.length_mm) == ("room", "9", 31.5)
    assert check.struck.because == "that was cup 9 of the warm shelf"


def test_some_were_measured_and_some_eclosions_were_seen(name):
    checks = log_of(name).all_observations
    heads = [check for check in checks if check.head_width_mm]

    assert len({check.individual for check in checks if check.length_mm and not check.struck}) <= 8
    assert {check.stage for check in heads} == {"L1", "L2", "L3", "L4", "L5"}
    assert any(check.witnessed and check.stage == "adult" for check in checks)
