"""A picture taken in a round in a real Chromium: sent, recorded with its look, in the strip."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By

from rearlog.store.cohort_file import CohortFile
from rearlog.web.server import Server
from tests.browser import accessibility_violations, at_size, chromium, complaints
from tests.pictures import encoded, leaf, telling_exif
from tests.web.people import press, until
from tests.web.visiting import cohort_file

pytestmark = pytest.mark.browser


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[Server, CohortFile]]:
    file = cohort_file(tmp_path)
    server = Server(tmp_path, photos=True, now=lambda: datetime(2026, 3, 14, 9, 0, tzinfo=UTC))
    thread = server.start()
    try:
        yield server, file
    finally:
        server.close()
        thread.join(10)


@pytest.fixture
def driver(served: tuple[Server, CohortFile]) -> Iterator[Chrome]:
    with chromium() as made:
        made.get(served[0].first_address())
        made.get(f"{served[0].address}/cohort/warm/round")
        until(made, lambda: made.find_elements(By.CSS_SELECTOR, "#cards article"))
        press(made, "A01: More")
        yield made


def panel(driver: Chrome) -> Any:
    """What is asked about a picture."""
    return driver.find_element(By.CSS_SELECTOR, '[role="group"][aria-label="Picture"]')


def choose(driver: Chrome, file: Path) -> None:
    (_, chosen) = panel(driver).find_elements(By.CSS_SELECTOR, 'input[type="file"]')
    chosen.send_keys(str(file))


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    path = tmp_path / "IMG_0001.JPG"
    path.write_bytes(encoded(leaf(640, 480), exif=telling_exif()))
    return path


def test_a_picture_goes_with_its_look_and_is_in_the_strip(
    served: tuple[Server, CohortFile], driver: Chrome, picture: Path
) -> None:
    server, file = served
    choose(driver, picture)
    until(driver, lambda: "goes with this look" in panel(driver).text)
    assert accessibility_violations(driver) == []
    press(driver, "A01: Record")
    until(driver, lambda: driver.find_elements(By.CSS_SELECTOR, "a.see"))
    (look,) = [each for each in file.read().checks["A01"] if each.photo]
    at_size(driver, 390)
    driver.get(f"{server.address}/cohort/warm/everyone/A01")
    (shown,) = driver.find_elements(By.CSS_SELECTOR, ".strip img")
    until(driver, lambda: driver.execute_script("return arguments[0].naturalWidth", shown) == 640)
    assert str(look.photo) in str(shown.get_attribute("src"))
    assert accessibility_violations(driver) == []
    wide = "return document.documentElement.scrollWidth - document.documentElement.clientWidth"
    assert driver.execute_script(wide) == 0
    assert complaints(driver) == []


def test_a_picture_that_is_left_out_is_not_of_the_look(
    served: tuple[Server, CohortFile], driver: Chrome, picture: Path
) -> None:
    choose(driver, picture)
    until(driver, lambda: "goes with this look" in panel(driver).text)
    press(driver, "A01: leave the picture out")
    press(driver, "A01: Record")
    until(driver, lambda: len(served[1].read().checks["A01"]) == 2)
    assert not [each for each in served[1].read().checks["A01"] if each.photo]


def test_what_is_no_picture_is_told_and_the_look_goes_without(
    served: tuple[Server, CohortFile], driver: Chrome, tmp_path: Path
) -> None:
    page = tmp_path / "page.jpg"
    page.write_text("<!DOCTYPE html><p>no picture")
    choose(driver, page)
    until(driver, lambda: "is not kept: this is not a whole picture" in panel(driver).text)
    press(driver, "A01: Record")
    until(driver, lambda: len(served[1].read().checks["A01"]) == 2)


def test_without_a_connection_it_says_so_at_once(
    served: tuple[Server, CohortFile], driver: Chrome, picture: Path
) -> None:
    driver.execute_cdp_cmd("Network.enable", {})
    cut = {"offline": True, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
    driver.execute_cdp_cmd("Network.emulateNetworkConditions", cut)
    choose(driver, picture)
    until(driver, lambda: "there is no connection now" in panel(driver).text)
    assert driver.find_element(By.CSS_SELECTOR, '[aria-label="A01: Record"]').is_enabled()
