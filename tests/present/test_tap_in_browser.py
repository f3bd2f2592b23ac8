"""A round tapped in Chromium, saved, and taken into the log."""

import csv
import io
import itertools
import json
import re
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from msgspec.structs import replace
from selenium.webdriver import Chrome, Keys
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.ui import WebDriverWait

from rearlog.cli.main import main
from rearlog.exchange.formula_text import disarmed
from rearlog.present.tap import tap_page, tap_round
from rearlog.records.fields import FIELDS
from rearlog.records.log import Individual, Observation
from tests.browser import accessibility_violations, at_size, chromium, complaints, requested
from tests.builders import START, moment, seen, tiny_log

pytestmark = pytest.mark.browser

NOTE = "=2+3, it was \"quite\" pale; 'grey'\nand wandered – überall"
LONG = "W" * 24
WRITTEN = moment(5)
CONTROLS = "button, input, textarea, select, summary, a"

# The browser's clock stands so that the present is the moment given, and goes on from there.
CLOCK = """(() => {
    const Real = Date, shift = Real.parse("%s") - Real.now();
    window.Date = class extends Real {
        constructor(...given) { if (given.length) super(...given); else super(Real.now() + shift); }
        static now() { return Real.now() + shift; }
    };
})()"""
NO_STORAGE = """Object.defineProperty(window, "localStorage", {
    get() { throw new DOMException("denied", "SecurityError"); }
})"""

Script = Callable[[str], None]


@pytest.fixture(scope="module")
def downloads(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("downloads")


@pytest.fixture(scope="module")
def driver(downloads: Path) -> Iterator[Chrome]:
    with chromium(downloads=downloads) as browser:
        yield browser


@pytest.fixture
def before_the_page(driver: Chrome) -> Iterator[Script]:
    """Run a script before any of a page's own, in pages opened from now on."""
    added = []

    def add(source: str) -> None:
        command = "Page.addScriptToEvaluateOnNewDocument"
        added.append(driver.execute_cdp_cmd(command, {"source": source})["identifier"])

    yield add
    for each in added:
        command = "Page.removeScriptToEvaluateOnNewDocument"
        driver.execute_cdp_cmd(command, {"identifier": each})


@pytest.fixture
def tapped(driver: Chrome, before_the_page: Script, tmp_path: Path) -> Callable[..., Chrome]:
    """Open a page of six that was written at 09:00 on 14 March, 12 minutes ago on its clock."""
    numbers = itertools.count()

    def opened(written: datetime = WRITTEN, clock: datetime | None = None, **extra: Any) -> Chrome:
        lives = {"1": "egg L1", "2": "egg L1", "3": "egg L1 L2", "4": "egg dead:mould", "5": "egg"}
        log = tiny_log(lives | {"6": "egg"} | extra.get("more", {}))
        log = log.with_checks(extra.get("looks", ()))
        header = replace(log.cohort, name=extra.get("name", tmp_path.name))
        log = replace(log, cohort=header)
        page = tmp_path / f"{next(numbers)}.html"
        page.write_text(tap_page(tap_round(log, written)), encoding="utf-8")
        before_the_page(CLOCK % (clock or written + timedelta(minutes=12)).isoformat())
        driver.get(page.as_uri())
        return driver

    return opened


def named(driver: Chrome, label: str) -> WebElement:
    return driver.find_element(By.CSS_SELECTOR, f'[aria-label="{label}"]')


def tap(driver: Chrome, *labels: str) -> None:
    """Tap what bears these names, such as `2: Change, note`, where a finger would find it."""
    for label in labels:
        each = named(driver, label)
        driver.execute_script("arguments[0].scrollIntoView({block: 'center'})", each)
        each.click()


def press(driver: Chrome, button: str) -> None:
    each = driver.find_element(By.ID, button)
    driver.execute_script("arguments[0].scrollIntoView({block: 'center'})", each)
    each.click()


def retype(field: WebElement, text: str) -> None:
    field.send_keys(Keys.CONTROL, "a", Keys.NULL, text or Keys.BACKSPACE)


def words(driver: Chrome, place: str) -> str:
    return driver.find_element(By.ID, place).text


def outcomes(driver: Chrome) -> dict[str, str]:
    """What each card says was seen, without the time."""
    cards = driver.find_elements(By.TAG_NAME, "article")
    texts = {
        card.find_element(By.TAG_NAME, "h2").text: card.find_element(By.CLASS_NAME, "seen").text
        for card in cards
    }
    return {
        code: " · ".join(part for part in text.split(" · ") if not part[:2].isdecimal())
        for code, text in texts.items()
    }


def rows(driver: Chrome) -> list[dict[str, str]]:
    """The round as the page offers it to be copied."""
    driver.execute_script("document.getElementById('text').open = true")
    box = driver.find_element(By.ID, "csv")
    WebDriverWait(driver, 60).until(lambda _: box.get_property("value"))
    return list(csv.DictReader(io.StringIO(str(box.get_property("value")), newline="")))


def downloaded(driver: Chrome, folder: Path, save: Callable[[], None]) -> Path:
    """The file that a tap saves, once the browser has written it: it makes an empty one first."""
    before = set(folder.glob("*.csv"))

    def whole(_: Chrome) -> Path | None:
        new = set(folder.glob("*.csv")) - before
        return next((each for each in new if each.stat().st_size > 0), None)

    save()
    found: Path = WebDriverWait(driver, 10).until(whole)  # type: ignore[assignment]
    return found


def rearlog(*line: str) -> str:
    result = CliRunner().invoke(main, line, catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.output


def test_a_round_survives_the_browser_and_comes_into_the_log_as_it_was_tapped(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("REARLOG_DIR", str(tmp_path))
    rearlog("start", "room", "--species", "painted-lady", "--eggs", "5", "--on", "2026-03-09")
    rearlog("log", "room", "1-3 L1; rest same", "--on", "2026-03-12")
    rearlog("sheet", "room", "--tap", "-o", "round.html")
    page = (tmp_path / "round.html").as_uri()
    begun = datetime.now().astimezone().replace(microsecond=0)
    with chromium(profile=tmp_path / "profile") as driver:
        driver.get(page)
        driver.find_element(By.ID, "by").send_keys("KT")
        tap(driver, "1: No change", "5: No change")
        tap(driver, "2: Change, note", "2: L2", "2: Change, note", "2: I saw it happen")
        named(driver, "2: head width (mm)").send_keys("0,58")
        tap(driver, "3: Change, note", "3: dead")
        named(driver, "3: Cause").send_keys("mould")
        tap(driver, "4: Change, note", "4: More stages", "4: L3")
        tap(driver, "5: Change, note")
        named(driver, "5: Note").send_keys(NOTE)
        before = outcomes(driver)
        assert words(driver, "count") == "All 5 looked at"
        assert complaints(driver) == []
    with chromium(profile=tmp_path / "profile", downloads=tmp_path) as driver:
        driver.get(page)
        assert outcomes(driver) == before
        assert driver.find_element(By.ID, "by").get_property("value") == "KT"
        file = downloaded(driver, tmp_path, lambda: press(driver, "save"))
        assert file.name in words(driver, "saving")
    ended = datetime.now().astimezone()
    titles = next(csv.reader(file.read_text(encoding="utf-8-sig").splitlines()))
    assert titles == [each.name for each in FIELDS]
    assert "Imported 5 checks" in rearlog("import", "room", file.name)
    found = json.loads(rearlog("history", "room", "--format", "json"))["observations"][-5:]
    told = {each["individual"]: each for each in found}
    said = {code: (each["stage"], each["fate"], each["same"]) for code, each in told.items()}
    assert said == {
        "1": (None, None, True),
        "2": ("L2", None, False),
        "3": (None, "dead", False),
        "4": ("L3", None, False),
        "5": (None, None, True),
    }
    given = {code: {name for name, value in each.items() if value} for code, each in told.items()}
    always = {"individual", "at", "by", "number", "entered"}
    assert given["1"] == always | {"same"}
    assert given["4"] == always | {"stage"}
    assert given["2"] == always | {"stage", "witnessed", "head_width_mm"}
    assert (told["2"]["head_width_mm"], told["3"]["cause"]) == (0.58, "mould")
    assert told["5"]["note"] == NOTE
    assert {each["by"] for each in found} == {"KT"}
    moments = [datetime.fromisoformat(each["at"]) for each in found]
    assert all(begun <= each <= ended for each in moments)
    assert all(each.utcoffset() == begun.utcoffset() for each in moments)
    assert "5 were in the log already" in rearlog("import", "room", file.name)


def test_eggs_and_a_mate_are_told_of_adults_alone(tapped: Callable[..., Chrome]) -> None:
    grown = [
        seen("7", 2, "adult", sex="f", mate="8"),
        seen("8", 2, "adult", sex="m"),
        seen("9", 2, "adult", mate="cage-1"),
    ]
    driver = tapped(more=dict.fromkeys("789", "pupa adult"), looks=grown)
    about = {each.text for each in driver.find_elements(By.CLASS_NAME, "about")}
    assert about == {"with 8", "in cage-1"}
    eggs = "[aria-label$=': eggs']"
    tap(driver, "1: No change", "1: Change, note")
    assert driver.find_elements(By.CSS_SELECTOR, eggs) == []
    tap(driver, "8: No change", "8: Change, note")
    assert driver.find_elements(By.CSS_SELECTOR, eggs) == []
    named(driver, "8: mate or cage, from now on").send_keys("cage 2")
    tap(driver, "7: No change", "7: Change, note")
    field = named(driver, "7: eggs")
    assert field.get_attribute("inputmode") == "numeric"
    field.send_keys("-3")
    press(driver, "save")
    assert words(driver, "problems").splitlines() == [
        "7: eggs “-3” write a whole number, 0 for none",
        "8: mate or cage “cage 2” write a code, or the name of a cage such as cage-1",
    ]
    retype(named(driver, "7: eggs"), "0")
    retype(named(driver, "8: mate or cage, from now on"), "cage-2")
    named(driver, "7: eggs hatched").send_keys("1000001")
    assert "cannot be: more than 1000000 eggs" in driver.page_source
    retype(named(driver, "7: eggs hatched"), "12")
    tap(driver, "9: No change", "9: Change, note")
    assert "all in cage-1" in driver.page_source
    named(driver, "9: eggs").send_keys("5")
    tap(driver, "9: dead")
    assert outcomes(driver)["7"] == "✓ no change · eggs: 0 · eggs hatched: 12"
    assert outcomes(driver)["8"] == "✓ no change · with, or in: cage-2"
    told = {row["individual"]: (row["eggs"], row["hatched"], row["mate"]) for row in rows(driver)}
    assert told == {
        "1": ("", "", ""), "7": ("0", "12", ""), "8": ("", "", "cage-2"), "9": ("5", "", "")
    }  # fmt: skip
    assert accessibility_violations(driver) == []
    assert complaints(driver) == []


def test_eggs_typed_before_the_stage_was_changed_are_not_saved(
    tapped: Callable[..., Chrome],
) -> None:
    driver = tapped(more={"7": "egg L1 L2 pupa"})
    tap(driver, "7: Change, note", "7: adult", "7: Change, note")
    named(driver, "7: eggs").send_keys("5")
    assert [row["eggs"] for row in rows(driver)] == ["5"]
    tap(driver, "7: No change")
    assert [row["eggs"] for row in rows(driver)] == [""]


def test_it_asks_for_nothing_and_complains_of_nothing(tapped: Callable[..., Chrome]) -> None:
    driver = tapped()
    requested(driver)
    complaints(driver)
    driver.refresh()
    tap(driver, "1: No change", "2: Change, note", "2: dead")
    press(driver, "save")
    assert complaints(driver) == []
    assert {address.split(":")[0] for address in requested(driver)} <= {"file", "blob"}


def spread_out(driver: Chrome) -> None:
    """Show every control that the page has."""
    tap(driver, "1: Change, note", "2: Change, note", "2: removed", "3: No change")
    tap(driver, "3: Change, note", "3: More stages", "5: No change", "5: Undo")
    named(driver, "2: mass (mg)").send_keys("much")
    named(driver, "2: Note").send_keys(LONG * 4)
    press(driver, "save")
    tap(driver, "2: mass (mg)")
    retype(named(driver, "2: mass (mg)"), "")
    press(driver, "save")
    press(driver, "new")
    tap(driver, "1: Change, note", "3: Change, note", "3: lost", "5: No change")
    press(driver, "save")
    driver.execute_script("for (const e of document.querySelectorAll('details')) e.open = true")
    named(driver, "3: mass (mg)").send_keys("much")
    press(driver, "save")


@pytest.mark.parametrize("width", [360, 1024])
def test_a_finger_finds_every_control_and_nothing_is_wider_than_the_screen(
    tapped: Callable[..., Chrome], width: int
) -> None:
    driver = tapped(more={LONG: "egg"}, name=f"{LONG}{width}")
    at_size(driver, width)
    spread_out(driver)
    shown = [
        each for each in driver.find_elements(By.CSS_SELECTOR, CONTROLS) if each.is_displayed()
    ]
    assert len(shown) > 40
    sizes = {each.get_attribute("aria-label") or each.text: each.size for each in shown}
    assert {
        name: size for name, size in sizes.items() if min(size["width"], size["height"]) < 44
    } == {}
    assert driver.execute_script("return document.documentElement.scrollWidth") <= width
    beyond = [each for each in shown if each.rect["x"] + each.rect["width"] > width]
    assert beyond == []


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_nothing_serious_stands_in_anyones_way(tapped: Callable[..., Chrome], dark: bool) -> None:
    driver = tapped()
    at_size(driver, 1024, dark=dark)
    assert accessibility_violations(driver) == []
    spread_out(driver)
    assert accessibility_violations(driver) == []


def test_what_was_tapped_can_be_taken_back_and_put_back(tapped: Callable[..., Chrome]) -> None:
    driver = tapped()
    tap(driver, "1: Change, note", "1: L2", "1: Change, note")
    named(driver, "1: Note").send_keys("pale")
    assert outcomes(driver)["1"] == "→ L2 · “pale”"
    assert words(driver, "count") == "1 looked at, 4 left"
    tap(driver, "1: Undo")
    assert outcomes(driver)["1"] == "not looked at yet"
    assert words(driver, "count") == "0 looked at, 5 left"
    driver.refresh()
    tap(driver, "1: Put back")
    assert outcomes(driver)["1"] == "→ L2 · “pale”"
    tap(driver, "1: No change")
    assert outcomes(driver)["1"] == "✓ no change · “pale”"
    tap(driver, "1: Undo", "1: No change")
    assert outcomes(driver)["1"] == "✓ no change"
    tap(driver, "1: Undo")
    assert outcomes(driver)["1"] == "not looked at yet"


def test_a_second_tap_on_the_same_changes_nothing(tapped: Callable[..., Chrome]) -> None:
    driver = tapped()
    tap(driver, "1: No change")
    (first,) = rows(driver)
    driver.execute_script(CLOCK % "2026-03-14T10:00:00+00:00")
    tap(driver, "1: No change")
    assert rows(driver) == [first]
    tap(driver, "1: Change, note", "1: L2")
    assert (rows(driver)[0]["stage"], rows(driver)[0]["at"][:14]) == ("L2", "2026-03-14T10:")


def test_times_have_the_offset_of_the_device(tapped: Callable[..., Chrome]) -> None:
    driver = tapped()
    for zone, at in (
        ("America/St_Johns", "2026-03-14T06:42:"),
        ("Asia/Kolkata", "2026-03-14T14:42:"),
    ):
        driver.execute_cdp_cmd("Emulation.setTimezoneOverride", {"timezoneId": zone})
        tap(driver, "1: No change")
        (row,) = rows(driver)
        assert row["at"].startswith(at)
        since = datetime.fromisoformat(row["at"]) - WRITTEN
        assert timedelta(minutes=12) <= since < timedelta(minutes=13)
        tap(driver, "1: Undo")
    driver.execute_cdp_cmd("Emulation.setTimezoneOverride", {"timezoneId": ""})


def test_a_new_round_begins_where_the_one_before_ended(
    tapped: Callable[..., Chrome], downloads: Path
) -> None:
    driver = tapped()
    tap(driver, "1: Change, note", "1: L2", "2: Change, note", "2: dead", "3: No change")
    assert not driver.find_element(By.ID, "new").is_displayed()
    first = downloaded(driver, downloads, lambda: press(driver, "save"))
    press(driver, "new")
    assert words(driver, "count") == "0 looked at, 4 left"
    assert list(outcomes(driver)) == ["1", "3", "5", "6"]
    driver.refresh()
    tap(driver, "1: No change", "3: No change")
    assert [(each["individual"], each["stage"]) for each in rows(driver)] == [
        ("1", "L2"),
        ("3", "L2"),
    ]
    driver.execute_script("document.getElementById('earlier').open = true")
    text = first.read_text(encoding="utf-8")
    first.unlink()
    button = driver.find_element(By.CSS_SELECTOR, "#rounds button")
    again = downloaded(driver, downloads, button.click)
    assert again.read_text(encoding="utf-8") == text


def test_two_devices_never_save_under_one_name(
    tapped: Callable[..., Chrome], downloads: Path
) -> None:
    names = set()
    for _ in range(2):
        driver = tapped()
        driver.execute_script("localStorage.clear()")
        driver.refresh()
        tap(driver, "1: No change")
        save = partial(press, driver, "save")
        names.add(downloaded(driver, downloads, save).name)
    assert len({name.rsplit("-", 1)[1] for name in names}) == 2
    assert all(re.fullmatch(r".*-\d{4}-\d\d-\d\d-\d{6}-[a-z0-9]{4}\.csv", name) for name in names)


def test_what_is_changed_after_saving_is_to_be_saved_again(tapped: Callable[..., Chrome]) -> None:
    driver = tapped()
    tap(driver, "1: No change")
    assert "1 checks, not saved yet. The 4 not looked at" in words(driver, "saving")
    press(driver, "save")
    assert "1 checks were saved at 09:12" in words(driver, "saving")
    tap(driver, "2: No change")
    assert "Changed since it was saved at 09:12: save it again" in words(driver, "saving")
    assert not driver.find_element(By.ID, "new").is_displayed()


def test_it_says_what_may_be_wrong_with_its_time(tapped: Callable[..., Chrome]) -> None:
    assert not tapped().find_element(By.ID, "notices").is_displayed()
    driver = tapped(clock=moment(6))
    assert "written on 2026-03-14, and this device says that today is 2026-03-15" in words(
        driver, "notices"
    )
    assert named(driver, "1: No change").find_element(By.XPATH, "../..").text.count("L1, 5 days")
    driver = tapped(clock=WRITTEN - timedelta(minutes=3))
    assert "clock is behind" in words(driver, "notices")


def test_it_reminds_of_rounds_that_were_never_saved(
    tapped: Callable[..., Chrome], downloads: Path
) -> None:
    tap(tapped(), "1: No change", "2: Change, note", "2: dead")
    driver = tapped(clock=moment(6))
    assert "begun on 2026-03-14" in words(driver, "notices")
    driver = tapped(written=moment(6))
    assert "older page was never saved" in words(driver, "notices")
    assert words(driver, "count") == "0 looked at, 5 left"
    driver.execute_script("document.getElementById('earlier').open = true")
    assert "2026-03-14 09:12, 2 checks, not saved" in words(driver, "rounds")
    button = driver.find_element(By.CSS_SELECTOR, "#rounds button")
    file = downloaded(driver, downloads, button.click)
    found = list(csv.DictReader(io.StringIO(file.read_text(encoding="utf-8-sig"))))
    assert [(each["individual"], each["fate"]) for each in found] == [("1", ""), ("2", "dead")]
    assert not driver.find_element(By.ID, "notices").is_displayed()
    listed = "return document.getElementById('rounds').textContent"
    assert "2 checks, saved" in driver.execute_script(listed)
    driver = tapped(written=moment(40))
    assert driver.execute_script(listed) == ""


def test_it_says_when_nothing_is_kept(
    driver: Chrome, tapped: Callable[..., Chrome], before_the_page: Script, downloads: Path
) -> None:
    leave = "return dispatchEvent(new Event('beforeunload', {cancelable: true}))"
    tap(tapped(), "1: No change")
    assert driver.execute_script(leave)
    before_the_page(NO_STORAGE)
    complaints(driver)
    tapped()
    assert "this browser keeps nothing" in words(driver, "notices")
    assert driver.execute_script(leave)
    tap(driver, "1: No change")
    assert not driver.execute_script(leave)
    downloaded(driver, downloads, lambda: press(driver, "save"))
    press(driver, "new")
    assert words(driver, "count") == "0 looked at, 5 left"
    tap(driver, "1: No change", "1: Undo")
    assert complaints(driver) == []


def test_a_measure_that_cannot_be_is_not_saved(
    tapped: Callable[..., Chrome], downloads: Path
) -> None:
    driver = tapped()
    tap(driver, "1: No change", "1: Change, note")
    before = set(downloads.glob("*"))
    for text in ("0", "-3", "3 mm", "1e3", "."):
        retype(named(driver, "1: length (mm)"), text)
        press(driver, "save")
        assert f"1: length “{text}” write a number" in words(driver, "problems")
        assert "not saved yet" in words(driver, "saving")
    tap(driver, "1: Done")
    driver.find_element(By.CSS_SELECTOR, "#problems button").click()
    assert driver.switch_to.active_element == named(driver, "1: length (mm)")
    assert set(downloads.glob("*")) == before
    retype(named(driver, "1: length (mm)"), "12,5")
    assert words(driver, "problems") == ""
    assert rows(driver)[0]["length_mm"] == "12.5"


TEXTS = [
    *("=1+1", "+1", "-1", "@x", "'=x", "''+", "'plain", "＝1", "plain", "a=b", "x;y", "x,y", '"q"'),
    *("'", "two\nlines", "-\n-", "…", "\u2028=", "a'=b"),
]


def test_texts_are_written_as_the_log_writes_them(tapped: Callable[..., Chrome]) -> None:
    driver = tapped()
    tap(driver, "1: Change, note", "1: dead")
    write = "[arguments[0].value] = [arguments[1]]; arguments[0].dispatchEvent(new Event('input'))"
    for text in TEXTS:
        driver.execute_script(write, named(driver, "1: Note"), text)
        driver.execute_script(write, named(driver, "1: Cause"), text.replace("\n", " "))
        (row,) = rows(driver)
        assert row["note"] == disarmed(text.strip())
        assert row["cause"] == disarmed(text.strip().replace("\n", " "))


def test_text_of_the_log_is_shown_as_it_is(
    tapped: Callable[..., Chrome], driver: Chrome, tmp_path: Path
) -> None:
    hostile = '</script><img src="x" onerror="document.title=1">'
    individual = Individual("1", START, "egg", container=hostile)
    log = replace(tiny_log({"1": "egg"}), individuals=(individual,))
    checks = (Observation("1", moment(1), "egg", note=hostile),)
    header = replace(log.cohort, place=hostile)
    page = tmp_path / "hostile.html"
    log = replace(log, cohort=header, all_observations=checks)
    page.write_text(tap_page(tap_round(log, moment(5))), encoding="utf-8")
    driver.get(page.as_uri())
    assert driver.find_element(By.CLASS_NAME, "about").text == f"{hostile} · last note: “{hostile}”"
    assert driver.find_elements(By.TAG_NAME, "img") == []
    assert driver.title == "tiny – round of checks"


def test_only_what_may_come_next_is_offered_at_once(tapped: Callable[..., Chrome]) -> None:
    driver = tapped()
    tap(driver, "1: Change, note")
    panel = driver.find_element(By.CSS_SELECTOR, ".panel:not([hidden])")

    def offered() -> list[str]:
        buttons = panel.find_elements(By.TAG_NAME, "button")
        return [each.text for each in buttons if each.is_displayed()]

    assert offered() == ["L2", "L3", "More …", "dead", "lost", "removed", "Done"]
    tap(driver, "1: More stages")
    assert offered()[:4] == ["L2", "L3", "pupa", "adult"]
    tap(driver, "1: pupa", "1: Change, note")
    assert "I saw it happen" not in offered()  # a pupa cannot come right after L1
    tap(driver, "1: L2", "1: Change, note")
    assert "I saw it happen" in offered()


def test_causes_of_before_are_one_tap(tapped: Callable[..., Chrome]) -> None:
    driver = tapped()
    tap(driver, "1: Change, note", "1: dead", "1: mould")
    assert outcomes(driver)["1"] == "✕ dead (mould)"
    retype(named(driver, "1: Cause"), "ants")
    tap(driver, "2: Change, note", "2: dead", "2: ants")
    assert outcomes(driver)["2"] == "✕ dead (ants)"
    tap(driver, "2: ants")
    assert outcomes(driver)["2"] == "✕ dead"
    tap(driver, "2: lost", "2: removed")
    assert "check local rules" in driver.find_element(By.ID, "card-1-panel").text


def test_a_keyboard_does_it_all(tapped: Callable[..., Chrome]) -> None:
    driver = tapped()

    def key(*keys: str) -> str:
        for each in keys:
            driver.switch_to.active_element.send_keys(each)
        return driver.switch_to.active_element.accessible_name

    driver.find_element(By.ID, "next").send_keys(Keys.ENTER)
    assert key() == "1: No change"
    assert key(Keys.ENTER, Keys.TAB, Keys.ENTER, Keys.TAB) == "1: L2"
    assert key(Keys.ENTER) == "1: Change, note"
    assert outcomes(driver)["1"] == "→ L2"
    driver.find_element(By.ID, "next").send_keys(Keys.ENTER)
    assert key() == "2: No change"
    assert key(Keys.TAB, Keys.ENTER, *[Keys.TAB] * 4, Keys.ENTER) == "2: dead"
    tap(driver, "3: No change", "5: No change", "6: No change")
    assert words(driver, "next") == "To saving"
    driver.find_element(By.ID, "next").send_keys(Keys.ENTER)
    assert key(Keys.TAB) == "Save as a file"


def test_next_goes_round_those_that_are_left(tapped: Callable[..., Chrome]) -> None:
    driver = tapped()
    tap(driver, "2: No change")
    found = []
    for _ in range(5):
        press(driver, "next")
        found.append(driver.switch_to.active_element.accessible_name)
    assert found == [f"{code}: No change" for code in (3, 5, 6, 1, 3)]


def test_initials_entered_late_are_those_of_the_checks_before(
    tapped: Callable[..., Chrome],
) -> None:
    driver = tapped()
    retype(driver.find_element(By.ID, "by"), "")
    tap(driver, "1: No change")
    driver.find_element(By.ID, "by").send_keys("KT")
    tap(driver, "2: No change")
    retype(driver.find_element(By.ID, "by"), "MB")
    tap(driver, "3: No change")
    assert [each["by"] for each in rows(driver)] == ["KT", "KT", "MB"]


def test_the_text_can_be_copied_where_files_cannot_be_saved(
    tapped: Callable[..., Chrome],
) -> None:
    driver = tapped()
    tap(driver, "1: No change")
    rows(driver)
    driver.execute_script(
        "document.addEventListener('copy', () => window.copied = String(getSelection()))"
    )
    press(driver, "copy")
    assert driver.execute_script("return window.copied").startswith("individual,at,")
    assert words(driver, "copied") == "Copied."
    assert driver.find_element(By.ID, "new").is_displayed()


def test_two_windows_with_the_page_tell_each_other(tapped: Callable[..., Chrome]) -> None:
    driver = tapped()
    first, address = driver.current_window_handle, driver.current_url
    driver.switch_to.new_window("tab")
    driver.get(address)
    tap(driver, "1: No change")
    driver.close()
    driver.switch_to.window(first)
    WebDriverWait(driver, 60).until(lambda _: outcomes(driver)["1"] == "✓ no change")
    tap(driver, "2: No change")
    assert len(rows(driver)) == 2
