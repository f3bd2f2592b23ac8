import errno
import json
import os
import subprocess
import sys
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from rearlog.disk.notices import DiskWarning
from rearlog.records.errors import RearlogError, RecordError, StoreError, UsageError
from rearlog.store import arriving
from rearlog.store.arriving import finish
from rearlog.store.cohort_file import CohortFile
from rearlog.store.new_cohorts import create_cohorts
from tests.builders import moment, tiny_log
from tests.store.disk import Call, Disk, failing

NOW = moment(30)
FIRST = tiny_log({"1": "egg L1", "2": "egg dead:mould"})
SECOND = replace(FIRST, cohort=replace(FIRST.cohort, name="second"))
BOTH = sorted([f"{FIRST.cohort.name}.json", "second.json"])


def visible(folder: Path) -> list[str]:
    return sorted(name for name in os.listdir(folder) if name != ".rearlog")


def test_each_log_gets_a_file_of_its_own(tmp_path: Path) -> None:
    paths = create_cohorts(tmp_path, [FIRST, SECOND], NOW)
    assert visible(tmp_path) == sorted(path.name for path in paths)
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
    assert visible(tmp_path) == ["second.json"]


def test_a_log_that_breaks_a_rule_keeps_all_from_being_written(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="in the future"):
        create_cohorts(tmp_path, [SECOND, FIRST], moment(0) + timedelta(hours=1))
    assert visible(tmp_path) == []


@pytest.mark.parametrize("name", ["nul", "Aux"])
def test_a_name_that_not_every_system_knows_is_refused(tmp_path: Path, name: str) -> None:
    odd = replace(FIRST, cohort=replace(FIRST.cohort, name=name))
    with pytest.raises(UsageError, match="the name of a device"):
        create_cohorts(tmp_path, [SECOND, odd], NOW)
    assert visible(tmp_path) == []


def interrupted(at: int) -> Callable[[int, Call], None]:
    """Ctrl-C just before the call with this number."""

    def before(count: int, _call: Call) -> None:
        if count == at:
            raise KeyboardInterrupt

    return before


CHANGES = ("link", "rename", "replace", "mkdir", "write")


def calls_of_interest(folder: Path, every: bool) -> list[int]:
    """The numbers of the calls that change something on the disk, or of all calls."""
    folder.mkdir()
    with Disk(folder).watched() as disk:
        create_cohorts(folder, [FIRST, SECOND], NOW)
    numbers = range(1, len(disk.calls) + 2)  # the last one is never reached
    last = len(disk.calls) + 1
    return [at for at in numbers if every or at == last or disk.calls[at - 1].name in CHANGES]


FAULTS: dict[str, Callable[[int], Callable[[int, Call], None]]] = {
    "full": lambda at: failing(at, errno.ENOSPC),
    "not allowed": lambda at: failing(at, errno.EACCES),
    "Ctrl-C": interrupted,
}


@pytest.mark.filterwarnings("ignore::rearlog.disk.notices.DiskWarning")
@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("links", [True, False])
@pytest.mark.parametrize("every", [False, pytest.param(True, marks=pytest.mark.slow)])
def test_whatever_call_fails_all_or_none_are_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: str, links: bool, every: bool
) -> None:
    if not links:
        monkeypatch.setattr(os, "link", refused_link)
    failed = 0
    for at in calls_of_interest(tmp_path / "whole", every):
        folder = tmp_path / str(at)
        folder.mkdir()
        disk, told = Disk(folder, FAULTS[fault](at)), ""
        with disk.watched():
            try:
                create_cohorts(folder, [FIRST, SECOND], NOW)
            except (RearlogError, KeyboardInterrupt) as error:
                told = repr(error)
        failed += bool(told)
        finish(folder)
        names = visible(folder)
        assert names in ([], BOTH), (disk.calls[-1], told)
        assert told or names == BOTH
        if not names:
            create_cohorts(folder, [FIRST, SECOND], NOW)  # nothing is in the way
        for name in BOTH:
            assert len(CohortFile(folder / name).read().all_observations) == 2
    assert failed > 8


def refused_link(*_: object) -> None:
    raise OSError(errno.EPERM, os.strerror(errno.EPERM))


# A child kills itself at each of its system calls in turn.
KILLED_AT_EACH_CALL = """
import json, os, signal, sys
from pathlib import Path
from rearlog.records.errors import StoreError
from rearlog.store import arriving
from rearlog.store.arriving import finish
from rearlog.store.cohort_file import CohortFile
from rearlog.store.new_cohorts import create_cohorts
from tests.store.disk import Disk
from tests.store.test_new_cohorts import (
    FIRST, NOW, SECOND, calls_of_interest, refused_link, visible
)

found = []
if sys.argv[2] == "False":
    os.link = refused_link
for at in calls_of_interest(Path(sys.argv[1], "whole"), sys.argv[3] == "True"):
    folder = Path(sys.argv[1], str(at))
    folder.mkdir()
    child = os.fork()
    if child == 0:
        def last(count, call):
            if count == at:
                os.kill(os.getpid(), signal.SIGKILL)
        with Disk(folder, last).watched():
            create_cohorts(folder, [FIRST, SECOND], NOW)
        os._exit(0)
    os.waitpid(child, 0)
    left = len(visible(folder))
    for name in ("second.json", "tiny.json"):  # whoever looks for one brings what is on its way
        try:
            assert len(CohortFile(folder / name).read().all_observations) == 2
        except StoreError:
            pass  # none of them is there
    found.append([left, len(visible(folder))])
    if not visible(folder):
        create_cohorts(folder, [FIRST, SECOND], NOW)
        assert len(visible(folder)) == 2
print(json.dumps(found))
"""


@pytest.mark.parametrize("links", [True, False])
@pytest.mark.parametrize("every", [False, pytest.param(True, marks=pytest.mark.slow)])
def test_whenever_it_is_killed_all_or_none_are_there(
    tmp_path: Path, links: bool, every: bool
) -> None:
    done = subprocess.run(
        [sys.executable, "-c", KILLED_AT_EACH_CALL, str(tmp_path), str(links), str(every)],
        cwd=Path(__file__).parents[2], capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert {after for _, after in found} == {0, 2}
    assert [1, 2] in found  # one had its name: the other came when it was looked for
    assert [0, 2] in found
    assert found[-1] == [2, 2]


def test_what_is_on_its_way_arrives_before_anything_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stopped_on_the_way(tmp_path, monkeypatch)
    assert visible(tmp_path) == []
    with pytest.raises(StoreError, match="exists already"):
        CohortFile(tmp_path / "second.json").create(FIRST.cohort, FIRST.individuals)
    assert visible(tmp_path) == BOTH


def test_a_file_of_another_program_in_the_way_stays_and_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stopped_on_the_way(tmp_path, monkeypatch)
    (tmp_path / "second.json").write_text("mine")
    with pytest.warns(DiskWarning, match=r"second\.json is of another program"):
        finish(tmp_path)
    assert visible(tmp_path) == BOTH
    assert (tmp_path / "second.json").read_text() == "mine"
    assert CohortFile(tmp_path / BOTH[1]).read().individuals == FIRST.individuals


def stopped_on_the_way(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As after a kill before the first of two cohorts had its name."""
    with monkeypatch.context() as patch:
        patch.setattr(arriving, "also_name", refused_link)
        patch.setattr(arriving, "_withdraw", lambda *_: None)
        with pytest.raises(StoreError):
            create_cohorts(folder, [FIRST, SECOND], NOW)


def test_a_name_that_is_taken_in_the_last_moment_stays(tmp_path: Path) -> None:
    """By a program that knows nothing of locks."""

    def taken(_count: int, call: Call) -> None:
        if call.name == "link" and call.other == str(tmp_path / "second.json"):
            Path(call.other).write_text("mine")

    with Disk(tmp_path, taken).watched(), pytest.raises(StoreError, match="exists already"):
        create_cohorts(tmp_path, [FIRST, SECOND], NOW)
    assert visible(tmp_path) == ["second.json"]
    assert (tmp_path / "second.json").read_text() == "mine"


RACE = """
import sys
from pathlib import Path
from rearlog.records.errors import RearlogError
from rearlog.store import arriving
from rearlog.store.arriving import finish
from rearlog.store.cohort_file import CohortFile
from rearlog.store.new_cohorts import create_cohorts
from tests.store.test_new_cohorts import FIRST, NOW, SECOND
way, folder = sys.argv[1], Path(sys.argv[2])
sys.stdin.readline()
try:
    if way == "start":
        CohortFile(folder / "second.json").create(SECOND.cohort, SECOND.individuals)
    else:
        create_cohorts(folder, [FIRST, SECOND], NOW)
except RearlogError as error:
    assert "exists already" in str(error), error
    print("refused")
else:
    print("made")
"""


@pytest.mark.parametrize("races", [1, pytest.param(12, marks=pytest.mark.slow)])
def test_of_many_who_make_the_same_cohort_one_succeeds(tmp_path: Path, races: int) -> None:
    for race in range(races):
        folder = tmp_path / str(race)
        folder.mkdir()
        makers = [
            subprocess.Popen(
                [sys.executable, "-c", RACE, way, str(folder)], cwd=Path(__file__).parents[2],
                stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
            )
            for way in ("start", "unpack", "start", "unpack")
        ]  # fmt: skip
        for maker in makers:
            assert maker.stdin is not None
            maker.stdin.write("\n")
            maker.stdin.flush()
        told = [maker.communicate()[0].strip() for maker in makers]
        assert [maker.returncode for maker in makers] == [0, 0, 0, 0]
        assert sorted(told) == ["made", "refused", "refused", "refused"]
        checks = len(CohortFile(folder / "second.json").read().all_observations)
        assert checks == (2 if "made" in (told[1], told[3]) else 0)


def test_a_missing_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="there is no folder"):
        create_cohorts(tmp_path / "nowhere", [FIRST], NOW)
