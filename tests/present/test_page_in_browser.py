"""The page as a reader sees it, in Chromium."""

import io
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from click.testing import CliRunner
from pypdf import PdfReader
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement

from rearlog.cli.main import main
from tests.browser import (
    accessibility_violations,
    at_size,
    chromium,
    complaints,
    printed,
    requested,
)

pytestmark = pytest.mark.browser

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"


@pytest.fixture(scope="module")
def driver(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Chrome]:
    page = tmp_path_factory.mktemp("page") / "page.html"
    names = [str(SAMPLES / f"{name}.json") for name in ("cool", "room", "warm")]
    result = CliRunner().invoke(main, ["report", *names, "-o", str(page)], catch_exceptions=False)
    assert result.exit_code == 0
    with chromium() as browser:
        browser.get(page.as_uri())
        yield browser


def test_it_loads_without_complaints_and_without_a_network(driver: Chrome) -> None:
    requested(driver)  # what the browser itself loaded before
    driver.refresh()
    assert complaints(driver) == []
    assert {address.split(":")[0] for address in requested(driver)} <= {"file", "data"}


def test_nothing_that_was_slipped_in_runs_or_is_fetched(driver: Chrome) -> None:
    """The policy holds although a test may put anything into the page."""
    requested(driver)
    driver.execute_script(
        "document.title = 'whole';"
        'for (const text of [\'<img src="https://example.invalid/x" onerror="document.title=1">\','
        ' \'<p onclick="document.title=2" style="color: rgb(1, 2, 3)" id=slipped>x</p>\'])'
        " document.body.insertAdjacentHTML('beforeend', text);"
        "const script = document.createElement('script');"
        "script.textContent = 'document.title = 3'; document.body.append(script);"
        "document.getElementById('slipped').click()"
    )
    try:
        assert driver.title == "whole"
        colour = "return getComputedStyle(document.getElementById('slipped')).color"
        assert driver.execute_script(colour) != "rgb(1, 2, 3)"
        told = " ".join(complaints(driver))
        assert "script-src" in told
        assert "img-src" in told or "default-src" in told
    finally:
        driver.refresh()
        complaints(driver)


@pytest.mark.parametrize("width", [360, 768, 1280])
def test_nothing_is_wider_than_the_screen(driver: Chrome, width: int) -> None:
    at_size(driver, width)
    for part in driver.find_elements(By.TAG_NAME, "details"):
        driver.execute_script("arguments[0].open = true", part)
    assert driver.execute_script("return document.documentElement.scrollWidth") <= width
    for part in driver.find_elements(By.TAG_NAME, "details"):
        driver.execute_script("arguments[0].open = false", part)


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("opened", [False, True], ids=["closed", "opened"])
def test_nothing_serious_stands_in_anyones_way(driver: Chrome, dark: bool, opened: bool) -> None:
    at_size(driver, 1000, dark=dark)
    for part in driver.find_elements(By.TAG_NAME, "details"):
        driver.execute_script("arguments[0].open = arguments[1]", part, opened)
    assert accessibility_violations(driver) == []


def test_every_picture_has_words(driver: Chrome) -> None:
    pictures = driver.find_elements(By.CSS_SELECTOR, "[role=img]")
    assert len(pictures) > 10
    assert all(len(each.get_attribute("aria-label") or "") > 40 for each in pictures)


def test_headings_are_not_skipped(driver: Chrome) -> None:
    levels = [int(each.tag_name[1]) for each in driver.find_elements(By.CSS_SELECTOR, "h1,h2,h3")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    steps = [later - earlier for earlier, later in pairwise(levels)]
    assert max(steps) == 1


def individuals(driver: Chrome) -> tuple[WebElement, list[WebElement]]:
    part = driver.find_element(By.CSS_SELECTOR, "details.individuals")
    driver.execute_script("arguments[0].open = true", part)
    return part, part.find_elements(By.CSS_SELECTOR, "tbody tr")


def column(driver: Chrome, place: int) -> list[str]:
    found: list[str] = driver.execute_script(
        "return [...document.querySelectorAll('details.individuals')[0]"
        ".querySelectorAll('tbody tr')].filter(r => !r.hidden)"
        ".map(r => r.cells[arguments[0]].textContent.trim())",
        place,
    )
    return found


def test_a_column_is_sorted_by_its_heading_and_back(driver: Chrome) -> None:
    part, _ = individuals(driver)
    button = part.find_elements(By.CSS_SELECTOR, "th button")[2]  # type: ignore[attr-defined]
    for wanted, turn in (("ascending", 1), ("descending", -1)):
        driver.execute_script("arguments[0].click()", button)
        numbers = [float(text) for text in column(driver, 2) if text != "–"]
        assert numbers == sorted(numbers)[::turn]
        heading = button.find_element(By.XPATH, "..")
        assert heading.get_attribute("aria-sort") == wanted


def test_one_individual_is_shown_alone(driver: Chrome) -> None:
    part, _ = individuals(driver)
    box = part.find_element(By.TAG_NAME, "input")  # type: ignore[attr-defined]
    box.clear()
    box.send_keys("7")
    assert set(column(driver, 0)) == {"7"}
    assert "rows" in part.find_element(By.CSS_SELECTOR, "[role=status]").text  # type: ignore[attr-defined]
    box.send_keys("\b")
    assert len(set(column(driver, 0))) == 24


@pytest.mark.parametrize(("width", "height"), [(8.27, 11.69), (8.5, 11)], ids=["A4", "Letter"])
def test_it_prints_each_cohort_from_the_top_of_a_page(
    driver: Chrome, width: float, height: float
) -> None:
    driver.refresh()
    pages = PdfReader(io.BytesIO(printed(driver, width, height))).pages
    size = pages[0].mediabox
    assert (float(size.width) / 72, float(size.height) / 72) == pytest.approx(
        (width, height), abs=0.02
    )
    texts = [each.extract_text().strip() for each in pages]
    for name in ("cool", "room", "warm"):
        assert any(text.startswith(f"{name}\n24 individuals") for text in texts)
    assert 8 <= len(pages) <= 22
