"""People at browsers: the keeper, lookers at tablets, and what they press."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from rearlog.web.door import Role
from rearlog.web.server import Server
from tests.browser import at_size, chromium


@contextmanager
def keeper(server: Server) -> Iterator[Chrome]:
    with chromium() as driver:
        driver.get(server.first_address())
        yield driver


@contextmanager
def looker(server: Server, initials: str) -> Iterator[Chrome]:
    """Somebody at a tablet, who comes in by the scanned address."""
    (address,) = server.desk.addresses
    with chromium() as driver:
        at_size(driver, 820, 1100)
        driver.get(f"{address}/join#{server.desk.door.codes[Role.LOOKER]}")
        until(driver, lambda: driver.find_element(By.ID, "code").get_attribute("value"))
        driver.find_element(By.ID, "initials").send_keys(initials, Keys.ENTER)
        until(driver, lambda: "/join" not in driver.current_url)
        yield driver


def until(driver: Chrome, done: Any) -> None:
    """Wait for what the page is about to do."""
    WebDriverWait(driver, 60).until(lambda _: done())


def press(driver: Chrome, label: str) -> None:
    """Press the button that is called so."""
    made = driver.find_element(By.CSS_SELECTOR, f'button[aria-label="{label}"]')
    driver.execute_script("arguments[0].scrollIntoView({block: 'center'})", made)
    made.click()


def text(driver: Chrome, name: str) -> str:
    """The words of the part of the page with this id."""
    return driver.find_element(By.ID, name).text
