"""The report for guests and everybody, and the data for whoever wants them."""

import re
from datetime import timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from rearlog.cli.main import main
from rearlog.notebook import Notebook
from rearlog.present.contents import contents
from rearlog.present.page import drawn, page, told
from rearlog.records.log import DayExtremes
from rearlog.store.cohort_file import CohortFile
from rearlog.web.door import Role
from rearlog.web.routes import ROUTES
from tests.builders import START, moment, small_profile, tiny_log
from tests.web.shelves import BASE, Classroom, put


@pytest.fixture
def room(tmp_path: Path) -> Classroom:
    for name, last in (("tiny", "L1"), ("sill-2", "dead:mould")):
        log = tiny_log({"1": f"egg egg L1 {last}", "2": "egg egg egg L1"}, name=name)
        checks = [replace(each, by="KT") for each in log.all_observations]
        put(tmp_path, replace(log, all_observations=tuple(checks)))
    return Classroom(tmp_path, moment(4))


def get(client: Any, address: str) -> Any:
    return client.get(address, base_url=BASE)


def links(page: str) -> set[str]:
    return {each.partition("#")[0] for each in re.findall(r'href="([^"]*)"', page)}


HERE = {"Sec-Fetch-Site": "same-origin"}
WAYS = ("", "?for=parents")


def test_a_guest_is_led_to_the_report_and_nowhere_else(room: Classroom) -> None:
    guest = room.joined(Role.GUEST)
    assert get(guest, "/").location == "/report"
    page = get(guest, "/report").text
    own = {each for each in links(page) if not each.startswith("/static/")}
    reports = {f"/report/{which}{way}" for which in ("tiny", "sill-2", "all") for way in WAYS}
    assert own == {"", "/", "/report"} | reports
    assert "<form" not in page[page.index("<main") : page.index("</main")]


def test_a_guest_reaches_the_report_alone(room: Classroom) -> None:
    guest = room.joined(Role.GUEST)
    parts = {"<name>": "tiny", "<which>": "tiny", "<kind>": "survival"}
    for route in ROUTES:
        address = route.rule
        for part, value in parts.items():
            address = address.replace(part, value)
        if route.least is not None and route.method == "GET" and "<" not in address:
            expected = route.least is Role.GUEST
            assert (get(guest, address).status_code < 400) == expected, address
            assert not expected or address == "/" or address.startswith("/report")


@pytest.mark.parametrize("which", ["tiny", "all"])
def test_the_report_is_served_under_its_own_policy(room: Classroom, which: str) -> None:
    answer = get(room.joined(Role.GUEST), f"/report/{which}")
    (meta,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]*)"', answer.text)
    assert answer.headers["Content-Security-Policy"] == unescape(meta)
    assert "<h2" in answer.text
    assert ("sill-2" in answer.text) == (which == "all")


def test_the_report_is_the_page_that_the_command_writes_but_for_commands(
    room: Classroom, tmp_path: Path
) -> None:
    served = get(room.joined(Role.GUEST), "/report/sill-2").text
    made = drawn(contents([Notebook(tmp_path / "sill-2.json")], moment(4)))
    assert served == told(made, in_browser=True)


def test_a_report_of_the_browser_names_no_command(tmp_path: Path) -> None:
    """Cup 2 was taken for an L2, and of two days no temperature is on record."""
    kept = [DayExtremes((START + timedelta(days)).date(), 20, 22) for days in (0, 3)]
    lives = {"1": "egg egg L1 L1 L1", "2": "egg L1 L2 L1 L1"}
    doubtful = tiny_log(lives, profile=small_profile(heat={"L1": 30.0}), temperatures=(*kept,))
    path = put(tmp_path, doubtful)
    room = Classroom(tmp_path, moment(4))
    asked = {"which": "tiny", "for": "lab", "title": "", "words": "", "keep": "yes"}
    written = page(contents([Notebook(path)], moment(4)))
    kept_file = room.joined(Role.LOOKER).post("/report", base_url=BASE, headers=HERE, data=asked)
    for here in (get(room.joined(Role.GUEST), "/report/tiny").text, kept_file.text):
        assert named(here) == set()
        assert "to settle it: correct its stage to L1 on 2026-03-11, on its own page." in here
        assert "No temperature on record for 2 days (2026-03-10 to 2026-03-11)" in here
    assert named(written) == {"rearlog correct", "rearlog temps"}


def named(page: str) -> set[str]:
    """The commands that a page names."""
    return {*re.findall(r"rearlog [a-z]+(?= )", page)}


def test_it_is_told_to_whom_it_is_meant_for(room: Classroom) -> None:
    guest = room.joined(Role.GUEST)
    usual, parents, lab = (
        get(guest, f"/report/tiny{way}").text for way in ("", "?for=parents", "?for=lab")
    )
    assert '<details class="curious" open' in usual
    assert '<details class="curious">' in parents
    assert "<details>" not in lab
    assert get(guest, "/report/tiny?for=nobody").status_code == 400


def test_a_title_and_words_of_ones_own_are_shown_and_not_kept(
    room: Classroom, tmp_path: Path
) -> None:
    looker = room.joined(Role.LOOKER)
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    told = {"which": "all", "for": "parents", "title": "Our <class>"}
    told["words"] = "# We\r\n\r\n*saw* <script>alert(1)</script> [them](https://example.org)"
    answer = looker.post("/report", base_url=BASE, headers=HERE, data=told)
    assert answer.status_code == 200
    assert "<h1>Our &lt;class&gt;</h1>" in answer.text
    assert "<em>saw</em> &lt;script&gt;alert(1)&lt;/script&gt;" in answer.text
    assert '<details class="curious">' in answer.text
    (meta,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]*)"', answer.text)
    assert answer.headers["Content-Security-Policy"] == unescape(meta)
    kept = looker.post(
        "/report", base_url=BASE, headers=HERE, data={**told, "which": "tiny", "keep": "yes"}
    )
    assert kept.headers["Content-Disposition"] == "attachment; filename=tiny.html"
    assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == before
    assert "Our" not in get(looker, "/report/all").text


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"which": "../tiny"}, "choose a cohort"),
        ({"for": "nobody"}, "say who is meant"),
        ({"title": "a" * 201}, "a title has up to 200 letters"),
        ({"words": "a" * 40_001}, "more than 40 kB"),
    ],
)
def test_what_cannot_be_told_is_shown_again(
    room: Classroom, wrong: dict[str, str], said: str
) -> None:
    told = {"which": "tiny", "for": "lab", "title": "Ours", "words": "We & they", **wrong}
    answer = room.joined(Role.LOOKER).post("/report", base_url=BASE, headers=HERE, data=told)
    assert answer.status_code == 400
    assert said in answer.text
    assert "words" in wrong or "We &amp; they" in answer.text
    assert "title" in wrong or 'value="Ours"' in answer.text


def test_a_report_is_of_the_desk_s_day(room: Classroom) -> None:
    """The room is on its fifth day, whatever day it is elsewhere."""
    text = get(room.joined(Role.GUEST), "/report/tiny").text
    assert f"Written on {moment(4):%Y-%m-%d}" in text
    assert "<strong>2 of 2</strong> still growing" in text
    assert "How they are" in text


def test_a_report_follows_the_log(room: Classroom, tmp_path: Path) -> None:
    guest = room.joined(Role.GUEST)
    before = get(guest, "/report/tiny").text
    assert get(guest, "/report/tiny").text == before
    put_more = tiny_log({"1": "egg egg L1 L2 L2"}, name="tiny")
    (tmp_path / "tiny.json").unlink()
    put(tmp_path, put_more)
    assert get(guest, "/report/tiny").text != before


def test_nothing_but_cohorts_is_reported(room: Classroom) -> None:
    guest = room.joined(Role.GUEST)
    assert get(guest, "/report/nobody").status_code == 404
    assert get(guest, "/report/..%2Ftiny").status_code == 404


def test_an_empty_shelf_says_so(tmp_path: Path) -> None:
    guest = Classroom(tmp_path, START).joined(Role.GUEST)
    assert "nothing to report yet" in get(guest, "/report").text
    assert get(guest, "/report/all").status_code == 400


def test_the_keeper_is_told_what_a_report_shows_of_people(room: Classroom) -> None:
    shown = "causes of death in your words"
    assert shown in get(room.keeper(), "/report").text
    assert shown not in get(room.joined(Role.LOOKER), "/report").text


@pytest.mark.parametrize(
    ("query", "options"),
    [
        ("cohort=tiny&names=yes&notes=yes", []),
        ("cohort=tiny&names=yes&licence=CC-BY-4.0", ["--no-notes", "--licence", "CC-BY-4.0"]),
        ("cohort=tiny&kind=darwin-core", ["--no-names", "--no-notes", "--darwin-core"]),
        ("cohort=tiny&names=yes&notes=yes&title=Moths", ["--title", "Moths"]),
        ("cohort=tiny&place=yes", ["--no-names", "--no-notes", "--blur", "0.1"]),
    ],
)
def test_open_data_are_those_of_the_command(
    room: Classroom,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    query: str,
    options: list[str],
) -> None:
    CohortFile(tmp_path / "tiny.json").describe({}, latitude=51.5074, longitude=-0.1278)
    options = [*options] if "--no-names" in options else [*options, "--blur", "0.1"]
    monkeypatch.setattr("rearlog.records.times.now", lambda _zone: room.now)  # one day for both
    out = tmp_path / "out.zip"
    command = ["export", str(tmp_path / "tiny.json"), "-o", str(out), "-q", *options]
    main(command, standalone_mode=False)
    answer = get(room.keeper(), f"/share.zip?{query}")
    assert answer.content_type == "application/zip"
    kind = "darwin-core" if "darwin" in query else "data"
    assert answer.headers["Content-Disposition"] == f"attachment; filename=tiny-{kind}.zip"
    assert answer.data == out.read_bytes()


def test_the_keeper_sees_first_what_the_data_tell(room: Classroom) -> None:
    keeper = room.keeper()
    page = get(keeper, "/share?cohort=tiny&names=yes").text
    assert "KT" in page
    assert "/share.zip?cohort=tiny&amp;names=yes" in page
    assert "Keep the archive" not in get(keeper, "/share").text


@pytest.mark.parametrize(
    ("query", "message"),
    [
        ("licence=mine&cohort=tiny", "that licence is not known here"),
        ("cohort=nobody", "choose at least one cohort"),
        (f"cohort=tiny&title={'x' * 201}", "a title has up to 200 letters"),
    ],
)
def test_wrong_terms_are_refused(room: Classroom, query: str, message: str) -> None:
    keeper = room.keeper()
    for address in ("/share", "/share.zip"):
        answer = get(keeper, f"{address}?{query}")
        assert (answer.status_code, message in answer.text) == (400, True)


def test_only_the_keeper_gives_data_away(room: Classroom) -> None:
    for role in (Role.GUEST, Role.LOOKER):
        client = room.joined(role)
        assert get(client, "/share.zip?cohort=tiny&names=yes").status_code == 403
        assert "/share" not in links(get(client, "/report").text)
