"""Driving the commands as a person would, in a folder of one's own."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from rearlog.cli.main import main
from rearlog.web import server
from tests.schemas import validated

Run = Callable[..., Result]


def history(run: Run) -> dict[str, Any]:
    """The records of the cohort `room`."""
    found: dict[str, Any] = json.loads(run("history", "room", "--format", "json").stdout)
    return found


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder that is the current one, where cohorts are looked up."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("REARLOG_DIR", raising=False)
    monkeypatch.delenv("REARLOG_BY", raising=False)
    monkeypatch.setenv("COLUMNS", "100")
    return tmp_path


@pytest.fixture
def run(folder: Path) -> Run:
    """Run a command that must succeed; `fails=CODE` for one that must fail with that exit code."""

    def invoke(*words: str, fails: int = 0, text: str | None = None) -> Result:
        result = CliRunner().invoke(main, words, input=text, catch_exceptions=False)
        assert result.exit_code == fails, result.output
        if "json" in words and result.stdout and fails == 0:
            validated(result.stdout)  # every JSON answer of every test is as its schema says
        return result

    return invoke


@pytest.fixture
def room(run: Run, folder: Path) -> Path:
    """A cohort of five painted ladies, started as eggs on 2026-03-09 in UTC."""
    run("start", "room", "--species", "painted-lady", "--eggs", "5", "--on", "2026-03-09",
        "--laid", "2026-03-08", "--zone", "UTC")  # fmt: skip
    return folder / "room.json"


@pytest.fixture
def no_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    """A server that is opened ends at once, on any port, and opens no browser."""
    bound = server._bound
    monkeypatch.setattr(server, "_bound", lambda host, _port: bound(host, 0))
    monkeypatch.setattr(server, "own_address", lambda: "127.0.0.2")
    monkeypatch.setattr(server.Server, "run", lambda _server: None)
    monkeypatch.setattr("webbrowser.open", lambda _address: True)
