"""The files of a folder under many hands: what is kept, and what is written together."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from rearlog.store.cohort_file import CohortFile
from rearlog.web import looks
from rearlog.web.door import Role
from rearlog.web.pages import round_page
from rearlog.web.shelf import NotOnTheShelf, Shelf
from tests.web.visiting import NOW, cohort_file, desk_over, joined, looker

LONG_SECONDS = 30.0
"""No test waits for so long unless it fails."""


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    cohort_file(tmp_path)
    return Shelf(tmp_path)


def test_what_comes_while_a_file_is_written_to_is_written_at_once_afterwards(shelf: Shelf) -> None:
    rounds: list[list[int]] = []
    begun, go_on = threading.Event(), threading.Event()
    answers: dict[int, int] = {}

    def do(_file: CohortFile, told: list[int]) -> list[int]:
        rounds.append(told)
        begun.set()
        assert go_on.wait(LONG_SECONDS)
        return [each * each for each in told]

    def tell(number: int) -> None:
        answers[number] = shelf.write("warm", number, do)

    threads = [threading.Thread(target=tell, args=[0])]
    threads[0].start()
    assert begun.wait(LONG_SECONDS)
    for number in range(1, 9):
        threads.append(threading.Thread(target=tell, args=[number]))
        threads[-1].start()
    while len(shelf._waiting["warm"]) < 8:
        threading.Event().wait(0.001)
    go_on.set()
    for thread in threads:
        thread.join(LONG_SECONDS)
    assert rounds[0] == [0]
    assert sorted(rounds[1]) == list(range(1, 9))
    assert len(rounds) == 2
    assert answers == {number: number * number for number in range(9)}


def test_what_goes_wrong_with_a_write_is_told_to_each_and_the_next_goes_on(shelf: Shelf) -> None:
    def fails(_file: CohortFile, told: list[int]) -> list[int]:
        raise OSError(f"no space for {told}")

    with pytest.raises(OSError, match="no space for"):
        shelf.write("warm", 1, fails)
    assert shelf.write("warm", 2, lambda _file, told: told) == 2
    with pytest.raises(NotOnTheShelf):
        shelf.write("nobody", 1, lambda _file, told: told)


def test_looks_of_many_devices_at_once_are_each_answered_for_themselves(tmp_path: Path) -> None:
    file = cohort_file(tmp_path)
    said = {"at": NOW.isoformat(), "same": True}
    devices = [
        looks.Telling([{"individual": "A01", "token": "a" * 16, **said}], "KT", NOW - NOW, NOW),
        looks.Telling([{"individual": "Z99", "token": "b" * 16, **said}, 7], "MB", NOW - NOW, NOW),
        looks.Telling([], "SG", NOW - NOW, NOW),
        looks.Telling([{"individual": "A02", "token": "c" * 16, **said}], "SG", NOW - NOW, NOW),
    ]
    first, second, third, fourth = looks.take(file, devices)
    assert [each.number for each in first + fourth] == [4, 5]
    assert [bool(each.problems) for each in second] == [True, True]
    assert third == []
    stand = file.read().all_observations[3:]
    assert [(each.individual, each.by) for each in stand] == [("A01", "KT"), ("A02", "SG")]


def test_what_is_quick_does_not_wait_for_a_picture(tmp_path: Path) -> None:
    cohort_file(tmp_path)
    desk = desk_over(tmp_path)
    drawing, go_on = threading.Event(), threading.Event()

    def draw() -> str:
        drawing.set()
        assert go_on.wait(LONG_SECONDS)
        return "a picture"

    slow = threading.Thread(target=lambda: desk.shelf.kept("picture", ["warm"], draw))
    slow.start()
    assert drawing.wait(LONG_SECONDS)
    browser = looker(desk)
    look = {"individual": "A01", "at": NOW.isoformat(), "token": "t" * 16, "same": True}
    body = {"sent": NOW.isoformat(), "looks": [look]}
    assert browser.post("/cohort/warm/looks", json=body).status_code == 200
    assert browser.get("/").status_code == 200
    assert slow.is_alive()
    go_on.set()
    slow.join(LONG_SECONDS)


def test_a_change_while_the_state_is_worked_out_is_shown_when_it_is_asked_for_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = cohort_file(tmp_path)
    desk = desk_over(tmp_path)
    browser = joined(desk, Role.LOOKER)
    made = round_page._cards

    def changed_meanwhile(*anything):
        cards = list(made(*anything))
        said = {"individual": "A01", "at": NOW.isoformat(), "token": "t" * 16, "same": True}
        looks.take(file, [looks.Telling([said], "KT", NOW - NOW, NOW)])
        return cards

    with monkeypatch.context() as now:
        now.setattr(round_page, "_cards", changed_meanwhile)
        first = browser.get("/cohort/warm/round/state").get_json()
    assert first["cards"][0]["looks"] == []
    again = browser.get(f"/cohort/warm/round/state?known={first['version']}")
    assert again.status_code == 200
    assert [each["by"] for each in again.get_json()["cards"][0]["looks"]] == ["KT"]
    version = again.get_json()["version"]
    assert browser.get(f"/cohort/warm/round/state?known={version}").status_code == 204
