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


def test_a_missing_file_is_told_at_once(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="no cohort file"):
        rearlog.open(tmp_path / "none.json")


def test_every_name_that_is_offered_is_there_and_no_module_hides_it() -> None:
    for name in rearlog.notebook.__all__:
        assert not isinstance(getattr(rearlog.notebook, name), ModuleType), name
    for name in rearlog.notebook.__all__:  # by now all its modules are loaded
        assert callable(getattr(rearlog.notebook, name)), name
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        rearlog.notebook.nothing  # noqa: B018


def test_what_was_worked_out_is_not_kept_for_another_log() -> None:
    room = rearlog.open(ROOT / "sample_cohorts" / "room.json")
    assert room.durations().individuals
    early = room.at(room.log.cohort.started)
    assert early.known == room.log.cohort.started
    assert not any(each.completed for each in early.durations().stages)
    assert any(each.completed for each in room.durations().stages)
