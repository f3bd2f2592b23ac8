"""Lengths in a picture whose sizes are known."""

from pathlib import Path

import pytest
from PIL import Image, ImageDraw
from scipy.stats import t
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By

from rearlog.web.server import Server
from tests.browser import at_size, chromium, complaints, requested

pytestmark = pytest.mark.browser


def test_a_bar_beside_a_ruler_is_as_long_as_it_was_drawn(tmp_path: Path) -> None:
    picture = tmp_path / "picture.png"
    drawn = Image.new("RGB", (800, 400), "white")
    pen = ImageDraw.Draw(drawn)
    pen.line([(100, 100), (700, 100)], fill="black", width=3)  # 20 mm on the ruler
    pen.line([(200, 300), (245, 300)], fill="black", width=8)  # the head: 45 / 30 = 1.5 mm
    drawn.save(picture)
    (tmp_path / "shelf").mkdir()
    server = Server(tmp_path / "shelf")
    thread = server.start()
    try:
        with chromium() as driver:
            driver.get(server.first_address())
            at_size(driver, 820, 1000)
            driver.get(f"{server.address}/measure")
            before = len(requested(driver))
            driver.find_element(By.ID, "file").send_keys(str(picture))
            known = driver.find_element(By.ID, "known")
            known.clear()
            known.send_keys("20")
            canvas = driver.find_element(By.ID, "photo")
            box = canvas.rect
            for end in (245, 248, 242):
                for x, y in ((100, 100), (700, 100), (200, 300), (end, 300)):
                    dx, dy = x * box["width"] / 800, y * box["height"] / 400
                    ActionChains(driver).move_to_element_with_offset(
                        canvas, dx - box["width"] / 2, dy - box["height"] / 2
                    ).click().perform()
            told = driver.find_element(By.ID, "result").text
            value, error = (float(each) for each in told.removesuffix(" mm").split(" ± "))
            assert value == pytest.approx(1.5, abs=0.05)
            wanted = t.ppf(0.975, 2) * 0.1 / 3**0.5  # three lengths 1.4, 1.5 and 1.6 mm
            assert error == pytest.approx(wanted, abs=0.1)
            assert complaints(driver) == []
            assert before > 0
            assert [each for each in requested(driver) if each.startswith("http")] == []
    finally:
        server.close()
        thread.join(10)
