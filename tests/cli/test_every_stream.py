"""Every command on a screen of few letters, on a full disk, and before a reader that has left."""

import shutil
from pathlib import Path

import pytest

from rearlog.cli.main import COMMANDS
from tests.cli.calls import WORKING
from tests.cli.one_process import Device, called, full, left

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
SILENT = {"chart", "demo", "report", "practice", "sheet", "card", "export", "docs", "serve"}
"""They write a file, or wait: what they say is on standard error."""
SAYING = [each for each in COMMANDS if each not in SILENT]
NO_ROOM = "Error: the output cannot be written: no space left on device"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for name in ("REARLOG_DIR", "REARLOG_BY"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("REARLOG_SETTINGS", str(tmp_path / "settings.toml"))
    shutil.copy(SAMPLES / "room.json", "room.json")
    shutil.copy(SAMPLES / "warm.json", "other.json")
    Path("checks.csv").write_text("individual,at,stage\n1,2026-03-14,L1\n")
    return tmp_path


@pytest.mark.parametrize("command", SAYING)
def test_any_stream_will_do(command: str, folder: Path) -> None:
    """A screen that has no letter but those of ASCII; then devices that take nothing."""
    words = [command, *WORKING.get(command, ["room"])]
    screen = Device(is_screen=True)
    code, aside = called(words, screen, encoding="ascii")
    assert code in (0, 1, 2), aside
    assert screen.taken.isascii()
    if not screen.taken:
        return
    code, aside = called(words, full())
    assert code == 1
    assert aside.splitlines()[-1] == NO_ROOM
    code, aside = called(words, left())
    assert code == 0
    assert "Error" not in aside


@pytest.mark.parametrize("form", ["json", "csv"])
def test_data_on_a_full_disk_are_one_line(form: str) -> None:
    assert called(["survival", "room", "--format", form], full()) == (1, f"{NO_ROOM}\n")
    assert called(["survival", "room", "--format", form], left()) == (0, "")


@pytest.mark.parametrize("encoding", ["ascii", "cp437"])
def test_signs_that_a_screen_has_not_become_those_nearest_to_them(encoding: str) -> None:
    screen = Device(is_screen=True)
    text = "“a” ‘b’ 3–5 −2 × 20 µm, 0.1…0.2 → ≤ 3, ≥ 4, ≈ R²"
    code, aside = called(["explain", text], screen, encoding=encoding)
    plain = "\"a\" 'b' 3-5 -2 x 20 um, 0.1...0.2 -> <= 3, >= 4, ~ R2"
    known = plain if encoding == "ascii" else plain.replace("R2", "R²").replace("um", "µm")
    known = known if encoding == "ascii" else known.replace("<=", "≤").replace(">=", "≥")
    known = known if encoding == "ascii" else known.replace("~", "≈")
    assert (code, known in aside) == (2, True), aside


def test_no_answer_of_this_cohort_needs_a_letter_that_ascii_has_not() -> None:
    for words in (["compare", "room", "other"], ["heat", "room"], ["forecast", "room"]):
        screen = Device(is_screen=True)
        called(words, screen, encoding="ascii")
        shown = screen.taken.decode("ascii")
        assert shown.count("?") == shown.count("differ?"), shown
