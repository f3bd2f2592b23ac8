"""The command in all its forms, and its chart."""

import csv
import io
import json
from pathlib import Path

import pytest

from rearlog.store.new_cohorts import create_cohorts
from tests.analysis.invented_calls import a_round
from tests.builders import moment, tiny_log
from tests.cli.conftest import Run


@pytest.fixture
def tiny(folder: Path) -> Path:
    """The cohort `tiny` that two people looked at."""
    (path,) = create_cohorts(folder, [a_round()], moment(60))
    return path


def test_plain_words_come_with_the_first_table(run: Run, tiny: Path) -> None:
    output = run("agreement", "tiny", "--full").output
    lead = "KT and MB agreed on 15 of 18 looks that both made in tiny; of three differences, two L2"
    assert " ".join(output.split()).startswith(lead)
    first, _, rest = output.partition("KT down, MB across")
    assert "KT and MB agreed on 15 of 18; of three differences, two L2" in " ".join(first.split())
    assert "Stage by stage" in rest


def test_the_json_has_facts_and_words(run: Run, tiny: Path) -> None:
    found = json.loads(run("agreement", "tiny", "--format", "json").output)
    assert (found["n"], found["agreed"]) == (18, 15)
    assert found["pairs"][0]["kappa"].keys() == {"kappa", "se", "low", "high"}
    assert found["pairs"][0]["table"][0] == [8, 0, 0, 0]
    assert found["words"][0].startswith("KT and MB agreed on 15 of 18")


def test_the_csv_lists_the_calls_that_differ(run: Run, tiny: Path) -> None:
    rows = [*csv.DictReader(io.StringIO(run("agreement", "tiny", "--format", "csv").output))]
    assert [(each["individual"], each["stage_1"], each["stage_2"]) for each in rows] == [
        ("c0", "L3", "L2"),
        ("c1", "L3", "L2"),
        ("d", "L3", "L1"),
    ]


def test_the_window_is_chosen(run: Run, tiny: Path) -> None:
    assert "nothing to compare" in run("agreement", "tiny", "--within", "5").output


def test_nobody_signed(run: Run, folder: Path) -> None:
    create_cohorts(folder, [tiny_log({"1": "egg L1"})], moment(60))
    assert "nobody signed a call" in run("agreement", "tiny").output


def test_the_chart(run: Run, tiny: Path, folder: Path) -> None:
    run("chart", "agreement", "tiny", "-o", "agreement.svg")
    assert "15 of 18" in (folder / "agreement.svg").read_text(encoding="utf-8")
