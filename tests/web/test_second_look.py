"""A second, blind look at pictures: what is shown, written down, and made of it by agreement."""

import json
import re
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from rearlog.notebook import Notebook
from rearlog.records.incoming import telling
from rearlog.records.log import Mark, Observation
from rearlog.store.cohort_file import CohortFile
from rearlog.store.photos import keep
from rearlog.web.desk import Desk
from rearlog.web.door import Role
from rearlog.web.second_looks import SecondLooks
from tests.pictures import encoded, leaf
from tests.web.visiting import NOW, Browser, cohort_file, desk_over, guest, joined, keeper

TAKEN = NOW - timedelta(hours=1)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    """KT took pictures of A01 (L2, she said) and A02 (L1), and one of A03 without a stage."""
    file = cohort_file(tmp_path)
    names = [keep(file.path, encoded(leaf(shade=shade))) for shade in (0, 40, 80)]
    looks = [
        Observation("A01", TAKEN, "L2", by="KT", photo=names[0]),
        Observation("A02", TAKEN, "L1", by="KT", photo=names[1]),
        Observation("A03", TAKEN, same=True, by="KT", photo=names[2]),
    ]
    file.record([telling(looks)], NOW)
    return replace(desk_over(tmp_path), photos=True)


def offered(desk: Desk) -> dict[str, str]:
    """The records that the keeper may ask about, by their words."""
    page = keeper(desk).get("/second-look").text
    return {
        words.split(",")[0]: number
        for number, words in re.findall(r'name="record" value="(\d+)"> ([^<]*)<', page)
    }


def ask(desk: Desk, *codes: str) -> Any:
    records = [number for code, number in offered(desk).items() if code in codes]
    return keeper(desk).post("/second-look/ask", data={"cohort": "warm", "record": records})


def question(page: str) -> str | None:
    found = re.search(r'name="question" value="(\d+)"', page)
    return found[1] if found else None


def answer(browser: Browser, stage: str, number: str | None = None, do: str = "say") -> Any:
    number = number or question(browser.get("/second-look").text)
    told = {"question": number or "", "stage": stage, "do": do}
    return browser.post("/second-look", data=told)


def looker(desk: Desk, initials: str = "MB") -> Browser:
    return joined(desk, Role.LOOKER, initials)


def seconds(desk: Desk) -> list[tuple[str, str | None, str | None]]:
    log = CohortFile(desk.shelf.path("warm")).read()
    return [
        (each.individual, each.stage, each.by)
        for each in log.all_observations
        if each.note == "second look, at a picture"
    ]


def test_only_pictures_of_which_one_person_said_a_stage_are_asked_about(desk: Desk) -> None:
    assert sorted(offered(desk)) == ["A01", "A02"]


def test_it_shows_the_picture_and_nothing_that_was_said_of_it(desk: Desk) -> None:
    assert ask(desk, "A01").status_code == 303
    page = looker(desk).get("/second-look").text
    photo = CohortFile(desk.shelf.path("warm")).read().checks["A01"][-1].photo
    assert f"/cohort/warm/photo/{photo}.jpg" in page
    assert "A01" not in page
    assert "KT" not in page
    assert " selected" not in page
    stages = re.findall(r'<option value="(\w*)"', page)
    assert stages == ["", *desk.shelf.notebook("warm").log.cohort.species.codes]


def test_the_answer_is_a_look_at_the_moment_of_the_picture_and_agreement_pairs_it(
    desk: Desk,
) -> None:
    ask(desk, "A01", "A02")
    assert Notebook(desk.shelf.path("warm")).agreement().n == 0
    browser = looker(desk)
    for _ in range(2):
        assert answer(browser, "L2").status_code == 303
    assert sorted(seconds(desk)) == [("A01", "L2", "MB"), ("A02", "L2", "MB")]
    log = CohortFile(desk.shelf.path("warm")).read()
    assert {each.at for each in log.all_observations if each.by == "MB"} == {TAKEN}
    found = Notebook(desk.shelf.path("warm")).agreement()
    assert (found.n, found.agreed) == (2, 1)
    (pair,) = found.pairs
    assert pair.observers == ("KT", "MB")
    assert [each.individual for each in found.differences] == ["A02"]
    assert question(browser.get("/second-look").text) is None
    assert offered(desk) == {}


def test_who_took_the_picture_is_not_asked(desk: Desk) -> None:
    ask(desk, "A01")
    mine = looker(desk, "KT")
    assert question(mine.get("/second-look").text) is None
    (number,) = [each.number for each in desk.second_looks.waiting()]
    refused = answer(mine, "L2", str(number))
    assert refused.status_code == 400
    assert "you said yourself" in refused.text
    assert seconds(desk) == []


def test_who_cannot_tell_leaves_it_to_others(desk: Desk) -> None:
    ask(desk, "A01")
    one = looker(desk)
    assert answer(one, "", do="pass").status_code == 303
    assert question(one.get("/second-look").text) is None
    assert seconds(desk) == []
    assert answer(looker(desk, "PQ"), "L2").status_code == 303
    assert seconds(desk) == [("A01", "L2", "PQ")]


def test_who_has_no_initials_says_them_first(desk: Desk) -> None:
    ask(desk, "A01")
    refused = answer(keeper(desk), "L2")
    assert refused.status_code == 400
    assert "say your initials first" in refused.text
    assert '<option value="L2" selected>' in refused.text
    assert seconds(desk) == []


def test_two_who_answer_at_once_are_one_look(desk: Desk) -> None:
    ask(desk, "A01")
    one, other = looker(desk), looker(desk, "PQ")
    number = question(one.get("/second-look").text)
    assert question(other.get("/second-look").text) == number
    assert answer(one, "L2", number).status_code == 303
    late = answer(other, "L1", number)
    assert late.status_code == 400
    assert "answered that one already" in late.text
    assert seconds(desk) == [("A01", "L2", "MB")]


@pytest.mark.parametrize("stage", ["", "L9", "<b>"])
def test_what_is_no_stage_is_told_and_asked_again(desk: Desk, stage: str) -> None:
    ask(desk, "A01")
    refused = answer(looker(desk), stage)
    assert refused.status_code == 400
    assert "choose a stage" in refused.text
    assert question(refused.text) is not None
    assert seconds(desk) == []


@pytest.mark.parametrize("number", ["", "x", "0", "99", "9" * 20, "²"])
def test_a_question_that_nobody_asked_is_refused(desk: Desk, number: str) -> None:
    told = {"question": number, "stage": "L2", "do": "say"}
    assert looker(desk).post("/second-look", data=told).status_code == 400
    assert seconds(desk) == []


def test_the_keeper_asks_about_pictures_alone_and_nobody_else_does(desk: Desk) -> None:
    records = list(offered(desk).values())
    form = {"cohort": "warm", "record": records}
    assert looker(desk).post("/second-look/ask", data=form).status_code == 403
    assert guest(desk).get("/second-look").status_code == 403
    assert "Ask somebody about" not in looker(desk).get("/second-look").text
    for wrong in ({"cohort": "warm"}, {"cohort": "warm", "record": ["1"]}):
        assert keeper(desk).post("/second-look/ask", data=wrong).status_code == 400
    assert keeper(desk).post("/second-look/ask", data=form | {"cohort": "no"}).status_code == 404
    assert desk.second_looks.waiting() == []


def test_a_look_that_was_struck_out_is_asked_about_no_more(desk: Desk) -> None:
    number = int(offered(desk)["A01"])
    ask(desk, "A01")
    CohortFile(desk.shelf.path("warm")).strike([number], [], Mark(NOW, "a face in it"))
    assert question(looker(desk).get("/second-look").text) is None
    (waiting,) = desk.second_looks.waiting()
    assert answer(looker(desk), "L2", str(waiting.number)).status_code == 400


def test_a_shelf_without_pictures_has_no_such_page_in_sight(desk: Desk) -> None:
    assert "/second-look" in looker(desk).get("/").text
    without = replace(desk, photos=False)
    assert "/second-look" not in looker(without).get("/").text
    assert "No pictures are kept" in looker(without).get("/second-look").text


def test_the_same_picture_waits_once() -> None:
    looks = SecondLooks()
    assert looks.ask("warm", [3, 3, 4]) == 2
    assert looks.ask("warm", [4, 5]) == 1
    assert looks.ask("cool", [4]) == 1
    assert [(each.cohort, each.record) for each in looks.waiting()] == [
        ("warm", 3), ("warm", 4), ("warm", 5), ("cool", 4),
    ]  # fmt: skip


def test_pictures_on_which_two_agree_can_be_practised_on(desk: Desk) -> None:
    names = ("A01", "A02")
    assert looker(desk).get("/cohort/warm/practice").status_code == 400
    photos = [keep(desk.shelf.path("warm"), encoded(leaf(shade=shade))) for shade in (90, 130)]
    more = [
        Observation(code, TAKEN + timedelta(minutes=number), "L1", by="KT", photo=photo)
        for number, photo in enumerate(photos, start=1)
        for code in names
    ]
    agreed = [replace(each, by="MB", photo=None) for each in more[:3]]
    other = replace(more[3], by="MB", photo=None, stage="L2")
    file = CohortFile(desk.shelf.path("warm"))
    file.record([telling([*more, *agreed, other])], NOW)
    page = looker(desk).get("/cohort/warm/practice").text
    (data,) = re.findall(r'id="data">(.*?)</script>', page, flags=re.S)
    asked = json.loads(data)
    assert asked["round"] == len(asked["animals"]) == 3
    assert {each["stage"] for each in asked["animals"]} == {"L1"}
    assert {each["photo"] for each in asked["animals"]} == {
        f"/cohort/warm/photo/{photo}.jpg" for photo in photos
    }
    assert 'href="/cohort/warm/practice"' in looker(desk).get("/practice").text
