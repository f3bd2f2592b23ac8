"""Nobody gets in who should not: every route, method and visitor, and what attackers send."""

from __future__ import annotations

import functools
import json
import logging
import re
from collections.abc import Iterator
from datetime import timedelta
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urljoin, urlsplit

import pytest
from werkzeug.exceptions import HTTPException
from werkzeug.routing import RequestRedirect
from werkzeug.test import run_wsgi_app

from rearlog.records.errors import StoreError, UsageError
from rearlog.records.incoming import telling
from rearlog.records.log import Observation
from rearlog.store import storage
from rearlog.store.cohort_file import CohortFile
from rearlog.web import app as application
from rearlog.web.app import create_app
from rearlog.web.desk import Desk
from rearlog.web.door import CODE_LENGTH, PERIOD_SECONDS, WRONG_BY_ALL, Door, Role, TooManyTries
from rearlog.web.gates import COOKIE
from rearlog.web.routes import ROUTES, Route, may
from tests.web.visiting import (
    ELSEWHERE,
    HOST,
    NOW,
    SHARED,
    Browser,
    cohort_file,
    desk_over,
    ended_looker,
    guest,
    joined,
    keeper,
    looker,
    stranger,
    strayed_keeper,
)

METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS")
VISITORS = {
    "stranger": (stranger, None),
    "guest": (guest, Role.GUEST),
    "looker": (looker, Role.LOOKER),
    "keeper": (keeper, Role.KEEPER),
    "ended looker": (ended_looker, None),
    "strayed keeper": (strayed_keeper, None),
}
PARTS = {
    "name": "warm",
    "secret": "wrong",
    "code": "A01",
    "individual": "A01",
    "which": "warm",
    "species": "painted-lady",
    "answer": "durations",
    "page": "first-week",
}
"""What stands for the parts of an address; 1 for those that are not named here."""

EVERY_ROUTE = pytest.mark.parametrize(
    "route", ROUTES, ids=lambda each: f"{each.method} {each.rule}"
)
EVERY_PAGE = pytest.mark.parametrize(
    "route", [each for each in ROUTES if each.method == "GET"], ids=lambda each: each.rule
)
EVERY_VISITOR = pytest.mark.parametrize("who", VISITORS)


def address_of(route: Route) -> str:
    """An address of a route, with an example for each of its parts."""
    if route.rule.startswith("/static/"):
        return "/static/web.css"
    return re.sub(r"<(?:[^:>]*:)?(\w+)>", lambda part: PARTS.get(part[1], "1"), route.rule)


def files_of(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and ".rearlog" not in path.parts
    }


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    folder = tmp_path / "shelf"
    folder.mkdir()
    cohort_file(folder)
    return desk_over(folder)


# ---- every route


def wanted(route: Route, method: str, role: Role | None) -> int:
    """What the table says to this method at the address of a route; 200: its view is reached."""
    answered = [
        each
        for each in ROUTES
        if each.rule == route.rule and each.method == ("GET" if method == "HEAD" else method)
    ]
    if not answered:
        return 405
    (found,) = answered
    if found.least is None or (role is not None and role >= found.least):
        return 200
    if role is not None:
        return 403
    return 303 if method == "GET" else 401


@EVERY_ROUTE
def test_a_view_is_reached_by_those_whom_the_table_names_and_by_nobody_else(
    route: Route, desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    reached: list[str] = []

    def in_place_of(each: Route) -> Route:
        @functools.wraps(each.view)
        def view(_desk: Desk, **_parts: str) -> str:
            reached.append(each.name)
            return "reached"

        return Route(each.rule, view, each.least, each.method)

    monkeypatch.setattr(application, "ROUTES", tuple(map(in_place_of, ROUTES)))
    for who, (made, role) in VISITORS.items():
        browser = made(desk)
        for method in METHODS:
            reached.clear()
            answer = browser.ask(method, address_of(route))
            told = f"{method} {address_of(route)} by a {who}"
            assert answer.status_code == wanted(route, method, role), told
            assert len(reached) == (answer.status_code == 200), told
            if answer.status_code == 303:
                assert answer.headers["Location"] == "/join", told


@EVERY_ROUTE
def test_what_is_refused_leaves_every_file_as_it_was(route: Route, desk: Desk) -> None:
    before = files_of(desk.shelf.folder)
    for made, role in VISITORS.values():
        browser = made(desk)
        for method in METHODS:
            if wanted(route, method, role) != 200:
                said = {"individual": "A01", "at": NOW.isoformat(), "token": "t" * 16, "same": True}
                body = {"sent": NOW.isoformat(), "looks": [said]}
                browser.ask(method, address_of(route), json=body)
                browser.ask(method, address_of(route), data={"name": "new", "who": "all"})
    assert files_of(desk.shelf.folder) == before


class Links(HTMLParser):
    """Where a page leads to: method and address."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[tuple[str, str]] = []
        self.method = "GET"
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "form":
            self.method = (told.get("method") or "get").upper()
        for name in ("href", "src", "action", "formaction"):
            if told.get(name) is not None:
                method = self.method if name.endswith("action") else "GET"
                self.found.append((method, told[name] or ""))


def inner(page: str, base: str) -> Iterator[tuple[str, str]]:
    for method, link in Links(page).found:
        parts = urlsplit(urljoin(f"http://{HOST}{base}", link))
        if parts.scheme in ("http", "https") and parts.netloc == HOST and not link.startswith("#"):
            yield method, parts.path


@EVERY_VISITOR
@EVERY_PAGE
def test_a_page_can_be_read_changes_no_file_and_leads_nowhere_that_its_reader_may_not_go(
    route: Route, who: str, desk: Desk
) -> None:
    made, role = VISITORS[who]
    browser = made(desk)
    places = browser.client.application.url_map.bind(HOST)
    before = files_of(desk.shelf.folder)
    answer = browser.get(address_of(route))
    assert answer.status_code < 500, answer.text
    assert files_of(desk.shelf.folder) == before
    if answer.mimetype != "text/html" or 300 <= answer.status_code < 400:
        return
    for method, path in inner(answer.text, address_of(route)):
        try:
            endpoint, _ = places.match(path, method=method)
        except RequestRedirect:
            pytest.fail(f"{method} {path} is not where it says")
        except HTTPException:
            pytest.fail(f"{method} {path} leads nowhere")
        assert may(role, endpoint), f"a {who} is shown {method} {path}"


def test_an_address_that_the_table_does_not_name_ends_the_start(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = create_app(desk)
    application.refuse_unknown(app)
    app.add_url_rule("/more", "more", lambda: "more")
    with pytest.raises(RuntimeError, match="/more"):
        application.refuse_unknown(app)


# ---- host, identity, origin, role, in this order


@pytest.mark.parametrize(
    ("host", "status"),
    [
        (HOST, 200),
        ("LOCALHOST:8477", 200),
        (SHARED, 200),
        ("127.0.0.1", 421),
        ("127.0.0.1:8478", 421),
        ("evil.example:8477", 421),
        ("127.0.0.1.evil.example:8477", 421),
        ("localhost:8477.", 421),
        ("[::1]:8477", 421),
        ("a b", 421),
        ("", 421),
    ],
)
def test_only_requests_that_name_this_server_are_answered(
    host: str, status: int, desk: Desk
) -> None:
    browser = keeper(desk)
    answer = browser.get("/join", environ_overrides={"HTTP_HOST": host})
    assert answer.status_code == status
    assert "evil" not in answer.text


def test_a_request_without_a_host_is_not_answered(desk: Desk) -> None:
    browser = keeper(desk)
    environ = browser.client.application.test_request_context("/join").request.environ
    environ.pop("HTTP_HOST")
    _, status, _ = run_wsgi_app(browser.client.application, environ)
    assert status == "421 MISDIRECTED REQUEST"


def test_each_gate_comes_before_the_next(desk: Desk) -> None:
    """One fault after the other is taken away: the first that is left is what is told."""
    cross = {"Sec-Fetch-Site": "cross-site"}
    path, elsewhere = "/people/end", {"HTTP_HOST": "evil.example"}
    nobody, somebody, master = stranger(desk), looker(desk), keeper(desk)
    assert nobody.post(path, headers=cross, environ_overrides=elsewhere).status_code == 421
    assert nobody.post(path, headers=cross).status_code == 403
    assert "no page of ours" in nobody.post(path, headers=cross).text
    assert nobody.post(path).status_code == 401
    assert "no page of ours" in somebody.post(path, headers=cross).text
    assert "not for you" in somebody.post(path).text
    assert "no page of ours" in master.post(path, headers=cross).text
    assert master.post(path, data={"who": "999"}).status_code == 303


@pytest.mark.parametrize(
    ("headers", "passes"),
    [
        ({"Sec-Fetch-Site": "same-origin"}, True),
        ({"Sec-Fetch-Site": "same-origin", "Origin": f"http://{HOST}"}, True),
        ({"Origin": f"http://{HOST}"}, True),
        ({"Origin": f"https://{HOST}"}, False),
        ({"Origin": "http://127.0.0.1:9000"}, False),
        ({"Origin": "http://evil.example"}, False),
        ({"Origin": "null"}, False),
        ({"Origin": ""}, False),
        ({"Sec-Fetch-Site": "none"}, False),
        ({"Sec-Fetch-Site": "same-site"}, False),
        ({"Sec-Fetch-Site": "cross-site"}, False),
        ({"Sec-Fetch-Site": "cross-site", "Origin": f"http://{HOST}"}, False),
        ({"Sec-Fetch-Site": "same-origin", "Origin": "null"}, False),
        ({"Sec-Fetch-Site": "same-origin", "Origin": "http://evil.example"}, False),
        ({"Referer": f"http://{HOST}/"}, False),
        ({}, False),
    ],
)
def test_what_changes_anything_comes_from_a_page_of_ours(
    headers: dict[str, str], passes: bool, desk: Desk
) -> None:
    answer = keeper(desk).post("/people/end", headers=headers, data={"who": "999"})
    assert answer.status_code == (303 if passes else 403)


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_another_site_may_link_to_a_page_but_not_take_it_in(site: str, desk: Desk) -> None:
    browser = keeper(desk)
    for mode, status in (("navigate", 200), ("no-cors", 403), ("cors", 403), ("same-origin", 403)):
        headers = {"Sec-Fetch-Site": site, "Sec-Fetch-Mode": mode}
        assert browser.get("/start", headers=headers).status_code == status


def test_a_keeper_is_one_on_this_machine_alone(desk: Desk) -> None:
    told = desk.door.enter(desk.door.secret(), "127.0.0.1")
    here, there = Browser(desk, "127.0.0.1", told), Browser(desk, ELSEWHERE, told)
    assert here.get("/people").status_code == 200
    assert there.get("/people").headers["Location"] == "/join"
    forwarded = {"X-Forwarded-For": "127.0.0.1", "Forwarded": "for=127.0.0.1"}
    assert there.get("/people", headers=forwarded).headers["Location"] == "/join"
    assert there.get(f"/enter/{desk.door.secret()}").status_code == 404


@pytest.mark.parametrize("told", ["x", "", "0" * 43, "é\ud800", "a" * 9000])
def test_a_pass_that_nobody_gave_is_nobodys(told: str, desk: Desk) -> None:
    assert desk.door.visitor(told) is None
    browser = Browser(desk, ELSEWHERE)
    headers = {"Cookie": f"{COOKIE}={told.encode(errors='replace').decode('latin-1')}"}
    assert browser.get("/people", headers=headers).headers["Location"] == "/join"


# ---- secrets, passes, codes


def test_the_address_opened_first_lets_the_keeper_in_once_and_is_gone_from_it(desk: Desk) -> None:
    path = f"/enter/{desk.door.secret()}"
    browser = Browser(desk)
    assert browser.ask("HEAD", path).status_code == 200
    answer = browser.get(path)
    assert (answer.status_code, answer.headers["Location"]) == (303, "/")
    assert answer.headers["Referrer-Policy"] == "no-referrer"
    assert answer.headers["Cache-Control"] == "no-store"
    (cookie,) = answer.headers.getlist("Set-Cookie")
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= {*cookie.split("; ")}
    assert "Domain" not in cookie
    again = Browser(desk).get(path)
    assert again.status_code == 403
    assert "Set-Cookie" not in again.headers


def test_a_pass_that_was_there_before_is_never_the_one_that_is_given(desk: Desk) -> None:
    """Whoever plants a cookie in another's browser does not know how that one comes in."""
    for path in (f"/enter/{desk.door.secret()}", None):
        browser = Browser(desk, told="planted")
        if path:
            answer = browser.get(path)
        else:
            form = {"code": desk.door.codes[Role.LOOKER], "initials": "MB"}
            answer = browser.post("/join", data=form)
        assert answer.status_code == 303
        assert "planted" not in answer.headers["Set-Cookie"]
        assert desk.door.visitor("planted") is None


def test_who_comes_in_again_has_one_pass(desk: Desk) -> None:
    browser = looker(desk)
    form = {"code": desk.door.codes[Role.LOOKER], "initials": "MB"}
    for _ in range(5):
        assert browser.post("/join", data=form).status_code == 303
    assert len(desk.door.visitors()) == 1
    assert browser.get("/cohort/warm/round").status_code == 200


def test_neither_secrets_nor_passes_are_remembered(desk: Desk) -> None:
    secret, used = desk.door.secret(), desk.door.secret()
    passes = [
        desk.door.enter(used, "127.0.0.1"),
        desk.door.join(desk.door.codes[Role.GUEST], "MB", ELSEWHERE),
    ]
    remembered = repr(vars(desk.door))
    assert not any(each in remembered for each in (secret, used, *passes))


def test_wrong_codes_make_their_address_wait_and_others_not() -> None:
    seconds = [0.0]
    door = Door(lambda: seconds[0])
    door.share()
    code = door.codes[Role.LOOKER]
    for _ in range(5):
        assert door.join("WRONG2", "MB", "192.0.2.8") is None
    with pytest.raises(TooManyTries) as waits:
        door.join(code, "MB", "192.0.2.8")
    assert waits.value.seconds == PERIOD_SECONDS
    assert door.join(code.lower(), "KT", "192.0.2.9") is not None
    seconds[0] = PERIOD_SECONDS - 1
    with pytest.raises(TooManyTries) as waits:
        door.join(code, "MB", "192.0.2.8")
    assert waits.value.seconds == 1
    seconds[0] = PERIOD_SECONDS
    assert door.join(code, "MB", "192.0.2.8") is not None


def test_wrong_codes_from_many_addresses_make_all_wait_but_never_the_keeper() -> None:
    door = Door(lambda: 0.0)
    door.share()
    for number in range(WRONG_BY_ALL):
        assert door.join("WRONG2", "MB", f"192.0.2.{number}") is None
    with pytest.raises(TooManyTries):
        door.join(door.codes[Role.LOOKER], "MB", "198.51.100.1")
    assert door.enter("wrong", "127.0.0.1") is None
    assert door.enter(door.secret(), "127.0.0.1") is not None


def test_guessing_at_the_page_is_told_how_long_to_wait(desk: Desk) -> None:
    browser = stranger(desk)
    form = {"code": "WRONG2", "initials": "MB"}
    assert [browser.post("/join", data=form).status_code for _ in range(7)] == [403] * 5 + [429] * 2
    answer = browser.post("/join", data=form)
    assert answer.headers["Retry-After"] == "60"
    assert "Set-Cookie" not in answer.headers


def test_codes_that_ended_let_nobody_in(desk: Desk) -> None:
    old = dict(desk.door.codes)
    browser, master = looker(desk), keeper(desk)
    assert master.post("/people/end", data={"who": "all"}).status_code == 303
    assert browser.get("/cohort/warm/round").headers["Location"] == "/join"
    assert master.get("/people").status_code == 200
    for code in old.values():
        assert desk.door.join(code, "MB", "192.0.2.9") is None
    assert all(len(code) == CODE_LENGTH for code in desk.door.codes.values())


def test_no_secret_code_or_pass_is_in_a_log_or_on_an_error_page(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fails(*_anything: str) -> None:
        raise ZeroDivisionError("a fault of our own")

    browser, secret = looker(desk), desk.door.secret()
    monkeypatch.setattr(Door, "enter", fails)
    with caplog.at_level(logging.DEBUG):
        pages = [
            Browser(desk).get(f"/enter/{secret}"),
            browser.post("/join", data={"code": desk.door.codes[Role.LOOKER], "initials": "<b>"}),
            stranger(desk).get("/nowhere?code=" + desk.door.codes[Role.GUEST]),
        ]
    assert [page.status_code for page in pages] == [500, 400, 404]
    given = browser.client.get_cookie(COOKIE, domain=SHARED.partition(":")[0]).value
    told = caplog.text + "".join(page.text for page in pages)
    assert "a fault of our own" in caplog.text
    assert "a fault of our own" not in pages[0].text
    for each in (secret, given, *desk.door.codes.values()):
        assert each not in told


# ---- headers


def test_every_answer_has_the_strict_policy(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_anything: str) -> None:
        raise ZeroDivisionError

    browser, nobody = keeper(desk), stranger(desk)
    answers = [
        browser.get("/start"),
        browser.get("/static/round.js"),
        browser.get("/nowhere"),
        browser.get("/cohort/nobody/round"),
        browser.ask("DELETE", "/start"),
        browser.post(
            "/cohort/warm/looks", data=b" " * (25 * 2**20), content_type="application/json"
        ),
        browser.get("/start", environ_overrides={"HTTP_HOST": "evil.example"}),
        nobody.get("/start"),
        nobody.post("/start", headers={}),
    ]
    monkeypatch.setattr(Door, "visitors", fails)
    answers.append(browser.get("/people"))
    statuses = [answer.status_code for answer in answers]
    assert statuses == [200, 200, 404, 404, 405, 413, 421, 303, 403, 500]
    for answer in answers:
        policy = answer.headers["Content-Security-Policy"]
        assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self';")
        assert "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin"


@pytest.mark.parametrize(
    "path",
    ["//evil.example", "//evil.example/..", "/%5cevil.example", "/join?next=//evil.example",
     "/cohort//evil.example/round", "/cohort/warm//round", "///evil.example/start"],
)  # fmt: skip
def test_no_answer_leads_to_another_site(path: str, desk: Desk) -> None:
    for browser in (keeper(desk), stranger(desk)):
        answer = browser.client.open(
            path, base_url=f"http://{HOST}", environ_overrides={"REQUEST_URI": path}
        )
        goal = urljoin(f"http://{HOST}/", answer.headers.get("Location", "/"))
        assert urlsplit(goal).netloc == HOST


def test_initials_cannot_split_an_answer(desk: Desk) -> None:
    browser = looker(desk)
    for initials in ("a\r\nX: y", "a\nb", "<b>", "", "123456789", "a b", "﻿ab", "\x00a"):
        answer = browser.post("/initials", data={"initials": initials})
        assert answer.status_code == 400, initials
        assert "X" not in answer.headers
        with pytest.raises(UsageError):
            desk.door.join(desk.door.codes[Role.LOOKER], initials, ELSEWHERE)


# ---- names in the path


@pytest.mark.parametrize(
    "name",
    ["..", "..%2f", "..%2fsecret", "%2e%2e%2fsecret", "..%5csecret", "warm%00", "warm.json",
     "wаrm", "ｗarm", "WARM", "%ff%fe", ".rearlog", ".rearlog%2fwarm.json.lock", "notes", "list",
     "x" * 10_000, "con", "-", "~", "warm%20", "leading", "secret", "outside", "%7B%7B7*7%7D%7D"],
)  # fmt: skip
def test_a_name_is_a_cohort_of_this_folder_or_nothing(name: str, desk: Desk) -> None:
    folder = desk.shelf.folder
    cohort_file(folder.parent, "secret")
    (folder / "outside.json").symlink_to(folder.parent / "secret.json")
    (folder / "leading.json").symlink_to(Path("..") / "secret.json")
    (folder / "notes.json").write_text('{"what": "a diary"}')
    (folder / "list.json").write_text("[1, 2]")
    before = files_of(folder.parent)
    browser = keeper(desk)
    assert desk.shelf.names() == ["warm"]
    for route in ROUTES:
        if "/cohort/<name>/" in route.rule:
            path = address_of(route).replace("/warm/", f"/{name}/", 1)
            answer = browser.ask(route.method, path, json={"sent": NOW.isoformat(), "looks": []})
            assert answer.status_code in (308, 400, 404, 405), path
            assert "diary" not in answer.text
            assert "49" not in answer.text
    assert files_of(folder.parent) == before


def test_a_link_within_the_folder_is_a_cohort_of_it(desk: Desk) -> None:
    (desk.shelf.folder / "same.json").symlink_to("warm.json")
    assert desk.shelf.names() == ["same", "warm"]


def test_a_damaged_file_is_told_of_and_the_rest_of_the_shelf_is_shown(desk: Desk) -> None:
    other = cohort_file(desk.shelf.folder, "broken").path
    other.write_bytes(other.read_bytes()[:-40] + b"<script>")
    page = keeper(desk).get("/")
    assert page.status_code == 200
    assert "broken" in page.text
    assert "Look at them" in page.text
    assert "<script>" not in page.text


# ---- what is said is no markup

MARKUP = '<script>x("1")</script>\'"><img src=x onerror=x()>{{7*7}}'


@pytest.mark.parametrize("who", ["keeper", "guest"])
@EVERY_ROUTE
def test_nothing_that_people_say_becomes_markup(route: Route, who: str, tmp_path: Path) -> None:
    if route.method != "GET":
        return
    file = cohort_file(tmp_path, "warm", place=MARKUP, food=MARKUP)
    told = Observation(
        "A02", NOW - timedelta(hours=2), stage="egg", note=MARKUP, by=MARKUP[:20], cause=None
    )
    dead = Observation("A03", NOW - timedelta(hours=1), fate="dead", cause=MARKUP, note=MARKUP)
    file.record([telling([told, dead])], NOW)
    browser = VISITORS[who][0](desk_over(tmp_path))
    page = browser.get(f"{address_of(route)}?q={MARKUP}")
    if page.mimetype == "text/html":
        assert "<script>x(" not in page.text
        assert "<img src=x" not in page.text
        assert "&amp;lt;" not in page.text  # escaped once


def test_what_was_typed_comes_back_as_text(desk: Desk) -> None:
    form = dict.fromkeys(("name", "count", "place", "food", "zone", "laid", "codes"), MARKUP)
    page = keeper(desk).post("/start", data={**form, "species": MARKUP})
    assert page.status_code == 400
    assert "&lt;script&gt;" in page.text
    assert "<script>x(" not in page.text
    assert "<img src=x" not in page.text
    assert "49" not in re.sub(r"\{\{7\*7\}\}", "", page.text)


def test_a_species_called_by_markup_is_shown_as_text(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    document = json.loads((desk.shelf.folder / "warm.json").read_bytes())
    document.pop("file")
    document["cohort"]["1"]["species"]["name"] = MARKUP
    (desk.shelf.folder / "laid-anew.json").write_text(json.dumps(document))
    browser = keeper(desk)
    for path in ("/", "/cohort/laid-anew/round"):
        page = browser.get(path)
        assert "<script>x(" not in page.text
        assert "<img src=x" not in page.text


# ---- looks that attackers send


def look(token: object = "t" * 32, **said: object) -> dict[str, object]:
    return {"individual": "A01", "at": NOW.isoformat(), "token": token, "same": True, **said}


def records(desk: Desk) -> int:
    return len(CohortFile(desk.shelf.folder / "warm.json").read().all_observations)


def tell(browser: Browser, looks: object, sent: object = NOW.isoformat()):
    headers = {"Sec-Fetch-Site": "same-origin", "Accept": "application/json"}
    return browser.post("/cohort/warm/looks", json={"sent": sent, "looks": looks}, headers=headers)


@pytest.mark.parametrize(
    "body",
    [b"", b"{", b"[]", b"null", b"1e999", b'"looks"', b"\xff\xfe", b"[" * 200_000,
     b'{"a":' * 50_000, b'{"sent":"2026-03-14T09:00:00","looks":[]}',
     b'{"sent":"2026-03-14T09:00:00Z"}', b'{"sent":"2026-03-14T09:00:00Z","looks":{}}',
     b'{"sent":"2026-03-14T09:00:00Z","looks":null}', b'{"looks":[]}',
     b'{"sent":null,"looks":[]}', b'{"sent":[],"looks":[]}', b'{"sent":1e400,"looks":[]}',
     b'{"sent":"0001-01-01T00:00:00+23:59","looks":[]}',
     b'{"sent":"9999-12-31T23:59:59-23:59","looks":[]}',
     b'{"sent":' + b"9" * 9000 + b',"looks":[]}'],
    ids=lambda body: repr(body[:40]),
)  # fmt: skip
def test_a_body_that_tells_no_looks_is_a_mistake_of_whoever_sends_it(
    body: bytes, desk: Desk
) -> None:
    before = files_of(desk.shelf.folder)
    browser = looker(desk)
    for path in ("/cohort/warm/looks", "/cohort/warm/looks/undo"):
        answer = browser.post(path, data=body, content_type="application/json")
        assert answer.status_code == 400, path
    assert files_of(desk.shelf.folder) == before


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", ""])
def test_a_body_of_another_kind_is_not_read(kind: str, desk: Desk) -> None:
    body = json.dumps({"sent": NOW.isoformat(), "looks": [look()]})
    answer = looker(desk).post("/cohort/warm/looks", data=body, content_type=kind)
    assert answer.status_code == 400
    assert records(desk) == 3


@pytest.mark.parametrize(
    "said",
    [None, 1, "A01", [], {}, {"individual": "A01"}, look(individual="Z99"),
     look(individual="../x"), look(individual=["A01"]), look(individual="\ud800"),
     look(at="yesterday"), look(at="2026-03-14T09:00:00"), look(at="1500-01-01T00:00:00Z"),
     look(at="9999-12-31T23:59:59Z"), look(at=0), look(at=None), look(token=""), look(token="x"),
     look(token=None), look(token="t" * 65), look(token="\ud800" * 16), look(token="../../../x"),
     look(head_width_mm=float("nan"), stage="L1", same=False),
     look(head_width_mm=float("inf")), look(head_width_mm=-1), look(head_width_mm=10**400),
     look(head_width_mm="1"), look(head_width_mm=True), look(note="\ud800"), look(note=["x"]),
     look(note={"a": {"a": {}}}), look(stage="<b>", same=False), look(stage=7, same=False),
     look(fate="eaten", same=False), look(number=1, marks=[]), look(unknown=1), look(entered=5),
     look(same=1), look(note="x" * 2**20)],
    ids=lambda said: repr(said)[:60],
)  # fmt: skip
def test_a_look_that_is_none_is_told_and_the_good_ones_beside_it_are_taken(
    said: object, desk: Desk
) -> None:
    early, earlier = ((NOW - timedelta(hours=n)).isoformat() for n in (1, 2))
    looks = [look("a" * 32, at=early), said, look("b" * 32, at=earlier)]
    body = json.dumps({"sent": NOW.isoformat(), "looks": looks})
    answer = looker(desk).post("/cohort/warm/looks", data=body, content_type="application/json")
    assert answer.status_code == 200
    first, bad, last = answer.get_json()["answers"]
    assert bad["problems"]
    assert bad["number"] is None
    assert (first["problems"], last["problems"]) == ([], [])
    log = CohortFile(desk.shelf.folder / "warm.json").read()
    assert [each.token for each in log.all_observations[3:]] == ["a" * 32, "b" * 32]


def test_who_looked_is_who_is_in_whatever_the_device_says(desk: Desk) -> None:
    told = look(by="KT", entered="2020-01-01T00:00:00Z", marks=[], number=None)
    told.pop("number")
    told.pop("marks")
    (answer,) = tell(looker(desk), [told]).get_json()["answers"]
    assert answer["problems"] == []
    last = CohortFile(desk.shelf.folder / "warm.json").read().all_observations[-1]
    assert (last.by, last.entered, last.number) == ("MB", NOW, 4)


def test_a_token_names_one_look_of_one_individual(desk: Desk) -> None:
    """Told twice at once it is written once; told of another it never passes for told."""
    browser = looker(desk)
    told = [look(), look(), look(individual="A02")]
    for _ in range(2):
        answers = tell(browser, told).get_json()["answers"]
        assert [each["number"] for each in answers] == [4, 4, 5]
        assert not any(each["problems"] for each in answers)
    (late,) = tell(browser, [look(individual="A03")]).get_json()["answers"]
    assert late["number"] == 6
    assert records(desk) == 6


def test_more_looks_than_a_class_makes_are_refused_at_once(desk: Desk) -> None:
    assert tell(looker(desk), [look()] * 2001).status_code == 413
    assert records(desk) == 3


def test_what_the_disk_refuses_is_no_fault_of_the_look_and_stays_on_the_device(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A device forgets what was answered with 200, and tries again after 500."""

    def full(*_anything: object) -> None:
        raise StoreError("there is no space left")

    browser, looks = looker(desk), [look("a" * 32), look("b" * 32, individual="A02")]
    with monkeypatch.context() as now:
        now.setattr(storage, "write_atomically", full)
        answer = tell(browser, looks)
        assert answer.status_code == 500
        assert "no space left" in answer.get_json()["problems"][0]["message"]
    assert records(desk) == 3
    answers = tell(browser, looks).get_json()["answers"]
    assert [each["number"] for each in answers] == [4, 5]
    assert joined(desk, Role.LOOKER).get("/cohort/warm/round").status_code == 200
