"""The shelf, starting a cohort, and the round, as the application answers."""

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from rearlog.store.cohort_file import CohortFile
from rearlog.web.door import Role
from tests.builders import START, tiny_log
from tests.web.shelves import BASE, SAME_SITE, Classroom, put

NOW = START + timedelta(days=4, hours=2)


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    log = tiny_log({"1": "egg egg L1 L1", "2": "egg egg egg L1", "3": "egg egg dead:mould"})
    put(tmp_path, log)
    return Classroom(tmp_path, NOW)


def look(individual: str, token: str, **said: Any) -> dict[str, Any]:
    return {"individual": individual, "at": NOW.isoformat(), "token": token, **said}


def tell(client: Any, *looks: dict[str, Any], sent: datetime = NOW) -> Any:
    return client.post(
        "/cohort/tiny/looks",
        json={"sent": sent.isoformat(), "looks": list(looks)},
        headers=SAME_SITE | {"Accept": "application/json"},
        base_url=BASE,
    )


def test_the_shelf_shows_who_lives_and_who_died(room: Classroom) -> None:
    page = room.keeper().get("/", base_url=BASE).text
    assert "2 alive: 2 L1" in page
    assert "3: dead as egg" in page
    assert page.count("<li") - page.count('<li><a href="/') >= 3


def test_texts_of_a_log_are_never_markup(tmp_path: Path) -> None:
    log = tiny_log({"1": "egg L1"})
    bad = '<script src="x"></script>'
    put(tmp_path, replace(log, cohort=replace(log.cohort, place=bad)))
    page = Classroom(tmp_path, NOW).keeper().get("/", base_url=BASE).text
    assert bad not in page
    assert "&lt;script src=" in page


def test_a_damaged_file_does_not_hide_the_others(room: Classroom) -> None:
    path = put(room.folder, tiny_log({"1": "egg egg"}, name="other"))
    path.write_text(path.read_text().replace("egg", "eGg", 1))
    page = room.keeper().get("/", base_url=BASE).text
    assert "2 alive: 2 L1" in page
    assert "checksum" in page


def test_an_empty_shelf_offers_to_start(tmp_path: Path) -> None:
    page = Classroom(tmp_path, NOW).keeper().get("/", base_url=BASE).text
    assert "Nothing stands on this shelf yet." in page
    assert 'href="/start"' in page


def test_a_cohort_is_started_with_plain_answers(tmp_path: Path) -> None:
    room = Classroom(tmp_path, NOW)
    told = {"species": "painted-lady", "name": "window sill", "count": "12", "zone": "UTC"}
    told |= {"stage": "L2", "codes": "A", "celsius": "22,5", "laid": "yesterday"}
    answer = room.keeper().post("/start", data=told, headers=SAME_SITE, base_url=BASE)
    assert (answer.status_code, answer.location) == (303, "/cohort/window-sill/round")
    log = CohortFile(tmp_path / "window-sill.json").read()
    assert [each.code for each in log.individuals][::11] == ["A01", "A12"]
    assert {each.stage for each in log.individuals} == {"L2"}
    assert log.cohort.planned_celsius == 22.5


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"count": "many"}, "How many are they?"),
        ({"name": "../up"}, "is not a cohort name"),
        ({"species": "dragon"}, "Choose a species"),
        ({"laid": "last year"}, "is not a date"),
        ({"celsius": "warm"}, "warm"),
        ({"name": "tiny"}, "there is a cohort tiny already"),
        ({"celsius": "72"}, "if it is °F, write 72F"),
        ({"factors": "line"}, "is not a factor and its level"),
        ({"origins": "sill:1"}, "sill cannot come from itself"),
    ],
)
def test_a_wrong_answer_is_told_and_the_others_are_kept(
    room: Classroom, wrong: dict[str, str], message: str
) -> None:
    told = {"species": "painted-lady", "name": "sill", "count": "12", "food": "thistle"}
    answer = room.keeper().post("/start", data=told | wrong, headers=SAME_SITE, base_url=BASE)
    assert answer.status_code == 400
    assert message in answer.text
    assert 'value="thistle"' in answer.text
    assert str(room.folder) not in answer.text
    assert [path.name for path in room.folder.glob("*.json")] == ["tiny.json"]


def test_a_cohort_is_started_with_what_sets_it_apart(room: Classroom) -> None:
    told = {
        "species": "painted-lady", "name": "sill", "count": "12",
        "factors": "line=A; replicate=2", "origins": "tiny:1,2; wild",
    }  # fmt: skip
    answer = room.keeper().post("/start", data=told, headers=SAME_SITE, base_url=BASE)
    assert answer.status_code == 303
    cohort = CohortFile(room.folder / "sill.json").read().cohort
    assert cohort.factors == {"line": "A", "replicate": "2"}
    assert cohort.origins == ("tiny:1,2", "wild")


def test_a_look_is_on_the_disk_when_it_is_answered(room: Classroom) -> None:
    answer = tell(room.joined(Role.LOOKER), look("1", "token-0001", stage="L2")).json
    assert answer["answers"][0]["problems"] == []
    (check,) = [
        each for each in CohortFile(room.folder / "tiny.json").read().checks["1"] if each.token
    ]
    assert (check.stage, check.by, check.at) == ("L2", "KT", NOW)
    (card,) = [each for each in answer["state"]["cards"] if each["individual"] == "1"]
    assert (card["stage"], card["looks"][0]["number"]) == ("L2", check.number)


def test_a_look_that_is_sent_again_is_written_once(room: Classroom) -> None:
    looker = room.joined(Role.LOOKER)
    first = tell(looker, look("1", "token-0001", same=True)).json["answers"]
    before = (room.folder / "tiny.json").read_bytes()
    assert tell(looker, look("1", "token-0001", same=True)).json["answers"] == first
    assert (room.folder / "tiny.json").read_bytes() == before


def test_one_look_that_is_refused_does_not_keep_the_others_out(room: Classroom) -> None:
    answers = tell(
        room.joined(Role.LOOKER),
        look("1", "token-0001", stage="L2"),
        look("2", "token-0002", stage="no such stage"),
        look("nobody", "token-0003", stage="L2"),
        {"individual": "2"},
        look("2", "token-0004", same=True),
    ).json["answers"]
    assert [bool(each["problems"]) for each in answers] == [False, True, True, True, False]
    assert [each["number"] is None for each in answers] == [False, True, True, True, False]


def test_a_look_that_contradicts_another_is_kept_and_said_to_be_in_doubt(room: Classroom) -> None:
    (answer,) = tell(room.joined(Role.LOOKER), look("1", "token-0001", stage="egg")).json["answers"]
    assert answer["number"] is not None
    assert "egg comes before L1" in answer["doubts"][0]["message"]


def test_a_device_whose_clock_is_slow_tells_the_right_time(room: Classroom) -> None:
    slow = timedelta(hours=3)
    told = look("1", "token-0001", same=True) | {"at": (NOW - slow).isoformat()}
    tell(room.joined(Role.LOOKER), told, sent=NOW - slow)
    (check,) = [
        each for each in CohortFile(room.folder / "tiny.json").read().checks["1"] if each.token
    ]
    assert check.at == NOW


def undo(client: Any, individual: str, token: str) -> Any:
    return client.post(
        "/cohort/tiny/looks/undo",
        json={"individual": individual, "token": token},
        headers=SAME_SITE | {"Accept": "application/json"},
        base_url=BASE,
    )


def test_a_slip_is_undone_by_whoever_made_it_and_by_the_keeper(room: Classroom) -> None:
    looker, other = room.joined(Role.LOOKER), room.joined(Role.LOOKER, "MB")
    tell(looker, look("1", "token-0001", stage="L2"), look("2", "token-0002", stage="L2"))
    assert undo(other, "1", "token-0001").status_code == 400
    assert undo(looker, "1", "token-0001").json["undone"]
    assert undo(room.keeper(), "2", "token-0002").json["undone"]
    assert not undo(looker, "1", "token-0001").json["undone"]
    log = CohortFile(room.folder / "tiny.json").read()
    assert [len(log.checks[code]) for code in "12"] == [3, 3]
    assert [each.struck.because for each in log.all_observations if each.struck] == [
        "undone in the round",
        "undone in the round",
    ]


def test_the_state_is_sent_only_where_it_is_news(room: Classroom) -> None:
    looker = room.joined(Role.LOOKER)
    state = looker.get("/cohort/tiny/round/state", base_url=BASE).json
    again = f"/cohort/tiny/round/state?known={state['version']}"
    assert looker.get(again, base_url=BASE).status_code == 204
    tell(room.joined(Role.LOOKER, "MB"), look("1", "token-0001", stage="L2"))
    (card,) = [
        each for each in looker.get(again, base_url=BASE).json["cards"] if each["individual"] == "1"
    ]
    assert [each["by"] for each in card["looks"]] == ["MB"]


def test_who_died_today_can_still_be_undone_and_who_died_before_is_gone(room: Classroom) -> None:
    looker = room.joined(Role.LOOKER)
    answer = tell(looker, look("1", "token-0001", fate="dead", cause="mould")).json
    codes = {each["individual"]: each["fate"] for each in answer["state"]["cards"]}
    assert codes == {"1": "dead", "2": None}


def test_a_round_of_a_day_that_is_over_shows_that_day(room: Classroom) -> None:
    looker = room.joined(Role.LOOKER)
    path = f"/cohort/tiny/round/state?on={(START + timedelta(days=1)).date()}"
    cards = looker.get(path, base_url=BASE).json["cards"]
    assert [(each["individual"], each["stage"], len(each["looks"])) for each in cards] == [
        ("1", "egg", 1),
        ("2", "egg", 1),
        ("3", "egg", 1),
    ]


@pytest.mark.parametrize("day", ["2026-03-08", "2026-03-14", "2026-02-30", "soon"])
def test_no_round_is_of_a_day_that_cannot_be(room: Classroom, day: str) -> None:
    answer = room.joined(Role.LOOKER).get(f"/cohort/tiny/round?on={day}", base_url=BASE)
    assert answer.status_code == 400


def test_a_link_of_the_keeper_that_is_opened_twice_leads_to_the_shelf(room: Classroom) -> None:
    secret = room.door.secret()
    client = room.stranger()
    answers = [client.get(f"/enter/{secret}", base_url=BASE) for _ in range(2)]
    assert [(each.status_code, each.location) for each in answers] == [(303, "/"), (303, "/")]
    assert room.stranger().get(f"/enter/{secret}", base_url=BASE).status_code == 403


def test_an_egg_is_as_old_as_its_laying(tmp_path: Path) -> None:
    put(tmp_path, tiny_log({"1": "egg egg"}, laid=(-2, -1)))
    state = Classroom(tmp_path, NOW).keeper().get("/cohort/tiny/round/state", base_url=BASE).json
    assert state["cards"][0]["since"] == str((START - timedelta(days=2)).date())
