"""What the README shows is what the program prints."""

import re
import shlex
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from rearlog.cli.main import main

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
CONSOLE = re.compile(r"```console\n(.*?)```", re.S)


def shown() -> list[tuple[str, str]]:
    """Every command in the README with the output that stands beneath it."""
    found = []
    for block in CONSOLE.findall(README.read_text(encoding="utf-8")):
        for part in re.split(r"^\$ ", block, flags=re.M)[1:]:
            command, _, output = part.partition("\n")
            found.append((command, output))
    return found


def printed(command: str) -> str:
    """What a command prints, without the blanks at the ends of lines."""
    words = shlex.split(command)
    assert words[0] == "rearlog"
    text = CliRunner().invoke(main, words[1:]).output
    return "".join(f"{line.rstrip()}\n" for line in text.splitlines())


def run_tour(folder: Path, monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, str, str]]:
    shutil.copytree(ROOT / "sample_cohorts", folder / "sample_cohorts")
    monkeypatch.chdir(folder)
    monkeypatch.delenv("REARLOG_DIR", raising=False)
    monkeypatch.delenv("REARLOG_BY", raising=False)
    monkeypatch.setenv("COLUMNS", "100")
    return [(command, output, printed(command)) for command, output in shown()]


def test_the_tour_prints_what_the_readme_shows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps = run_tour(tmp_path, monkeypatch)
    assert len(steps) > 10
    for command, output, now in steps:
        assert now == output, command


def test_the_job_stands_first() -> None:
    first = README.read_text(encoding="utf-8").split("\n\n")[1]
    assert "look at each one every day" in first
