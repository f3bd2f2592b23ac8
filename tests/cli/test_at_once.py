"""Two people who change one cohort at the same moment: each has read it before the other writes."""

import contextlib
import threading
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from rearlog.cli.main import main
from rearlog.notebook import cohort as notebook
from rearlog.records.fields import Marked
from rearlog.species.loader import check
from rearlog.store import opening
from rearlog.store.cohort_file import CohortFile
from rearlog.store.verification import verify
from tests.cli.conftest import Run

NOW = datetime(2026, 6, 1, tzinfo=UTC)

AtOnce = Callable[[str, str], list[int]]


@pytest.fixture
def at_once(room: Path, monkeypatch: pytest.MonkeyPatch) -> AtOnce:
    """Run two commands in threads; who has read the file outside its lock waits for the other.

    So everything that a command could conclude from such a reading is out of date when it writes.
    """
    meeting = threading.Barrier(2, timeout=30)

    def meet(read: Callable[..., Any]) -> Callable[..., Any]:
        def reading(file: CohortFile | Path, *codes: Any) -> Any:
            found = read(file, *codes)
            held = isinstance(file, CohortFile) and file.is_held
            if not held and threading.current_thread() is not threading.main_thread():
                # broken: the other one has no need to read outside the lock
                with contextlib.suppress(threading.BrokenBarrierError):
                    meeting.wait()
            return found

        return reading

    monkeypatch.setattr(CohortFile, "read", meet(CohortFile.read))
    monkeypatch.setattr(CohortFile, "outline", meet(CohortFile.outline))
    monkeypatch.setattr(notebook, "read_log", meet(opening.read_log))

    def run(first: str, second: str) -> list[int]:
        codes: list[int] = []

        def call(words: str) -> None:
            try:
                codes.append(main(words.split(), standalone_mode=False) or 0)
            finally:
                meeting.abort()

        threads = [threading.Thread(target=call, args=(words,)) for words in (first, second)]
        for each in threads:
            each.start()
        for each in threads:
            each.join()
        return sorted(codes)

    return run


def problems(room: Path) -> tuple[str, ...]:
    return tuple(map(str, verify(room, NOW, check).problems))


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("--min 18 --max 23 --on 2026-03-10", "--min 18 --max 24 --on 2026-03-10"),
        ("--constant 24", "--constant 25"),
        ("first.csv", "second.csv"),
    ],
)
def test_of_two_contradicting_temperatures_one_is_refused(
    at_once: AtOnce, room: Path, first: str, second: str
) -> None:
    for name, celsius in (("first", 20), ("second", 22)):
        lines = f"Time,Temperature (°C)\n2026-03-12 00:00,19\n2026-03-12 01:00,{celsius}\n"
        (room.parent / f"{name}.csv").write_text(lines, encoding="utf-8")
    assert at_once(f"temps room {first} -q", f"temps room {second} -q") == [0, 1]
    assert problems(room) == ()
    assert len(CohortFile(room).read().temperatures) == 1


@pytest.mark.parametrize(
    "words", ["logger.csv", "days.csv", "--constant 24", "--min 18 --max 23 --on 2026-03-10"]
)
def test_the_same_temperatures_twice_are_recorded_once(
    at_once: AtOnce, room: Path, words: str
) -> None:
    (room.parent / "logger.csv").write_text(
        "Time,Temperature (°C)\n2026-03-12 00:00,20\n2026-03-12 01:00,21\n", encoding="utf-8"
    )
    (room.parent / "days.csv").write_text("date,min_c,max_c\n2026-03-10,18,23\n")
    assert at_once(f"temps room {words} -q", f"temps room {words} -q") == [0, 0]
    assert len(CohortFile(room).read().temperatures) == 1


def test_the_same_individual_is_added_once(at_once: AtOnce, room: Path) -> None:
    assert at_once("add room 7 -q --on 2026-03-10", "add room 7 -q --on 2026-03-10") == [0, 1]
    assert [each.code for each in CohortFile(room).read().individuals] == list("123457")


def test_the_last_round_is_struck_once_and_the_one_before_it_stands(
    at_once: AtOnce, room: Path, run: Run
) -> None:
    run("log", "room", "all same", "--on", "2026-03-10")
    run("log", "room", "all same", "--on", "2026-03-11")
    words = "strike room --last-round --because twice -q"
    assert at_once(words, words) == [0, 1]
    standing = [each for each in CohortFile(room).read().all_observations if each.struck is None]
    assert {each.at.day for each in standing} == {10}


def test_the_same_file_of_checks_is_imported_once(at_once: AtOnce, room: Path) -> None:
    (room.parent / "round.csv").write_text("individual,at,stage\n1,2026-03-12,L1\n")
    assert at_once("import room round.csv -q", "import room round.csv -q") == [0, 0]
    assert len(CohortFile(room).read().all_observations) == 1


@pytest.mark.parametrize(
    ("words", "second"),
    [
        ("correct room 1 egg --from 2026-03-10 --because slip -q", 2),
        ("withdraw room 1 --because slip -q", 1),
        ("strike room @1 --because slip -q", 1),
    ],
)
def test_what_is_put_right_is_put_right_once(
    at_once: AtOnce, room: Path, run: Run, words: str, second: int
) -> None:
    run("log", "room", "1 L1", "--on", "2026-03-10")
    before = len(CohortFile(room).read().all_observations)
    assert at_once(words, words) == [0, second]
    assert problems(room) == ()
    log = CohortFile(room).read()
    marked: list[Marked] = [*log.all_observations, *log.withdrawn]
    assert sum(len(each.marks) for each in marked) == 1
    assert len([*log.all_observations, *log.of_withdrawn]) == before + (second == 2)
