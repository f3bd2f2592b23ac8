"""Every command that writes a file writes it whole, or says in one line why it could not."""

import os
from pathlib import Path

import pytest

from tests.cli.conftest import Run

COMMANDS = {
    "chart progress room": "chart.png",
    "table survival room": "table.tex",
    "report room": "page.html",
    "sheet room --days 2": "week.csv",
    "sheet room --days 1": "week.pdf",
    "sheet room --days 3": "week.png",
    "sheet room --tap": "round.html",
    "export room": "data",
    "export room --darwin-core": "data.zip",
}


@pytest.fixture
def logged(run: Run, room: Path) -> Path:
    run("log", "room", "all same", "--on", "2026-03-10")
    return room


def content(path: Path) -> bytes | None:
    """A file, or one of the files of a folder."""
    if path.is_dir():
        return content(sorted(path.rglob("*.csv"))[0])
    return path.read_bytes() if path.exists() else None


@pytest.mark.parametrize(("command", "name"), COMMANDS.items(), ids=COMMANDS.values())
def test_an_output_is_whole_or_as_it_was(
    run: Run, logged: Path, monkeypatch: pytest.MonkeyPatch, command: str, name: str
) -> None:
    words, path = command.split(), logged.with_name(name)

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        told = run(*words, "-o", name, fails=1).stderr.splitlines()
    assert told == [f"Error: {name} cannot be written: no space left on device; nothing changed"]
    assert not path.exists()

    run(*words, "-o", name)
    old = content(path)
    assert old
    run(*words, "-o", name, fails=2)  # without --force
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        told = run(*words, "-o", name, "--force", fails=1).stderr.splitlines()
    assert len(told) == 1
    assert content(path) == old
    run(*words, "-o", name, "--force")
    assert sorted(os.listdir(logged.parent)) == sorted([".rearlog", name, "room.json"])


@pytest.mark.parametrize(("command", "name"), COMMANDS.items(), ids=COMMANDS.values())
def test_places_that_cannot_be_are_told_in_one_line(
    run: Run, logged: Path, command: str, name: str
) -> None:
    words, ending = command.split(), Path(name).suffix
    (logged.parent / f"folder{ending}").mkdir()
    (logged.parent / f"folder{ending}" / "mine").touch()
    before = sorted(os.listdir(logged.parent))
    for place in (f"folder{ending}", f"nowhere/x{ending}", f"nul{ending}", "x" * 300 + ending):
        for force in ([], ["--force"]):
            result = run(*words, "-o", place, *force, fails=1 if len(place) > 255 else 2)
            assert len(result.stderr.splitlines()) == 1, result.stderr
    assert sorted(os.listdir(logged.parent)) == before
