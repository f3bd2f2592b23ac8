"""The last handler tells of what nobody foresaw, and hides nothing."""

import ast
import os
import re
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

import rearlog
from rearlog.cli.main import COMMANDS, main
from rearlog.cli.unforeseen import DEBUG, EXIT_CODE
from tests.cli.conftest import Run

ROOT = Path(rearlog.__file__).parent
FAILING = """
import click
from rearlog.cli import main as program

@click.command()
def broken_command():
    raise LookupError("a secret of the log")

program.LazyGroup.get_command = lambda *_: broken_command
program.main(["log"])
"""


def test_it_is_one_line_and_a_file(tmp_path: Path) -> None:
    environment = {name: os.environ[name] for name in os.environ if name != DEBUG}
    told = subprocess.run(
        [sys.executable, "-c", FAILING],
        capture_output=True,
        text=True,
        env=environment | {"TMPDIR": str(tmp_path)},
        timeout=60,
    )
    assert told.returncode == EXIT_CODE
    assert told.stdout == ""
    [line] = told.stderr.splitlines()
    assert line.startswith("Error: rearlog itself failed (LookupError)")
    assert "Traceback" not in line
    [details] = tmp_path.glob("rearlog-error-*.txt")
    assert str(details) in line
    assert "broken_command" in details.read_text(encoding="utf-8")
    assert rearlog.__version__ in details.read_text(encoding="utf-8")
    if os.name != "nt":
        assert details.stat().st_mode & 0o077 == 0, "others must not read it"


def test_nothing_is_hidden_from_a_test(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    assert os.environ[DEBUG], "the whole test run is to see every error"

    def broken(*_: object) -> click.Command:
        raise LookupError("nobody foresaw this")

    monkeypatch.setattr(type(main), "get_command", broken)
    with pytest.raises(LookupError, match="nobody foresaw this"):
        run("log", "room", "all same")


def test_no_error_is_caught_blindly_anywhere_else() -> None:
    """Nothing but the last handler takes whatever comes, and who works for others that wait and
    raises it to each of them; the others name what they expect."""
    found = {
        f"{path.relative_to(ROOT).as_posix()}: {ast.unparse(node.type) if node.type else 'all'}"
        for path in ROOT.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ExceptHandler)
        and (node.type is None or re.search(r"\b(Base)?Exception\b", ast.unparse(node.type)))
    }
    assert found == {
        "cli/main.py: Exception",
        "web/shelf.py: BaseException",
        "processes.py: Exception",
    }


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_stands_under_it(command: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Even an error on the way to a command, in its options, is told in a line."""
    monkeypatch.delenv(DEBUG)
    monkeypatch.setattr("rearlog.cli.unforeseen._kept", lambda error: "FILE")

    def broken(*_: object, **__: object) -> None:
        raise LookupError

    monkeypatch.setattr(click.Command, "make_context", broken)
    told = CliRunner().invoke(main, [command], catch_exceptions=False)
    assert told.exit_code == EXIT_CODE
    assert told.output.count("\n") == 1
