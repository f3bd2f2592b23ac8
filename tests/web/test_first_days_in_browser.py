"""The first days of a teacher who uses no terminal, from an empty shelf to the printed report."""

import io
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pypdf
import pytest
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select

from rearlog.records.log import DayExtremes
from rearlog.store.cohort_file import CohortFile
from rearlog.web.server import Server
from tests.browser import complaints, printed
from tests.web.people import keeper, looker, press, text, until

pytestmark = pytest.mark.browser


@pytest.fixture
def shelf(tmp_path: Path) -> Iterator[Server]:
    server = Server(tmp_path, addresses=["127.0.0.2"], share=True)
    thread = server.start()
    try:
        yield server
    finally:
        server.close()
        thread.join(10)


def fill(driver: Chrome, **told: str | date) -> None:
    """Write into the fields of these ids; days as a calendar would."""
    for name, value in told.items():
        field = driver.find_element(By.ID, name)
        if isinstance(value, date):
            driver.execute_script("arguments[0].value = arguments[1]", field, value.isoformat())
        else:
            field.clear()
            field.send_keys(value)


def submit(driver: Chrome, words: str) -> None:
    """Press the button with these words, and wait for the next page.

    The document is marked, not the button asked for: a driver may answer about an element of a
    page that is just being left with an error of its own.
    """
    button = driver.find_element(By.XPATH, f"//button[normalize-space()='{words}']")
    driver.execute_script(
        "document.leaving = true; arguments[0].scrollIntoView({block: 'center'})", button
    )
    button.click()
    arrived = "return !document.leaving && document.readyState === 'complete'"
    until(driver, lambda: driver.execute_script(arrived))


def round_of(driver: Chrome, address: str, day: date) -> None:
    driver.get(f"{address}/cohort/window/round?on={day}")
    until(driver, lambda: driver.find_elements(By.CSS_SELECTOR, "#cards article"))


def rest_unchanged(driver: Chrome) -> None:
    driver.find_element(By.ID, "rest").click()
    driver.find_element(By.ID, "yes").click()
    until(driver, lambda: text(driver, "net") == "Everything is written down")


def test_from_an_empty_shelf_to_the_report(shelf: Server, tmp_path: Path) -> None:
    today = datetime.now(UTC).date()
    days = [today - timedelta(days=back) for back in (3, 2, 1)]
    (network,) = shelf.desk.addresses
    file = CohortFile(tmp_path / "window.json")
    with keeper(shelf) as teacher, looker(shelf, "KT") as pupil:
        # a cohort
        teacher.find_element(By.LINK_TEXT, "Start the first cohort").click()
        Select(teacher.find_element(By.ID, "species")).select_by_value("painted-lady")
        fill(teacher, name="window", count="6", laid=today - timedelta(days=5))
        fill(teacher, on=today - timedelta(days=4))
        teacher.find_element(By.CSS_SELECTOR, "details summary").click()
        fill(teacher, zone="UTC")
        submit(teacher, "Put them on the shelf")
        until(teacher, lambda: teacher.current_url.endswith("/cohort/window/round"))
        fill(teacher, by=f"MB{Keys.TAB}")

        # three days, from two devices
        round_of(teacher, shelf.address, days[0])
        rest_unchanged(teacher)
        round_of(pupil, network, days[1])
        press(pupil, "1: now L1")
        press(pupil, "2: now L1")
        rest_unchanged(pupil)
        round_of(teacher, shelf.address, days[2])
        press(teacher, "3: now L1")
        press(teacher, "4: More")
        press(teacher, "4: dead")
        press(teacher, "4: mould")
        press(teacher, "4: Record")
        until(teacher, lambda: "dead" in teacher.find_element(By.ID, "cards").text)
        rest_unchanged(teacher)
        log = file.read()
        assert [len(log.checks[code]) for code in "123456"] == [3, 3, 3, 3, 3, 3]
        assert {each.by for each in log.checks["1"]} == {"MB", "KT"}
        assert log.checks["4"][-1].cause == "mould"

        # what was wrong yesterday is put right
        teacher.get(f"{shelf.address}/cohort/window/everyone/2")
        Select(teacher.find_element(By.ID, "stage")).select_by_value("egg")
        fill(teacher, first=days[1])
        teacher.find_element(By.ID, "correct-because").send_keys("an empty shell of cup 1")
        submit(teacher, "Correct it")
        assert [each.stage for each in file.read().checks["2"]][1] == "egg"

        # the heating failed on one day
        for day, (low, high) in zip(days, ((20, 23), (8, 12), (19.5, 22)), strict=True):
            teacher.get(f"{shelf.address}/cohort/window/temperatures")
            fill(teacher, on=day, lowest=str(low), highest=str(high).replace(".", ","))
            submit(teacher, "Write it down")
        found = [each for each in file.read().temperatures if isinstance(each, DayExtremes)]
        assert [(each.min_c, each.max_c) for each in found] == [(20, 23), (8, 12), (19.5, 22)]

        # when will they emerge
        teacher.get(f"{shelf.address}/cohort/window/answers/forecast")
        said = teacher.find_element(By.TAG_NAME, "main").text
        assert "Half of the adults still to come are expected by" in said

        # the report, printed
        teacher.get(f"{shelf.address}/report")
        teacher.find_element(By.LINK_TEXT, "window").click()
        until(teacher, lambda: teacher.current_url.endswith("/report/window"))
        pages = pypdf.PdfReader(io.BytesIO(printed(teacher, 8.27, 11.69))).pages
        assert "window" in pages[0].extract_text()
        assert complaints(teacher) == complaints(pupil) == []
