"""Charts of answers in a real Chromium, on a phone that is held upright."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By

from rearlog.web.server import Server
from tests.browser import at_size, complaints
from tests.builders import small_profile, tiny_log
from tests.web.people import keeper, until
from tests.web.shelves import put

pytestmark = pytest.mark.browser

LIVES = {"1": "egg egg L1 L1 L2 pupa pupa adult", "2": "egg egg egg L1 L1 L2 dead:mould"}
LONGER = {code: f"egg {life}" for code, life in LIVES.items()}
WRITING_OUTSIDE = """
await Promise.all([...document.fonts].map(each => each.load()));
const shown = [...document.querySelectorAll('.picture svg.chart')].filter(each => each.clientWidth);
const words = shown.flatMap(each => [...each.querySelectorAll('text')]);
const boxes = words.map(each => [each.textContent, each.getBoundingClientRect()]);
return [shown.length, words.length, Math.min(...boxes.map(([, box]) => box.height)),
  boxes.filter(([, box]) => box.left < 0 || box.right > innerWidth).map(([text]) => text)];
"""


def measured(driver: Chrome) -> tuple[int, int, float, list[str]]:
    """How many charts and words are shown, how high the lowest are, and which are outside, once the
    letters of charts have come."""
    found: tuple[int, int, float, list[str]] = driver.execute_script(
        f"return (async () => {{{WRITING_OUTSIDE}}})()"
    )
    return found


def shown(driver: Chrome, which: str) -> int:
    return sum(
        each.is_displayed()
        for each in driver.find_elements(By.CSS_SELECTOR, f".picture {which} svg.chart")
    )


@pytest.fixture(scope="module")
def teacher(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Server, Chrome]]:
    folder: Path = tmp_path_factory.mktemp("shelf")
    profile = small_profile(heat={"L1": 30.0})
    for name, lives in (("tiny", LIVES), ("other", LONGER)):
        put(folder, tiny_log(lives, profile=profile, name=name))
    server = Server(folder)
    thread = server.start()
    try:
        with keeper(server) as driver:
            yield server, driver
    finally:
        server.close()
        thread.join(10)


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize(
    ("page", "charts"),
    [
        ("cohort/tiny/answers/durations", 1),
        ("cohort/tiny/answers/survival", 1),
        ("compare?cohort=tiny&cohort=other", 3),
    ],
)
def test_all_of_a_chart_is_on_the_screen_of_a_phone_and_can_be_read(
    teacher: tuple[Server, Chrome], page: str, charts: int, *, dark: bool
) -> None:
    server, driver = teacher
    at_size(driver, 360, 740, dark=dark)
    driver.get(f"{server.address}/{page}")
    until(driver, lambda: shown(driver, ".narrow") == charts)  # the size comes into force later
    count, words, lowest, outside = measured(driver)
    assert count == charts
    assert outside == []
    assert words > 5 * charts
    assert lowest >= 9
    assert driver.execute_script("return document.documentElement.scrollWidth") <= 360
    at_size(driver, 1000, 740, dark=dark)
    until(driver, lambda: shown(driver, ".wide") == charts)
    assert measured(driver)[0] == charts
    assert complaints(driver) == []
