"""Every answer, in every form, of every log: an answer or a reason, never nonsense."""

import csv
import io
import json
import re
from datetime import timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from msgspec.structs import replace

from rearlog.cli.main import main
from rearlog.records.log import CohortLog, ConstantTemperature
from rearlog.store.new_cohorts import create_cohorts
from tests.builders import START, moment, small_profile, tiny_log
from tests.cli.conftest import Run

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
KEPT = (ConstantTemperature(20.0, START.date() - timedelta(1)),)
HEAT = {"egg": 30.0, "L1": 30.0, "L2": 30.0, "pupa": 60.0}
LIFE = "egg egg egg L1 L1 L2 L2 L2 pupa pupa adult"


def moths(**lives: str) -> CohortLog:
    """Test moths kept at 20 °C, laid on the day before; `a2="egg L1"` is the life of a2."""
    return tiny_log(lives, profile=small_profile(heat=HEAT), laid=(-1, 0), temperatures=KEPT)


LOGS = {
    "whole": moths(a1=LIFE, a2=LIFE.replace("L2", "L1", 1), a3=LIFE, a4="egg egg dead:mould"),
    "unfinished": moths(a1="egg egg egg", a2="egg egg egg"),
    "unchecked": moths(a1="egg", a2="egg"),
    "alone": moths(a1=LIFE),
    "dead-eggs": moths(a1="egg dead", a2="egg egg dead:mould", a3="egg dead"),
    "censored": moths(a1="egg L1 lost", a2="egg L1 L2 removed", a3="egg lost"),
    "at-once": moths(a1="egg adult", a2="egg adult", a3="egg dead"),
    "larvae": tiny_log({"a1": "L2 L2 pupa", "a2": "L2 dead", "a3": "L2 L2 pupa"}),
    "no-temperatures": tiny_log({f"a{n}": LIFE for n in range(4)}, laid=(-1, 0)),
    "no-threshold": tiny_log(
        {f"a{n}": LIFE for n in range(4)}, profile=small_profile(lower=None), temperatures=KEPT
    ),
    "a-gap": tiny_log(
        {f"a{n}": LIFE for n in range(4)},
        laid=(-1, 0),
        temperatures=(ConstantTemperature(20.0, START.date(), START.date() + timedelta(2)),),
    ),
    "other-species": tiny_log(
        {f"a{n}": LIFE for n in range(4)},
        profile=replace(small_profile(), id="other", scientific_name="Other test"),
        temperatures=KEPT,
    ),
}


@pytest.fixture(scope="module")
def cohorts(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with all of LOGS, by their names."""
    folder = tmp_path_factory.mktemp("cohorts")
    logs = [replace(log, cohort=replace(log.cohort, name=name)) for name, log in LOGS.items()]
    create_cohorts(folder, logs, moment(60))
    return folder


@pytest.fixture(autouse=True)
def narrow(cohorts: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("REARLOG_DIR", str(cohorts))
    monkeypatch.setenv("COLUMNS", "80")


def ask(*words: str) -> Result:
    return CliRunner().invoke(main, words, catch_exceptions=False)


def refuse_constant(name: str) -> float:
    raise AssertionError(f"{name} in JSON")


def is_sound(result: Result, form: str) -> None:
    """An answer without nonsense, or a reason."""
    if result.exit_code:
        assert result.exit_code in (1, 2)
        assert result.stderr.startswith("Error: ")
        assert result.stdout == ""
        return
    assert not re.search(r"\b(nan|inf|None|NaN)\b", result.stdout), result.stdout
    assert "0 of 0" not in result.stdout
    assert not re.search(
        r"(?<![\d.])1 (individuals|days|checks|cohorts|widths|are|were|have)\b", result.stdout
    )
    if form == "json":
        json.loads(result.stdout, parse_constant=refuse_constant)
    elif form == "csv":
        header, *rows = csv.reader(io.StringIO(result.stdout))
        assert all(len(row) == len(header) for row in rows)
    else:
        assert max(map(len, result.stdout.splitlines())) <= 80


ONE = [
    ("durations",),
    ("durations", "--individuals"),
    ("durations", "--from", "L1", "--to", "pupa"),
    ("heat",),
    ("heat", "--daily"),
    ("survival",),
    ("survival", "--kaplan-meier"),
    ("survival", "--from", "L1", "--to", "pupa"),
    ("growth",),
    ("agreement",),
]


@pytest.mark.parametrize("form", ["table", "json", "csv"])
@pytest.mark.parametrize("command", ONE, ids=" ".join)
@pytest.mark.parametrize("name", LOGS)
def test_every_answer_about_every_log(name: str, command: tuple[str, ...], form: str) -> None:
    first, *options = command
    is_sound(ask(first, name, *options, "--format", form), form)


@pytest.mark.parametrize("form", ["table", "json", "csv"])
@pytest.mark.parametrize("command", ["compare", "thermal"])
@pytest.mark.parametrize("name", LOGS)
def test_every_comparison_with_every_log(name: str, command: str, form: str) -> None:
    is_sound(ask(command, "whole", name, "--format", form), form)
    is_sound(ask(command, "no-temperatures", name, "a-gap", "--format", form), form)


@pytest.mark.parametrize("command", ["compare", "thermal"])
def test_a_cohort_is_not_compared_with_itself(command: str) -> None:
    result = ask(command, "whole", "whole")
    assert result.exit_code == 2
    assert "given twice" in result.stderr


# --- the keys that others rely on ----------------------------------------------------------------

STAGE_DAYS = (
    "stage entered completed died lost removed in_stage start_unknown mean sd se min median max "
    "interval_width median_bounds median_limits npmle_median expected basis"
)
LIFE_TABLE = "x n l d q L T e"
KEYS = {
    "durations": {
        "": "cohort species unit stages individuals",
        "stages": STAGE_DAYS,
        "individuals": "individual stage days low high outcome degree_days",
    },
    "heat": {
        "": "cohort lower upper method cutoff unit coverage daily stages",
        "coverage": "days recorded filled missing",
        "daily": "date degree_days cumulative filled",
        "stages": "stage n mean sd se min max expected",
    },
    "survival": {
        "": "cohort n deaths censored median_days kaplan_meier life_table stage_table causes",
        "kaplan_meier": "day at_risk deaths censored survival se low high",
        "life_table": LIFE_TABLE,
        "stage_table": "stage entered died lost removed completed q q_low q_high k",
        "causes": "cause stage deaths",
    },
    "growth": {
        "": "cohort instars dyar series mass_fold",
        "instars": "stage n head_width_mm_mean sd ratio_to_previous",
        "dyar": "ratio se r2",
        "series": "individual day length_mm head_width_mm mass_mg",
    },
    "compare": {
        "": "cohorts stages survival",
        "stages": "stage unit groups test statistic p p_holm difference words",
        "stages groups": "cohort n mean sd median",
        "stages difference": "estimate low high",
        "survival": "chi2 df p words",
    },
    "thermal": {
        "": "stages",
        "stages": "stage points linear ikemoto_takai curves",
        "stages points": "cohort temperature days rate n used",
        "stages linear": "threshold threshold_se constant constant_se slope intercept r2 n",
        "stages ikemoto_takai": "threshold constant",
    },
}
"""For each command the keys of its JSON, and of what lies under them."""


def below(document: object, path: str) -> dict[str, object]:
    """The object at a path of keys, the first one of a list."""
    for key in path.split():
        assert isinstance(document, dict)
        document = document[key]
        if isinstance(document, list):
            document = document[0]
    assert isinstance(document, dict)
    return document


@pytest.mark.parametrize("command", KEYS)
def test_json_has_the_keys_that_others_rely_on(command: str) -> None:
    names = ["cool", "room", "warm"] if command == "thermal" else ["cool", "warm"]
    names = names if command in ("thermal", "compare") else ["warm"]
    paths = [str(SAMPLES / f"{name}.json") for name in names]
    document = json.loads(ask(command, *paths, "--format", "json").stdout)
    for path, keys in KEYS[command].items():
        assert set(keys.split()) <= set(below(document, path)), path


# --- what the tables say -------------------------------------------------------------------------


def test_durations_show_quartiles_beside_the_midpoints() -> None:
    shown = ask("durations", "whole", "--full").stdout
    rows = [line.split() for line in shown.splitlines() if line.startswith(" egg ")]
    assert ["egg", "3", "3.00"] in [row[:3] for row in rows]
    assert ["egg", "2.0–4.0", "2.0–4.0", "2.0–4.0", "–"] in rows


def test_an_individual_outside_its_range_is_marked(run: Run, folder: Path) -> None:
    """Eggs need 60 degree-days above 6.9 °C, some 4 days at 22 °C: 14 days are longer."""
    run("start", "slow", "--species", "painted-lady", "--eggs", "2", "--on", "2026-03-09",
        "--laid", "2026-03-08", "--zone", "UTC")  # fmt: skip
    run("temps", "slow", "--constant", "22", "--from", "2026-03-08")
    run("log", "slow", "1 L1; 2 same", "--on", "2026-03-12")
    run("log", "slow", "all same", "--on", "2026-03-21")
    run("log", "slow", "2 L1; rest same", "--on", "2026-03-22")
    rows = [line.split() for line in run("durations", "slow", "--individuals").stdout.splitlines()]
    eggs = {row[0]: row[-1] for row in rows if len(row) > 2 and row[1] == "egg"}
    assert eggs["2"] == "longer"
    assert eggs["1"] != "longer"


def test_survival_by_day_is_there_for_the_asking() -> None:
    plain, more = ask("survival", "whole").stdout, ask("survival", "whole", "--kaplan-meier").stdout
    assert "Kaplan–Meier" not in plain
    assert "Kaplan–Meier" in more
    full = ask("survival", "whole", "--full").stdout
    assert "Kaplan–Meier" in full
    assert "K, that of all these stages together" in full
    assert "0.12 (95 % interval" in " ".join(full.split())  # −log10(3/4) of the eggs
    rows = list(csv.DictReader(io.StringIO(
        ask("survival", "whole", "--kaplan-meier", "--format", "csv").stdout
    )))  # fmt: skip
    assert [(row["day"], row["deaths"]) for row in rows if row["deaths"] != "0"] == [("2.0", "1")]


def test_csv_has_a_row_a_stage_or_a_row_an_individual() -> None:
    stages = list(csv.DictReader(io.StringIO(ask("durations", "whole", "--format", "csv").stdout)))
    assert [row["stage"] for row in stages] == ["egg", "L1", "L2", "pupa"]
    words = ("durations", "whole", "--individuals", "--format", "csv")
    individuals = list(csv.DictReader(io.StringIO(ask(*words).stdout)))
    assert len(individuals) == 3 * 4 + 1


def test_missing_days_are_named_as_runs() -> None:
    shown = ask("heat", "a-gap", "--full").stdout
    assert "missing " in shown
    assert re.search(r"days \(\d{4}-\d\d-\d\d to \d{4}-\d\d-\d\d\): not known", shown)


def test_longevity_by_sex_from_the_log_to_the_picture(run: Run, folder: Path) -> None:
    """Four adults of two sexes, found dead a day apart."""
    run("start", "moths", "--species", "painted-lady", "--larvae", "4", "--stage", "pupa",
        "--on", "2026-03-09", "--zone", "UTC")  # fmt: skip
    run("log", "moths", "1-2 adult sex=f; 3-4 adult sex=m", "--on", "2026-03-10")
    for day, line in enumerate(("3 dead; rest same", "4 dead; rest same", "1 dead; 2 same"), 11):
        run("log", "moths", line, "--on", f"2026-03-{day}")
    shown = run("survival", "moths", "--from", "adult", "--by", "sex").stdout
    rows = [line.split() for line in shown.splitlines()]
    assert ["females", "2", "1"] in [row[:3] for row in rows]
    assert ["males", "2", "2"] in [row[:3] for row in rows]
    assert "1 of 2 females died and 2 of 2 males died." in shown
    alone = run("survival", "moths", "--from", "adult").stdout
    assert "Of the 4 of moths that were seen as adult, 3 died: half" in alone
    table = run("survival", "moths", "--from", "adult", "--by", "sex", "--format", "csv").stdout
    assert table.splitlines()[0].startswith("sex,x,n,l")
    run("chart", "survival", "moths", "--from", "adult", "--by", "sex", "-o", "moths.svg")
    assert "moths, females" in Path("moths.svg").read_text(encoding="utf-8")
    wrong = run("chart", "heat", "moths", "--from", "adult", "-o", "heat.svg", fails=2)
    assert "leave out --from" in wrong.stderr
