"""Each answer of the browser leads to what its numbers are."""

from html import unescape
from pathlib import Path

import pytest

from rearlog.present.explaining import explain
from rearlog.web.answers import QUESTIONS
from rearlog.web.door import Role
from rearlog.web.pages.words import PART_OF
from tests.builders import moment, tiny_log
from tests.web.shelves import BASE, Classroom, put


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    put(tmp_path, tiny_log({"1": "egg L1 L2 pupa adult", "2": "egg L1 dead"}))
    return Classroom(tmp_path, moment(9))


@pytest.mark.parametrize("key", [each.key for each in QUESTIONS])
def test_an_answer_leads_to_what_its_numbers_are(room: Classroom, key: str) -> None:
    client = room.joined(Role.LOOKER)
    page = client.get(f"/cohort/tiny/answers/{key}", base_url=BASE).text
    shown = "What these numbers are" in page  # where there is an answer
    assert shown == (key not in ("deadline", "heat", "reproduction"))
    assert page.count(f'href="/words/{key}"') == shown
    told = client.get(f"/words/{key}", base_url=BASE)
    assert told.status_code == 200
    text = unescape(told.text)
    meanings = explain(PART_OF.get(key, key)).meanings
    assert len(meanings) > 5
    for each in meanings:
        assert each.says in text
        assert (each.formula or "") in text


def test_there_are_no_words_of_what_is_no_answer(room: Classroom) -> None:
    assert room.joined(Role.LOOKER).get("/words/nothing", base_url=BASE).status_code == 404
    assert room.stranger().get("/words/durations", base_url=BASE).status_code == 303
