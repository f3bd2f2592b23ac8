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
from selenium.webdriver.common.keys import Keys
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
    words = page.with_suffix(".md")
    words.write_text(
        "# Ours\n\nWe *kept* them.\n\n- [more](https://example.org)\n", encoding="utf-8"
    )
    names = [str(SAMPLES / f"{name}.json") for name in ("cool", "room", "warm")]
    call = ["report", *names, "-o", str(page), "--words", str(words)]
    result = CliRunner().invoke(main, call, catch_exceptions=False)
    assert page.stat().st_size <= 1_200_000
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


def opened(driver: Chrome, state: bool) -> None:
    """Open all that is folded, or fold all that can be."""
    driver.execute_script(
        "for (const part of document.querySelectorAll('details')) part.open = arguments[0]", state
    )


@pytest.mark.parametrize("width", [360, 768, 1280])
def test_nothing_is_wider_than_the_screen(driver: Chrome, width: int) -> None:
    at_size(driver, width)
    opened(driver, True)
    assert driver.execute_script("return document.documentElement.scrollWidth") <= width
    opened(driver, False)


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("state", [False, True], ids=["closed", "opened"])
def test_nothing_serious_stands_in_anyones_way(driver: Chrome, dark: bool, state: bool) -> None:
    at_size(driver, 1000, dark=dark)
    opened(driver, state)
    assert accessibility_violations(driver) == []


def test_every_picture_has_words(driver: Chrome) -> None:
    pictures = driver.find_elements(By.CSS_SELECTOR, "[role=img]")
    assert len(pictures) > 10
    assert all(len(each.get_attribute("aria-label") or "") > 40 for each in pictures)


def test_headings_are_not_skipped(driver: Chrome) -> None:
    opened(driver, True)
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


@pytest.mark.parametrize(("width", "height"), [(390, 844), (1440, 900)], ids=["phone", "screen"])
def test_the_sentence_and_one_picture_are_seen_at_once(
    driver: Chrome, width: int, height: int
) -> None:
    at_size(driver, width, height)
    driver.execute_script("scrollTo(0, 0)")
    lead = driver.find_element(By.CSS_SELECTOR, ".lead")
    assert "by" in lead.text
    first = driver.find_element(By.CSS_SELECTOR, ".first .picture")
    top, bottom = first.rect["y"], first.rect["y"] + first.rect["height"]
    assert lead.rect["y"] + lead.rect["height"] <= top
    assert bottom <= height
    (shown,) = (each for each in first.find_elements(By.TAG_NAME, "svg") if each.is_displayed())
    assert shown.rect["width"] > 0.85 * min(width, 1088)


SMALL_TEXT = """
const small = [];
const parts = "p, li, td, th, dd, dt, summary, caption, svg.chart text";
for (const part of document.querySelectorAll(parts)) {
  if (!part.checkVisibility() || !part.textContent.trim()) continue;
  const size = parseFloat(getComputedStyle(part).fontSize);
  const matrix = part.ownerSVGElement ? part.getScreenCTM() : null;
  const seen = matrix ? size * Math.hypot(matrix.b, matrix.d) : size;
  if (seen < 9) small.push([part.textContent.trim().slice(0, 20), seen]);
}
return small;
"""


def test_no_letter_is_too_small_on_a_phone(driver: Chrome) -> None:
    at_size(driver, 390, 844)
    opened(driver, True)
    shown = driver.execute_script(
        "return [...document.querySelectorAll('svg.chart')].map(each => each.checkVisibility())"
    )
    assert shown.count(True) == shown.count(False) > 20  # each picture in one of its two forms
    assert driver.execute_script(SMALL_TEXT) == []
    opened(driver, False)


def test_one_is_followed_by_keyboard_and_by_touch(driver: Chrome) -> None:
    at_size(driver, 390, 844)
    driver.refresh()
    status = driver.find_element(By.CSS_SELECTOR, ".life [role=status]")
    choice = driver.find_element(By.CSS_SELECTOR, ".follow select")
    seen = (
        "return [...document.querySelectorAll('.followed')].filter(e => e.checkVisibility())"
        ".map(e => [e.dataset.of, e.closest('.picture').className.split(' ')[1]])"
    )
    choice.send_keys("2")
    assert choice.get_attribute("value") == "0/2"
    assert status.text.startswith("2 in cool: egg, L1 by ")
    shown = driver.execute_script(seen)
    assert {of for of, _ in shown} == {"0/2"}
    assert [kind for _, kind in shown] == ["progress", "progress", "growth"]
    choice.send_keys(Keys.ESCAPE)
    assert status.text == ""
    assert driver.execute_script(seen) == []
    # the second cohort's, by a touch of its row
    rows = driver.find_elements(By.CSS_SELECTOR, '.first .narrow [data-of="1/3"]')
    rows[0].click()
    assert status.text.startswith("3 in room: ")
    assert choice.get_attribute("value") == "1/3"
    assert {of for of, _ in driver.execute_script(seen)} == {"1/3"}
    driver.find_element(By.CSS_SELECTOR, ".life button").click()
    assert status.text == ""


def test_one_button_opens_everything_and_prints(driver: Chrome) -> None:
    driver.refresh()
    driver.execute_script("window.print = () => { window.asked = true; }")
    driver.find_element(By.CSS_SELECTOR, "button.print").click()
    folded = "return document.querySelectorAll('details:not([open])').length"
    assert driver.execute_script("return window.asked")
    assert driver.execute_script(folded) == 0
    driver.execute_script("dispatchEvent(new Event('afterprint'))")
    assert driver.execute_script(folded) > 10


def test_a_link_into_a_folded_part_opens_it(driver: Chrome) -> None:
    driver.refresh()
    curious = driver.find_element(By.CSS_SELECTOR, "details.curious")
    link = driver.find_element(By.CSS_SELECTOR, 'nav a[href="#methods"]')
    driver.execute_script("arguments[0].open = false; arguments[1].click()", curious, link)
    assert curious.get_attribute("open") is not None


@pytest.mark.parametrize(("width", "height"), [(8.27, 11.69), (8.5, 11)], ids=["A4", "Letter"])
def test_it_prints_on_few_pages_and_no_heading_stands_alone(
    driver: Chrome, width: float, height: float
) -> None:
    driver.refresh()
    pages = PdfReader(io.BytesIO(printed(driver, width, height))).pages
    size = pages[0].mediabox
    assert (float(size.width) / 72, float(size.height) / 72) == pytest.approx(
        (width, height), abs=0.02
    )
    assert 6 <= len(pages) <= (10 if height > 11.5 else 11)
    headings = {each.text for each in driver.find_elements(By.CSS_SELECTOR, "h2, h3")}
    for each in pages:
        lines = [line.strip() for line in each.extract_text().splitlines() if line.strip()]
        assert lines[-1] not in headings
