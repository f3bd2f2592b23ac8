"""Work on all processors: in order, errors as they came, and nothing left running."""

import os
import signal
import threading
from importlib import import_module
from math import sqrt
from pathlib import Path

import pytest

import rearlog
from rearlog.processes import each_of, processors
from rearlog.records.errors import UsageError


def test_results_come_in_the_order_of_the_things_from_other_processes() -> None:
    found = list(each_of(sqrt, range(40), fewest=2, at_once=3, jobs=2))
    assert found == [sqrt(each) for each in range(40)]
    others = set(each_of(_process, range(8), fewest=2, jobs=2))
    assert len(others) == 2
    assert os.getpid() not in others


@pytest.mark.parametrize(("things", "jobs"), [(3, 2), (9, 1), (0, 2)])
def test_little_is_done_here(things: int, jobs: int) -> None:
    assert set(each_of(_process, range(things), fewest=4, jobs=jobs)) <= {os.getpid()}


def test_an_error_is_raised_as_it_came_and_nothing_is_left_running() -> None:
    before = threading.active_count()
    with pytest.raises(UsageError, match="three is not taken") as caught:
        list(each_of(_but_three, range(8), fewest=2, jobs=2))
    assert caught.value.problems[0].remedy == "take four"
    assert threading.active_count() == before


def test_who_stops_asking_ends_the_others() -> None:
    found = each_of(_process, range(50), fewest=2, jobs=2)
    helper = next(found)
    found.close()
    with pytest.raises(ProcessLookupError):
        os.kill(helper, 0)


def test_an_interrupt_is_left_to_the_process_that_was_called() -> None:
    assert set(each_of(_interrupted, [1, 2], fewest=2, jobs=2)) == {"went on"}


def test_a_process_that_ends_is_told() -> None:
    with pytest.raises(RuntimeError, match="ended before it was done"):
        list(each_of(os._exit, [3, 3], fewest=2, jobs=2))


def test_it_works_beside_threads_and_what_is_printed_is_no_result() -> None:
    found: list[list[int]] = []
    ask = threading.Thread(
        target=lambda: found.append(list(each_of(_told, [1, 2], fewest=2, jobs=2)))
    )
    ask.start()
    ask.join()
    assert found == [[2, 4]]


def test_it_is_the_same_rearlog_and_no_script_stands_in_for_a_module_of_the_system(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "re.py").write_text("raise SystemExit('not this one')")
    (tmp_path / "ours.py").write_text("def twice(thing):\n    return 2 * thing\n")
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.chdir(tmp_path)
    twice = import_module("ours").twice
    assert list(each_of(twice, [1, 2], fewest=2, jobs=2)) == [2, 4]
    assert set(each_of(_home, [1, 2], fewest=2, jobs=2)) == {rearlog.__file__}


def test_there_is_a_processor() -> None:
    assert processors() >= 1


def _interrupted(_: int) -> str:
    os.kill(os.getpid(), signal.SIGINT)
    return "went on"


def _process(_: int) -> int:
    return os.getpid()


def _home(_: int) -> str:
    return rearlog.__file__


def _but_three(thing: int) -> int:
    if thing == 3:
        raise UsageError("three is not taken", "take four")
    return thing


def _told(thing: int) -> int:
    print("not a result")
    return 2 * thing
