"""The shelf and the round in a real Chromium: live, without a network, at all sizes."""

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from rearlog.records.incoming import telling
from rearlog.records.log import Observation
from rearlog.records.starting import new_cohort
from rearlog.species.catalogue import find
from rearlog.store.cohort_file import CohortFile
from rearlog.web.routes import ROUTES
from rearlog.web.server import Server
from tests.browser import accessibility_violations, at_size, complaints, requested
from tests.web.people import keeper, looker, press, text, until

pytestmark = pytest.mark.browser
NOT_PAGES: tuple[str, ...] = (
    "static",
    "enter",
    "state",
    ".",
    "download",
    "csv",
    "report/",
    "photo/",
    "copy",
)
NOT_PAGES += ("sheets/", "compare/", "<name>/practice")
PAGES = [
    each
    for each in ROUTES
    if each.method == "GET" and not any(word in each.rule for word in NOT_PAGES)
]
"""The addresses that show a page with the look of the shelf."""
EXAMPLES = {
    "name": "sill",
    "code": "1",
    "species": "painted-lady",
    "kind": "durations",
    "number": "1",
    "answer": "durations",
    "page": "first-week",
}
SIZES = [(390, False), (820, True), (1440, False)]


def cohort(folder: Path) -> CohortFile:
    """A cohort of six that began four days ago, of which one has died."""
    now = datetime.now(UTC).replace(microsecond=0)
    day = (now - timedelta(days=4)).date().isoformat()
    header, individuals = new_cohort("sill", find("painted-lady"), 6, "UTC", on=f"{day}T00:00")
    file = CohortFile(folder / "sill.json")
    file.create(header, individuals)
    at = header.started + timedelta(days=3)
    looks = [Observation(each.code, at, "L1", by="MB") for each in individuals[:5]]
    file.record([telling([*looks, Observation("6", at, fate="dead", cause="mould")])], now)
    return file


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[Server, CohortFile]]:
    file = cohort(tmp_path)
    server = Server(tmp_path, addresses=["127.0.0.2"], share=True)
    thread = server.start()
    try:
        yield server, file
    finally:
        server.close()
        thread.join(10)


def card(driver: Chrome, code: str) -> Any:
    """The card of an individual."""
    (found,) = [
        each
        for each in driver.find_elements(By.CSS_SELECTOR, "#cards article")
        if each.find_element(By.TAG_NAME, "h2").text == code
    ]
    return found


def looks(file: CohortFile, code: str) -> list[Observation]:
    """What devices told of an individual, as it stands in the file."""
    return [each for each in file.read().checks[code] if each.token]


def open_round(driver: Chrome, server: Server, address: str | None = None) -> None:
    driver.get(f"{address or server.address}/cohort/sill/round")
    until(driver, lambda: driver.find_elements(By.CSS_SELECTOR, "#cards article"))


def offline(driver: Chrome, cut: bool) -> None:
    """Cut the network of the page, or restore it."""
    driver.execute_cdp_cmd("Network.enable", {})
    conditions = {"offline": cut, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
    driver.execute_cdp_cmd("Network.emulateNetworkConditions", conditions)


def test_two_at_two_devices_see_each_others_looks(served: tuple[Server, CohortFile]) -> None:
    server, file = served
    (address,) = server.desk.addresses
    with looker(server, "KT") as one, looker(server, "MB") as two:
        open_round(one, server, address)
        open_round(two, server, address)
        press(one, "1: No change")
        press(two, "2: now L2")
        until(one, lambda: "L2 ·" in card(one, "2").text and "MB" in card(one, "2").text)
        until(two, lambda: "no change" in card(two, "1").text and "KT" in card(two, "1").text)
        assert text(two, "count") == "2 of 5 looked at"
        assert [(each.same, each.by) for each in looks(file, "1")] == [(True, "KT")]
        assert [(each.stage, each.by) for each in looks(file, "2")] == [("L2", "MB")]
        assert not card(one, "2").find_elements(By.CSS_SELECTOR, ".looks button")  # not one's own
        press(two, "2: undo L2")
        until(one, lambda: "L2 ·" not in card(one, "2").text)
        assert looks(file, "2") == []
        assert complaints(one) == complaints(two) == []


def test_without_a_network_it_goes_on_and_nothing_is_lost(
    served: tuple[Server, CohortFile],
) -> None:
    server, file = served
    with keeper(server) as driver:
        open_round(driver, server)
        offline(driver, True)
        press(driver, "1: now L2")
        press(driver, "2: No change")
        until(driver, lambda: text(driver, "net").startswith("No connection. 2 kept"))
        assert "not sent yet" in card(driver, "1").text
        press(driver, "2: undo no change")
        assert looks(file, "1") == looks(file, "2") == []
        offline(driver, False)
        until(driver, lambda: text(driver, "net") == "Everything is written down")
        assert [each.stage for each in looks(file, "1")] == ["L2"]
        assert looks(file, "2") == []


def test_initials_count_for_the_tap_right_behind_them(served: tuple[Server, CohortFile]) -> None:
    server, file = served
    with keeper(server) as driver:
        open_round(driver, server)
        driver.find_element(By.ID, "by").send_keys("MB")
        press(driver, "1: No change")  # which leaves the field
        until(driver, lambda: looks(file, "1"))
        assert [each.by for each in looks(file, "1")] == ["MB"]


def test_what_was_tapped_offline_is_sent_after_a_reload(served: tuple[Server, CohortFile]) -> None:
    server, file = served
    with keeper(server) as driver:
        open_round(driver, server)
        offline(driver, True)
        press(driver, "3: now L2")
        until(driver, lambda: text(driver, "net").startswith("No connection"))
        offline(driver, False)
        driver.refresh()
        until(driver, lambda: looks(file, "3"))
        assert [each.stage for each in looks(file, "3")] == ["L2"]


def test_what_the_log_refuses_is_shown_and_kept(served: tuple[Server, CohortFile]) -> None:
    server, file = served
    with keeper(server) as driver:
        open_round(driver, server)
        press(driver, "4: More")
        driver.find_element(By.ID, "card-3-length_mm").send_keys("900")
        press(driver, "4: Record")
        until(driver, lambda: "was not taken" in text(driver, "refused"))
        assert "900" in text(driver, "refused")
        assert looks(file, "4") == []
        driver.refresh()
        until(driver, lambda: "was not taken" in text(driver, "refused"))
        press(driver, "4: let it go")
        until(driver, lambda: text(driver, "refused") == "")


def test_a_death_with_its_cause_a_measure_and_a_note(served: tuple[Server, CohortFile]) -> None:
    server, file = served
    with keeper(server) as driver:
        open_round(driver, server)
        press(driver, "5: More")
        press(driver, "5: dead")
        press(driver, "5: mould")
        driver.find_element(By.ID, "card-4-length_mm").send_keys("2,5")
        driver.find_element(By.ID, "card-4-note").send_keys("on the lid <b>")
        press(driver, "5: Record")
        until(driver, lambda: looks(file, "5"))
        (found,) = looks(file, "5")
        assert (found.fate, found.cause, found.length_mm) == ("dead", "mould", 2.5)
        assert found.note == "on the lid <b>"
        until(driver, lambda: "on the lid <b>" in card(driver, "5").text)


def grown(file: CohortFile) -> None:
    """1 to 3 are adult since yesterday: 1 is a female, 2 its mate, and 3 in a cage."""
    now = datetime.now(UTC).replace(microsecond=0)
    at = now - timedelta(days=1)
    told = {"1": {"sex": "f", "mate": "2"}, "2": {"sex": "m"}, "3": {"mate": "cage-1"}}
    looks = [Observation(code, at, "adult", **more) for code, more in told.items()]  # type: ignore[arg-type]
    file.record([telling(looks)], now)


def test_eggs_and_a_mate_are_told_of_adults_alone(served: tuple[Server, CohortFile]) -> None:
    server, file = served
    grown(file)
    with keeper(server) as driver:
        open_round(driver, server)
        assert "with 2" in card(driver, "1").text
        assert "in cage-1" in card(driver, "3").text
        press(driver, "4: More")
        assert not card(driver, "4").find_elements(By.ID, "card-3-eggs")
        press(driver, "4: adult")
        assert card(driver, "4").find_element(By.ID, "card-3-eggs").is_displayed()
        press(driver, "4: L2")
        assert not card(driver, "4").find_elements(By.ID, "card-3-eggs")
        press(driver, "2: More")
        assert not driver.find_elements(By.ID, "card-1-eggs")  # a male
        driver.find_element(By.ID, "card-1-mate").send_keys("alone")
        press(driver, "2: Record")
        press(driver, "3: More")
        assert "all in cage-1" in card(driver, "3").text
        press(driver, "1: More")
        eggs = driver.find_element(By.ID, "card-0-eggs")
        assert eggs.get_attribute("inputmode") == "numeric"
        eggs.send_keys("3,5")
        press(driver, "1: Record")
        assert "eggs: a whole number" in card(driver, "1").text
        eggs.send_keys(Keys.CONTROL, "a", Keys.NULL, "0")
        driver.find_element(By.ID, "card-0-hatched").send_keys("12")
        press(driver, "1: Record")
        until(driver, lambda: looks(file, "1"))
        (found,) = looks(file, "1")
        assert (found.eggs, found.hatched, found.same) == (0, 12, True)
        until(driver, lambda: "no change, eggs: 0, eggs hatched: 12" in card(driver, "1").text)
        until(driver, lambda: looks(file, "2"))
        assert looks(file, "2")[0].mate == "alone"
        until(driver, lambda: "with, or in: alone" in card(driver, "2").text)
        assert accessibility_violations(driver) == []
        assert complaints(driver) == []


def test_eggs_typed_before_the_stage_was_changed_are_not_sent(
    served: tuple[Server, CohortFile],
) -> None:
    server, file = served
    with keeper(server) as driver:
        open_round(driver, server)
        press(driver, "4: More")
        press(driver, "4: adult")
        driver.find_element(By.ID, "card-3-eggs").send_keys("7")
        press(driver, "4: L2")
        press(driver, "4: Record")
        until(driver, lambda: looks(file, "4"))
        (found,) = looks(file, "4")
        assert (found.stage, found.eggs) == ("L2", None)


def test_a_whole_round_by_keyboard_alone(served: tuple[Server, CohortFile]) -> None:
    server, file = served
    with keeper(server) as driver:
        open_round(driver, server)
        driver.find_element(By.ID, "next").send_keys(Keys.ENTER)
        for _ in range(2):
            driver.switch_to.active_element.send_keys(Keys.ENTER)
            driver.find_element(By.ID, "next").send_keys(Keys.ENTER)
        until(driver, lambda: text(driver, "count") == "2 of 5 looked at")
        rest = driver.find_element(By.ID, "rest")
        rest.send_keys(Keys.ENTER)
        assert driver.switch_to.active_element.get_attribute("id") == "yes"
        driver.switch_to.active_element.send_keys(Keys.ENTER)
        until(driver, lambda: all(looks(file, code) for code in "12345"))
        until(driver, lambda: text(driver, "count") == "All 5 looked at")


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_pages_hold_at_every_size_for_everybody(
    served: tuple[Server, CohortFile], width: int, dark: bool
) -> None:
    server, _ = served
    pages = sorted(re.sub("<(\\w+)>", lambda part: EXAMPLES[part[1]], each.rule) for each in PAGES)
    with keeper(server) as driver:
        at_size(driver, width, 900, dark=dark)
        for page in pages:
            driver.get(server.address + page)
            until(driver, lambda: driver.find_elements(By.TAG_NAME, "h1"))
            assert accessibility_violations(driver) == [], page
            assert complaints(driver) == [], page
            wide = driver.execute_script("return document.documentElement.scrollWidth")
            assert wide <= width, page
            assert small_targets(driver) == [], page
        told = {each for each in requested(driver) if each.startswith(("http:", "https:", "ws"))}
        assert {each for each in told if not each.startswith(server.address)} == set()


def small_targets(driver: Chrome) -> list[str]:
    """What can be pressed and is smaller than 44 px (links inside of sentences may be)."""
    script = """
      return [...document.querySelectorAll('button, select, summary, nav a, .go, input:not([type=hidden])')]
        .filter((each) => each.offsetParent !== null && !each.closest('td'))
        .map((each) => (each.matches('[type=checkbox], [type=radio]') && each.closest('label')) || each)
        .map((each) => [each.textContent.trim().slice(0, 20) || each.id, each.getBoundingClientRect()])
        .filter(([, box]) => box.height > 0 && (box.height < 43.5 || box.width < 24))
        .map(([name, box]) => `${name}: ${box.width} x ${box.height}`)
    """  # noqa: E501
    return list(driver.execute_script(script))


def test_what_stood_on_paper_is_written_down_for_its_day(
    served: tuple[Server, CohortFile],
) -> None:
    server, file = served
    with keeper(server) as driver:
        day = (datetime.now(UTC) - timedelta(days=2)).date()
        driver.get(f"{server.address}/cohort/sill/round?on={day}")
        until(driver, lambda: driver.find_elements(By.CSS_SELECTOR, "#cards article"))
        press(driver, "1: No change")
        until(driver, lambda: looks(file, "1"))
        (found,) = looks(file, "1")
        assert (found.at.date(), found.at.hour) == (day, 9)
        until(driver, lambda: text(driver, "count") == "1 of 6 looked at")


def test_going_back_after_a_form_was_mended_shows_a_page(served: tuple[Server, CohortFile]) -> None:
    server, _ = served
    with keeper(server) as driver:
        driver.get(f"{server.address}/start")
        driver.find_element(By.CSS_SELECTOR, "option[value=painted-lady]").click()
        driver.find_element(By.ID, "name").send_keys("window")
        driver.find_element(By.ID, "count").send_keys("twelve", Keys.ENTER)
        until(driver, lambda: driver.find_elements(By.CSS_SELECTOR, ".trouble"))
        count = driver.find_element(By.ID, "count")
        count.clear()
        count.send_keys("12", Keys.ENTER)
        until(driver, lambda: driver.current_url.endswith("/cohort/window/round"))
        driver.back()
        until(driver, lambda: driver.find_elements(By.ID, "name"))
        assert driver.find_element(By.ID, "name").get_attribute("value") == "window"
