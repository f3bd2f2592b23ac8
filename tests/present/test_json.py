"""What programs rely on: the keys of every answer as JSON, and texts beside facts."""

from pathlib import Path
from typing import Any

import pytest

from rearlog.analysis.growth.evidence import Measured
from rearlog.analysis.growth.identify import identify
from rearlog.notebook import Notebook, compare, thermal
from rearlog.present.json import plain, to_json
from rearlog.present.written import Written, written
from rearlog.records.times import now, read_moment
from rearlog.species.catalogue import find

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"

# the keys that the project has promised to programs, texts among them
STAGE = [
    "stage",
    "entered",
    "completed",
    "died",
    "lost",
    "removed",
    "in_stage",
    "start_unknown",
    "mean",
    "sd",
    "se",
    "min",
    "median",
    "max",
    "interval_width",
    "mean_of",
    "left_open",
    "median_bounds",
    "median_limits",
    "npmle_median",
    "expected",
    "basis",
]
INDIVIDUAL = ["individual", "stage", "days", "low", "high", "outcome", "degree_days"]
DURATIONS = {
    "": ["cohort", "species", "unit", "words"],
    "stages": STAGE,
    "individuals": INDIVIDUAL,
}
HEAT = {
    "": ["cohort", "lower", "upper", "method", "cutoff", "unit", "no_expected"],
    "coverage": ["days", "recorded", "filled", "missing"],
    "daily": ["date", "degree_days", "cumulative", "filled"],
    "stages": ["stage", "n", "mean", "sd", "se", "min", "max", "expected"],
}
SURVIVAL = {
    "": ["cohort", "n", "deaths", "censored", "median_days", "K", "K_low", "K_high", "words"],
    "reached": ["stage", "n", "reached", "waiting", "gone", "fraction", "most", "low", "high"],
    "kaplan_meier": ["day", "at_risk", "deaths", "censored", "survival", "se", "low", "high"],
    "between_looks": ["after", "by", "died", "survival"],
    "median": ["n", "events", "quartiles", "population_low", "population_high"],
    "life_table": ["x", "n", "l", "d", "q", "L", "T", "e"],
    "stage_table": [
        "stage",
        "entered",
        "died",
        "lost",
        "removed",
        "completed",
        "q",
        "q_least",
        "q_most",
        "q_low",
        "q_high",
        "k",
        "k_low",
        "k_high",
    ],
    "causes": ["cause", "stage", "deaths"],
}
GROWTH = {
    "": ["cohort", "mass_fold", "no_dyar", "groups", "no_groups", "words"],
    "instars": ["stage", "n", "head_width_mm_mean", "sd", "ratio_to_previous"],
    "dyar": ["ratio", "se", "r2"],
    "series": ["individual", "day", "length_mm", "head_width_mm", "mass_mg"],
}
FORECAST = {
    "": ["cohort", "as_of", "temperature", "temperature_words", "words", "notices"],
    "individuals": ["individual", "stage", "event", "earliest", "likely", "latest"],
    "events": ["event", "earliest", "likely", "latest", "n"],
}
DUE = {"": ["cohort", "summary", "notices"], "events": ["individual", "event", "when"]}
COMPARE = {
    "": ["cohorts", "notices"],
    "stages": [
        "stage",
        "unit",
        "groups",
        "test",
        "statistic",
        "p",
        "p_holm",
        "counted",
        "clustered_by",
        "intraclass",
        "pairs",
        "difference",
        "words",
    ],
    "survival": ["chi2", "df", "p", "words"],
}
THERMAL = {
    "": ["notices"],
    "stages": [
        "stage",
        "points",
        "linear",
        "weighted",
        "objections",
        "ikemoto_takai",
        "curves",
        "swinging",
        "words",
    ],
}
IDENTIFY = {
    "": ["species", "stage", "verdict", "look_for", "warnings"],
    "probabilities": ["stage", "probability"],
    "evidence": ["what", "given", "speaks_for", "speaks_against", "words"],
}


def answers() -> dict[str, tuple[object, dict[str, list[str]]]]:
    cool, room, warm = (Notebook(SAMPLES / f"{name}.json") for name in ("cool", "room", "warm"))
    then = read_moment("2026-03-20", "UTC", "09:00", now("UTC"))
    return {
        "durations": (room.durations(), DURATIONS),
        "heat": (room.heat(), HEAT),
        "survival": (room.survival(), SURVIVAL),
        "growth": (room.growth(), GROWTH),
        "forecast": (cool.forecast(as_of=then), FORECAST),
        "due": (room.due(then), DUE),
        "compare": (compare([cool, warm]), COMPARE),
        "thermal": (thermal([cool, room, warm]), THERMAL),
        "identify": (
            identify(find("monarch"), Measured(head_mm=(1.5,), length_mm=9.0), {}),
            IDENTIFY,
        ),
    }


@pytest.fixture(scope="module")
def found() -> dict[str, tuple[object, dict[str, list[str]]]]:
    return answers()


def objects(document: Any, key: str) -> list[dict[str, Any]]:
    """The objects under a key: the document itself under none, all of a list."""
    value = document if key == "" else document[key]
    return value if isinstance(value, list) else [value]


@pytest.mark.parametrize(
    "name",
    [
        "durations",
        "heat",
        "survival",
        "growth",
        "forecast",
        "due",
        "compare",
        "thermal",
        "identify",
    ],
)
def test_the_promised_keys_are_there(
    name: str, found: dict[str, tuple[object, dict[str, list[str]]]]
) -> None:
    result, promised = found[name]
    document = plain(result)
    for key, names in promised.items():
        parts = objects(document, key)
        assert parts, key
        for part in parts:
            assert set(names) <= part.keys(), key


@pytest.mark.parametrize(
    "key", ["words", "summary", "notices", "warnings", "look_for", "basis", "verdict"]
)
def test_texts_are_texts(key: str, found: dict[str, tuple[object, dict[str, list[str]]]]) -> None:
    """A fact under the key of a text would be an object here."""

    def texts(value: Any) -> list[Any]:
        if isinstance(value, list):
            return [text for each in value for text in texts(each)]
        if not isinstance(value, dict):
            return []
        here = value.get(key, [])
        inner = [text for each in value.values() for text in texts(each)]
        return [*(here if isinstance(here, list) else [here]), *inner]

    said = [text for result, _ in found.values() for text in texts(plain(result))]
    assert said
    assert all(isinstance(text, str) and text for text in said)


def test_a_nan_is_refused() -> None:
    with pytest.raises(ValueError, match="NaN"):
        plain({"mean": float("nan")})


def test_what_a_command_wrote_is_told_by_its_name() -> None:
    assert written("check", {}, ["Nothing new."]) == Written("check", (), ("Nothing new.",))


def test_an_answer_is_laid_out_two_blanks_a_level() -> None:
    text = to_json(written("log", {}, ["told"]))
    assert text.splitlines()[1:5] == [
        '  "schema": "rearlog/written",', '  "version": 1,', '  "command": "log",',
        '  "cohorts": [],',
    ]  # fmt: skip
    assert '\n    "told"\n' in text


def test_broken_letters_of_names_become_question_marks() -> None:
    """A byte of a file's name that is no letter; others stay as they are."""
    assert plain(["a\udcff.json", "\udcff", "é", "e"]) == ["a?.json", "?", "é", "e"]
