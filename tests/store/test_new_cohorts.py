import os
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from rearlog.records.errors import RecordError, StoreError, UsageError
from rearlog.store.cohort_file import CohortFile
from rearlog.store.new_cohorts import create_cohorts
from tests.builders import moment, tiny_log

NOW = moment(30)
FIRST = tiny_log({"1": "egg L1", "2": "egg dead:mould"})
SECOND = replace(FIRST, cohort=replace(FIRST.cohort, name="second"))


def test_each_log_gets_a_file_of_its_own(tmp_path: Path) -> None:
    paths = create_cohorts(tmp_path, [FIRST, SECOND], NOW)
    assert sorted(os.listdir(tmp_path)) == sorted(path.name for path in paths)
    for path, log in zip(paths, (FIRST, SECOND), strict=True):
        found = CohortFile(path).read()
        assert (found.cohort, found.individuals) == (log.cohort, log.individuals)
        assert [(each.individual, each.stage, each.fate, each.cause, each.entered)
                for each in found.all_observations] == [
            ("1", "L1", None, None, NOW), ("2", None, "dead", "mould", NOW)
        ]  # fmt: skip


def test_a_file_that_is_there_keeps_all_from_being_written(tmp_path: Path) -> None:
    (tmp_path / "second.json").write_text("mine")
    with pytest.raises(UsageError, match=r"second\.json exists already"):
        create_cohorts(tmp_path, [FIRST, SECOND], NOW)
    assert os.listdir(tmp_path) == ["second.json"]


def test_a_log_that_breaks_a_rule_keeps_all_from_being_written(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="in the future"):
        create_cohorts(tmp_path, [SECOND, FIRST], moment(0) + timedelta(hours=1))
    assert os.listdir(tmp_path) == []


def test_a_disk_that_fails_half_way_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rename = os.rename

    def fail(source: Path, target: Path) -> None:
        if target.name == "second.json":
            raise OSError(5, "Input/output error")
        rename(source, target)

    monkeypatch.setattr(os, "rename", fail)
    with pytest.raises(StoreError, match="input/output error"):
        create_cohorts(tmp_path, [FIRST, SECOND], NOW)
    assert os.listdir(tmp_path) == []


def test_a_missing_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="there is no folder"):
        create_cohorts(tmp_path / "nowhere", [FIRST], NOW)
