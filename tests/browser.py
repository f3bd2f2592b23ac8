"""A real Chromium for tests of pages."""

import base64
import json
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from selenium.webdriver import Chrome, ChromeOptions
from selenium.webdriver.chrome.service import Service

SWITCHES = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)


@contextmanager
def chromium(profile: Path | None = None, downloads: Path | None = None) -> Iterator[Chrome]:
    """A headless Chromium; the same `profile` folder keeps what pages have stored."""
    with tempfile.TemporaryDirectory() as scratch:
        options = ChromeOptions()
        options.binary_location = "/usr/bin/chromium"
        for switch in (*SWITCHES, f"--user-data-dir={profile or scratch}"):
            options.add_argument(switch)
        options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
        if downloads is not None:
            options.add_experimental_option("prefs", {"download.default_directory": str(downloads)})
        driver = Chrome(options=options, service=Service("/usr/bin/chromedriver"))
        try:
            yield driver
        finally:
            driver.quit()


def at_size(driver: Chrome, width: int, height: int = 800, *, dark: bool = False) -> None:
    """Make the page as wide as a phone or a screen, light or dark."""
    driver.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600},
    )
    scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [scheme]})


def complaints(driver: Chrome) -> list[str]:
    """What the page wrote to the console as a warning or worse."""
    return [
        entry["message"]
        for entry in driver.get_log("browser")
        if entry["level"] in ("WARNING", "SEVERE")
    ]


def requested(driver: Chrome) -> list[str]:
    """The addresses that the page asked for."""
    messages = [json.loads(entry["message"])["message"] for entry in driver.get_log("performance")]
    return [
        message["params"]["request"]["url"]
        for message in messages
        if message["method"] == "Network.requestWillBeSent"
    ]


def printed(driver: Chrome, width_in: float, height_in: float) -> bytes:
    """The page as PDF on paper of that size."""
    asked = {"paperWidth": width_in, "paperHeight": height_in, "preferCSSPageSize": False}
    return base64.b64decode(driver.execute_cdp_cmd("Page.printToPDF", asked)["data"])


def accessibility_violations(driver: Chrome) -> list[dict[str, Any]]:
    """What axe-core finds to be serious or critical. `$AXE_CORE` is the path of axe.min.js."""
    source = Path(os.environ["AXE_CORE"]).read_text(encoding="utf-8")
    driver.execute_script(source)
    driver.set_script_timeout(300)  # thousands of parts, on a machine with other work
    found = driver.execute_async_script(
        "const done = arguments[arguments.length - 1];"
        "axe.run(document, {resultTypes: ['violations']}).then(r => done(r.violations));"
    )
    return [
        {"rule": each["id"], "where": [node["target"] for node in each["nodes"]][:5]}
        for each in found
        if each["impact"] in ("serious", "critical")
    ]
