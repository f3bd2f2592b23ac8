"""Practice: what was mistaken is the person's own, and of all together the keeper's."""

import json
import re
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from rearlog.cli.main import main
from rearlog.web.door import Role
from tests.builders import START, tiny_log
from tests.web.shelves import BASE, SAME_SITE, Classroom, put


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    put(tmp_path, tiny_log({"1": "egg egg"}))
    return Classroom(tmp_path, START + timedelta(days=2))


def told(client: Any, answers: Any) -> int:
    path = "/practice/painted-lady/answers"
    answer = client.post(path, json={"answers": answers}, headers=SAME_SITE, base_url=BASE)
    return int(answer.status_code)


def test_the_page_asks_rounds_of_ten(room: Classroom) -> None:
    page = room.joined(Role.LOOKER).get("/practice/painted-lady", base_url=BASE).text
    (data,) = re.findall(r'id="data">(.*?)</script>', page, flags=re.S)
    asked = json.loads(data)
    assert len(asked["animals"]) % asked["round"] == 0
    assert {each["stage"] for each in asked["animals"]} <= set(asked["choices"])
    assert 'style="' not in page


def test_the_keeper_sees_what_all_mistook_and_nobody_else_does(room: Classroom) -> None:
    before = (room.folder / "tiny.json").read_bytes()
    looker = room.joined(Role.LOOKER)
    right, wrong = {"shown": "L3", "said": "L3"}, {"shown": "L3", "said": "L4", "sure": True}
    assert told(looker, [right, wrong, wrong]) == 204
    page = room.keeper().get("/practice", base_url=BASE).text
    assert "1 of 3 were told right." in page
    assert "KT" not in page.split("<main")[1]
    assert "told right" not in looker.get("/practice", base_url=BASE).text
    assert (room.folder / "tiny.json").read_bytes() == before


@pytest.mark.parametrize(
    "answers", [None, "L3", [7], [{"shown": "L3"}], [{"shown": "L3", "said": "L99"}], [{}] * 51]
)
def test_what_is_no_answer_is_refused(room: Classroom, answers: Any) -> None:
    assert told(room.joined(Role.LOOKER), answers) == 400
    assert "told right" not in room.keeper().get("/practice", base_url=BASE).text


def test_the_page_for_a_device_without_a_network_asks_for_nothing(tmp_path: Path) -> None:
    words = ["practice", "--species", "monarch", "--seed", "7", "-o"]
    for name in ("one.html", "two.html"):
        assert CliRunner().invoke(main, [*words, str(tmp_path / name)]).exit_code == 0
    page = (tmp_path / "one.html").read_text(encoding="utf-8")
    assert page == (tmp_path / "two.html").read_text(encoding="utf-8")
    assert "default-src 'none'" in page
    assert re.findall(r'(?:src|href)="(?!#)', page) == []
