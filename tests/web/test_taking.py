"""What a device keeps until it is answered for, told again in all the ways that happen."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from rearlog.store.cohort_file import CohortFile
from tests.web.visiting import NOW, Browser, cohort_file, desk_over, keeper, looker

TOKEN = "t" * 32


def look(individual: str = "A01", at: datetime = NOW, token: str = TOKEN, **said):
    return {"individual": individual, "at": at.isoformat(), "token": token, "same": True, **said}


def tell(browser: Browser, *looks, sent: datetime = NOW):
    body = {"sent": sent.isoformat(), "looks": list(looks)}
    return browser.post("/cohort/warm/looks", json=body).get_json()["answers"]


def take_back(browser: Browser, individual: str = "A01", token: str = TOKEN):
    body = {"individual": individual, "token": token}
    return browser.post("/cohort/warm/looks/undo", json=body)


def observations(file: CohortFile):
    return file.read().all_observations[3:]


@pytest.fixture
def file(tmp_path: Path) -> CohortFile:
    return cohort_file(tmp_path)


def test_a_look_told_again_after_its_answer_was_lost_is_there_once(
    file: CohortFile, tmp_path: Path
) -> None:
    desk = desk_over(tmp_path)
    first = tell(looker(desk), look(note="fat"))
    again = tell(looker(desk), look(note="fat"))
    assert [each["number"] for each in first + again] == [4, 4]
    assert len(observations(file)) == 1


def test_a_look_told_again_after_it_was_undone_stays_undone(
    file: CohortFile, tmp_path: Path
) -> None:
    browser = looker(desk_over(tmp_path))
    tell(browser, look())
    assert take_back(browser).get_json()["undone"] is True
    assert take_back(browser).get_json()["undone"] is False
    (again,) = tell(browser, look())
    assert (again["number"], again["problems"]) == (4, [])
    (only,) = observations(file)
    assert only.struck is not None


def test_an_undoing_of_what_never_came_does_nothing(file: CohortFile, tmp_path: Path) -> None:
    answer = take_back(looker(desk_over(tmp_path)))
    assert (answer.status_code, answer.get_json()["undone"]) == (200, False)
    assert list(observations(file)) == []


def test_only_own_looks_are_undone_but_the_keeper_undoes_any(
    file: CohortFile, tmp_path: Path
) -> None:
    desk = desk_over(tmp_path)
    browser = looker(desk)
    tell(browser, look())
    desk.door.call(desk.door.visitors()[-1].number, "SG")
    answer = take_back(browser)
    assert answer.status_code == 400
    assert "your own looks" in answer.text
    assert observations(file)[0].struck is None
    assert take_back(keeper(desk)).get_json()["undone"] is True


def test_one_bad_look_keeps_no_good_one_out_and_their_order_stays(
    file: CohortFile, tmp_path: Path
) -> None:
    told = [
        look("A01", NOW - timedelta(minutes=9), "a" * 32),
        look("A02", NOW - timedelta(minutes=8), "b" * 32, same=False, fate="dead"),
        look("Z99", NOW - timedelta(minutes=7), "c" * 32),
        look("A03", NOW - timedelta(minutes=6), "d" * 32),
    ]
    browser = looker(desk_over(tmp_path))
    for _ in range(2):
        answers = tell(browser, *told)
        assert [each["token"][0] for each in answers] == list("abcd")
        assert [each["number"] for each in answers] == [4, 5, None, 6]
        assert [bool(each["problems"]) for each in answers] == [False, False, True, False]
    assert [each.token[0] for each in observations(file)] == list("abd")


@pytest.mark.parametrize("hours", [-3, 0, 3, 9000])
def test_the_clock_of_a_device_may_be_wrong(hours: int, file: CohortFile, tmp_path: Path) -> None:
    """A look is of so long before it was sent as the device says, by our clock."""
    its_now = NOW + timedelta(hours=hours)
    tapped = its_now - timedelta(minutes=20)
    tell(looker(desk_over(tmp_path)), look(at=tapped), sent=its_now)
    assert observations(file)[0].at == NOW - timedelta(minutes=20)


def test_no_look_is_of_the_future(file: CohortFile, tmp_path: Path) -> None:
    tell(looker(desk_over(tmp_path)), look(at=NOW + timedelta(hours=2)), sent=NOW)
    assert observations(file)[0].at == NOW


@pytest.mark.parametrize(
    "change",
    [datetime(2026, 3, 29, 1, tzinfo=UTC), datetime(2026, 10, 25, 1, tzinfo=UTC)],
    ids=["summer", "winter"],
)
def test_looks_around_the_change_of_clocks_keep_their_moments(
    change: datetime, tmp_path: Path
) -> None:
    """Tapped without a network before, between and after; sent an hour later by a wrong clock."""
    file = cohort_file(tmp_path, zone="Europe/Berlin")
    now = change + timedelta(hours=2)
    browser = looker(desk_over(tmp_path, now=lambda: now))
    moments = [change + timedelta(minutes=each) for each in (-61, -31, -1, 0, 29, 59, 61)]
    slow = timedelta(hours=3)
    told = [
        look(at=(each - slow).astimezone(ZoneInfo("America/New_York")), token=f"{place:032d}")
        for place, each in enumerate(moments)
    ]
    answers = tell(browser, *told, sent=now - slow)
    assert not any(each["problems"] for each in answers)
    found = observations(file)
    assert [each.at for each in found] == moments
    assert [each.at.utcoffset() for each in found] == [
        each.astimezone(ZoneInfo("Europe/Berlin")).utcoffset() for each in moments
    ]
    again = tell(browser, *told, sent=now - slow)
    assert [each["number"] for each in again] == [each["number"] for each in answers]
    assert len(observations(file)) == len(moments)
