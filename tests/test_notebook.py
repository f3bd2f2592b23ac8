"""Cohorts in a notebook: the examples of the documentation, and the bridge to pandas."""

import doctest
from pathlib import Path
from types import ModuleType

import pytest

import rearlog
import rearlog.notebook
from rearlog.records.errors import StoreError

ROOT = Path(__file__).parent.parent


@pytest.mark.parametrize("module", [rearlog, rearlog.notebook], ids=["rearlog", "notebook"])
def test_the_examples_say_what_is_so(module: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    outcome = doctest.testmod(module)
    assert outcome.attempted > 2
    assert outcome.failed == 0


def test_observations_and_answers_as_data_frames() -> None:
    room = rearlog.open(ROOT / "sample_cohorts" / "room.json")
    checks = room.to_pandas()
    assert len(checks) == room.completeness().checks
    assert set(checks.stage.dropna()) == {"egg", "L1", "L2", "L3", "L4", "L5", "pupa", "adult"}
    days = room.to_pandas(room.durations().individuals)
    by_hand = days[(days.stage == "pupa") & (days.outcome == "completed")].days.mean()
    pupa = next(each for each in room.durations().stages if each.stage == "pupa")
    assert by_hand == pytest.approx(pupa.mean)


def test_a_missing_file_is_told_when_it_is_read(tmp_path: Path) -> None:
    absent = rearlog.open(tmp_path / "none.json")
    with pytest.raises(StoreError, match="no cohort file"):
        absent.survival()
