"""Files that format 1 wrote: `samples/format-1.json`, and the sample cohorts as they once were."""

import shutil
from pathlib import Path
from random import Random

import pytest
from msgspec.structs import replace
from numpy.testing import assert_equal

from rearlog.analysis.stages.events import EventHistory, event_history
from rearlog.notebook import Notebook
from rearlog.present.json import to_json
from rearlog.records.log import CohortLog, Mark, Observation
from rearlog.store.backups import backups_of
from rearlog.store.cohort_file import CohortFile
from rearlog.store.layout import encode, inspect
from tests.builders import moment, seen, tiny_log
from tests.store.conftest import add

SAMPLES = Path(__file__).parent / "samples"
SAMPLE = SAMPLES / "format-1.json"
MARK = Mark(moment(3), "wrong cup", "KT")


@pytest.fixture
def old(tmp_path: Path) -> CohortFile:
    return CohortFile(Path(shutil.copy(SAMPLE, tmp_path)))


def test_every_stage_stays_a_call_and_a_strike_is_one_mark(old: CohortFile) -> None:
    log = old.read()
    assert [each.stage for each in log.all_observations] == ["L1", "egg", "L2", "L1", "L1", None]
    assert not any(each.same for each in log.all_observations)
    assert [each.marks for each in log.all_observations] == [(), (), (MARK,), (), (), (MARK,)]
    assert [each.marks for each in log.all_temperatures] == [(), (MARK,)]


def test_what_is_written_is_of_format_3_and_the_old_file_a_backup(old: CohortFile) -> None:
    before, known = old.path.read_bytes(), old.read()
    add(old, seen("1", 4, "L2"))
    assert b'"format":3' in old.path.read_bytes()
    assert old.read().all_observations[:6] == tuple(known.all_observations)
    assert backups_of(old.path)[-1].path.read_bytes() == before
    old.take_back([3], [2], Mark(moment(9), "it was right"))
    assert [each.struck for each in old.read().all_observations[2:6]] == [None, None, None, MARK]


@pytest.mark.parametrize("name", ["cool", "room", "warm"])
def test_the_answers_are_those_of_format_1_to_the_last_digit(name: str, tmp_path: Path) -> None:
    path = SAMPLES / f"format-1-{name}.json"
    content = inspect(path.read_bytes(), path)
    again = tmp_path / f"{name}.json"
    again.write_bytes(encode(content.tables))
    old, new = Notebook(path), Notebook(again)
    assert (content.format, inspect(again.read_bytes(), again).format) == (1, 3)
    for answer in ("durations", "survival", "growth", "stage_counts", "heat", "progress"):
        assert to_json(getattr(new, answer)()) == to_json(getattr(old, answer)())


def with_no_changes(log: CohortLog) -> CohortLog:
    """The log with “no change” wherever a call repeats the stage known before."""
    looks: list[Observation] = []
    for code, checks in log.checks.items():
        stage = log.by_code[code].stage
        for check in checks:
            repeats = check.stage == stage and not check.witnessed
            looks.append(replace(check, stage=None, same=True) if repeats else check)
            stage = check.stage or stage
    return CohortLog(log.cohort, log.individuals, tuple(looks))


@pytest.mark.parametrize("seed", range(20))
def test_no_change_means_what_the_stage_of_the_look_before_meant(seed: int) -> None:
    random = Random(seed)
    lives = {}
    for code in "12345":
        stages = sorted(random.choices(("egg", "L1", "L2", "L3", "pupa", "adult"), k=8))
        order = ("egg", "L1", "L2", "L3", "pupa", "adult")
        words = sorted(stages, key=order.index)
        end = random.choice(([], ["dead"], ["lost"], ["removed"]))
        lives[code] = " ".join([*words, *end])
    log = tiny_log(lives)
    same = with_no_changes(log)
    assert any(each.same for each in same.all_observations)
    old, new = event_history(log), event_history(same)
    for name in EventHistory.__struct_fields__:
        assert_equal(getattr(new, name), getattr(old, name))
