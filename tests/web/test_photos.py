"""Pictures kept with looks: sent, named, shown to those who look, where the keeper lets them."""

import re
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from rearlog.records.log import Mark
from rearlog.store.cohort_file import CohortFile
from rearlog.store.photos import folder_of, keep
from rearlog.web.desk import Desk
from rearlog.web.pages import photos
from tests.pictures import CAMERA, NO_PICTURES, decoded, encoded, leaf, png_header, telling_exif
from tests.web.visiting import NOW, Browser, cohort_file, desk_over, guest, keeper, looker

JSON = {"Accept": "application/json", "Sec-Fetch-Site": "same-origin"}


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    cohort_file(tmp_path)
    cohort_file(tmp_path, "cool")
    return replace(desk_over(tmp_path), photos=True)


def send(browser: Browser, content: bytes, name: str = "warm") -> Any:
    return browser.post(f"/cohort/{name}/photo", data=content, headers=JSON)


def tell(browser: Browser, picture: str, token: str = "t" * 16, **said: Any) -> Any:
    look = {"individual": "A01", "at": NOW.isoformat(), "token": token, "photo": picture}
    body = {"sent": NOW.isoformat(), "looks": [look | (said or {"stage": "L2"})]}
    return browser.post("/cohort/warm/looks", json=body, headers=JSON).json["answers"][0]


def files(desk: Desk, name: str = "warm") -> list[str]:
    folder = folder_of(desk.shelf.path(name))
    return sorted(each.name for each in folder.iterdir()) if folder.exists() else []


def test_a_picture_is_sent_named_by_a_look_and_shown(desk: Desk) -> None:
    browser = looker(desk)
    told = send(browser, encoded(leaf(), exif=telling_exif(6))).json["photo"]
    assert tell(browser, told)["problems"] == []
    assert desk.shelf.notebook("warm").log.checks["A01"][-1].photo == told
    answer = browser.get(f"/cohort/warm/photo/{told}.jpg")
    assert answer.status_code == 200
    assert answer.content_type == "image/jpeg"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert decoded(answer.data).size == (48, 64)
    assert CAMERA.encode() not in answer.data
    again = {"If-None-Match": answer.headers["ETag"]}
    assert browser.get(f"/cohort/warm/photo/{told}.jpg", headers=again).status_code == 304


def test_what_is_kept_is_the_picture_made_anew_and_nothing_else(desk: Desk) -> None:
    told = send(looker(desk), encoded(leaf(), "PNG", exif=telling_exif())).json["photo"]
    assert files(desk) == [f"{told}.jpg"]
    content = (folder_of(desk.shelf.path("warm")) / f"{told}.jpg").read_bytes()
    assert dict(decoded(content).getexif()) == {}
    assert send(looker(desk), encoded(leaf(), "PNG", exif=telling_exif())).json["photo"] == told
    assert len(files(desk)) == 1


@pytest.mark.parametrize("what", [*NO_PICTURES, "a bomb"])
def test_what_is_no_picture_is_refused_and_nothing_is_written(desk: Desk, what: str) -> None:
    content = png_header(60_000, 60_000) if what == "a bomb" else NO_PICTURES[what]
    answer = send(looker(desk), content)
    assert answer.status_code == 400
    assert "picture" in answer.json["problems"][0]["message"]
    assert files(desk) == []


def test_what_is_too_large_is_refused_unread(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "LARGEST_BYTES", 1000)
    assert send(looker(desk), encoded(leaf(200, 200), "PNG") + bytes(1000)).status_code == 413
    assert files(desk) == []


def test_the_keeper_lets_it_or_not(desk: Desk) -> None:
    without = replace(desk, photos=False)
    answer = send(looker(without), encoded(leaf()))
    assert answer.status_code == 400
    assert "no pictures are kept" in answer.json["problems"][0]["message"]
    assert files(desk) == []
    assert '"photos": false' in looker(without).get("/cohort/warm/round").text
    assert '"photos": true' in looker(desk).get("/cohort/warm/round").text


def test_a_look_whose_picture_is_not_here_is_not_taken(desk: Desk) -> None:
    elsewhere = keep(desk.shelf.path("cool"), encoded(leaf()))
    for name in ("0" * 64, elsewhere):
        answer = tell(looker(desk), name)
        assert answer["number"] is None
        assert answer["problems"][0]["message"] == "its picture is not here"
    assert tell(looker(desk), "../cool.photos/x")["problems"] != []
    assert len(desk.shelf.notebook("warm").log.checks["A01"]) == 1


def test_guests_see_no_picture(desk: Desk) -> None:
    told = send(looker(desk), encoded(leaf())).json["photo"]
    tell(looker(desk), told)
    assert guest(desk).get(f"/cohort/warm/photo/{told}.jpg").status_code == 403
    assert send(guest(desk), encoded(leaf())).status_code == 403
    assert told not in guest(desk).get("/report/warm").text


@pytest.mark.parametrize(
    "which",
    ["x", "..", "../warm.json", "%2e%2e%2fwarm.json", "..%2fcool.photos%2f", "a" * 64, "A" * 64],
)
def test_no_other_file_is_shown(desk: Desk, which: str) -> None:
    tell(looker(desk), send(looker(desk), encoded(leaf())).json["photo"])
    answer = looker(desk).get(f"/cohort/warm/photo/{which}.jpg")
    assert answer.status_code in (404, 421)


def test_only_pictures_that_a_look_of_this_cohort_names_are_shown(desk: Desk) -> None:
    browser = looker(desk)
    told = send(browser, encoded(leaf())).json["photo"]
    assert browser.get(f"/cohort/warm/photo/{told}.jpg").status_code == 404
    number = tell(browser, told)["number"]
    assert browser.get(f"/cohort/warm/photo/{told}.jpg").status_code == 200
    assert browser.get(f"/cohort/cool/photo/{told}.jpg").status_code == 404
    CohortFile(desk.shelf.path("warm")).strike([number], [], Mark(NOW, "a face in it"))
    assert browser.get(f"/cohort/warm/photo/{told}.jpg").status_code == 404


def test_a_damaged_picture_is_not_shown(desk: Desk) -> None:
    browser = looker(desk)
    told = send(browser, encoded(leaf())).json["photo"]
    tell(browser, told)
    file = folder_of(desk.shelf.path("warm")) / f"{told}.jpg"
    file.write_bytes(b"<script>alert(1)</script>")
    assert browser.get(f"/cohort/warm/photo/{told}.jpg").status_code == 404


def test_a_page_shows_the_pictures_from_egg_to_adult(desk: Desk) -> None:
    browser = keeper(desk)
    assert "Its pictures" not in browser.get("/cohort/warm/everyone/A01").text
    file = CohortFile(desk.shelf.path("warm"))
    names = []
    for hours, said in ((3, {"stage": "L2"}), (1, {"same": True}), (2, {"stage": "L2"})):
        told = send(browser, encoded(leaf(shade=10 * hours))).json["photo"]
        names.append((hours, told))
        at = {"at": (NOW - timedelta(hours=hours)).isoformat()}
        assert tell(browser, told, f"token-of-{hours}", **said, **at)["problems"] == []
    page = browser.get("/cohort/warm/everyone/A01").text
    shown = re.findall(r'<img src="/cohort/warm/photo/(\w+)\.jpg" alt="([^"]*)"', page)
    assert [each[0] for each in shown] == [told for _, told in sorted(names, reverse=True)]
    assert all(each[1].startswith("A01, L2, ") for each in shown)
    assert "Its pictures" not in browser.get("/cohort/warm/everyone/A02").text
    assert len(file.read().checks["A01"]) == 4


def test_a_round_shows_which_look_has_a_picture(desk: Desk) -> None:
    browser = looker(desk)
    told = send(browser, encoded(leaf())).json["photo"]
    tell(browser, told)
    cards = browser.get("/cohort/warm/round/state").json["cards"]
    assert [look["photo"] for look in cards[0]["looks"]] == [told]
