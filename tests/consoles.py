"""What documents show of the terminal: commands, and what they print.

`python -m tests.consoles` writes all outputs anew; read what is different before you keep it.
"""

from __future__ import annotations

import contextlib
import doctest
import glob
import io
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import click
from click.testing import CliRunner

import rearlog
from rearlog.cli.main import LazyGroup, main

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
DOCUMENTS = Path(rearlog.__file__).parent / "documents"
BLOCK = re.compile(r"^```(console|python|sh)\n(.*?)^```$", re.S | re.M)
ONLY_UNDERSTOOD = ("serve", "check", "docs")
"""Commands that wait for somebody; what a page asks of them is read, and not run."""
WITHOUT_RUNNING = re.compile(
    r"^(python3 -m venv|\.venv/bin/|pip install|\. \.venv|rearlog-app)", re.M
)
"""Blocks that set a machine up: they are run by whoever follows them on a new one."""


SIMPLE = re.compile(r"rearlog [^$;|<>&]*")
"""What needs no shell."""


def pages() -> list[Path]:
    """The README and every document."""
    return [README, *sorted(DOCUMENTS.glob("*.md"))]


@contextlib.contextmanager
def beside_the_samples(folder: Path) -> Iterator[None]:
    """Work in a folder where the sample cohorts are, with nothing set that a reader has not."""
    shutil.copytree(ROOT / "sample_cohorts", folder / "sample_cohorts")
    before, here = dict(os.environ), Path.cwd()
    for name in ("REARLOG_DIR", "REARLOG_BY"):
        os.environ.pop(name, None)
    os.environ["COLUMNS"] = "100"
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(here)
        os.environ.clear()
        os.environ.update(before)


def followed(text: str) -> str:
    """The page with what its commands print now, each run after the ones before it.

    Blocks of Python are one session a page. Raises AssertionError where a command whose output is
    not shown fails, and whatever Python raises.
    """
    names: dict[str, object] = {}

    def again(block: re.Match[str]) -> str:
        kind, body = block.groups()
        if kind == "console":
            return f"```console\n{_shown(body)}```"
        if kind == "python":
            return f"```python\n{session(body, names)}```"
        if not WITHOUT_RUNNING.search(body):
            _run(body)
        return block[0]

    return BLOCK.sub(again, text)


def _shown(body: str) -> str:
    commands = [part.partition("\n")[0] for part in re.split(r"^\$ ", body, flags=re.M)[1:]]
    return "".join(f"$ {command}\n{printed(command)}" for command in commands)


def session(body: str, names: dict[str, object]) -> str:
    """A block of Python with what each of its statements prints now."""
    told = io.StringIO()
    for each in doctest.DocTestParser().get_examples(body):
        first, *more = each.source.splitlines()
        told.write("".join([f">>> {first}\n", *(f"... {line}\n" for line in more)]))
        shown = io.StringIO()
        with contextlib.redirect_stdout(shown):
            exec(compile(each.source, "<page>", "single"), names)
        told.write("".join(f"{line.rstrip()}\n" for line in shown.getvalue().splitlines()))
    return told.getvalue()


def printed(command: str) -> str:
    """What a command prints, without the blanks at the ends of lines."""
    words = shlex.split(command)
    assert words[0] == "rearlog", command
    text = CliRunner().invoke(main, words[1:]).output
    return "".join(f"{line.rstrip()}\n" for line in text.splitlines())


def _run(body: str) -> None:
    lines = body.splitlines()
    if not all(SIMPLE.fullmatch(line) for line in lines):
        program = "from rearlog.cli.main import main; main()"
        called = f"{shlex.quote(sys.executable)} -c {shlex.quote(program)}"
        script = f'rearlog() {{ {called} "$@"; }}\n{body}'
        bash = subprocess.run(
            ["bash", "-e", "-c", script], capture_output=True, text=True, check=False
        )
        assert bash.returncode == 0, f"{body}\n{bash.stdout}{bash.stderr}"
        return
    for line in lines:
        words = [each for word in shlex.split(line, comments=True)[1:] for each in _meant(word)]
        if words[0] in ONLY_UNDERSTOOD:
            command = main.get_command(click.Context(main), words[0])
            assert isinstance(main, LazyGroup)
            assert command is not None
            command.make_context(words[0], words[1:])
            continue
        done = CliRunner().invoke(main, words)
        assert done.exit_code == 0, f"{line}\n{done.output}"


def _meant(word: str) -> list[str]:
    return sorted(glob.glob(word)) or [word]


if __name__ == "__main__":
    for each in [Path(name) for name in sys.argv[1:]] or pages():
        path = each.absolute()
        text = path.read_text(encoding="utf-8")
        with tempfile.TemporaryDirectory() as scratch, beside_the_samples(Path(scratch)):
            now = followed(text)
        if now != text:
            path.write_text(now, encoding="utf-8")
            print(f"written anew: {path.name}")
