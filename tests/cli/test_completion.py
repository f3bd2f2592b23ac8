"""What the Tab key offers, asked in the way that the shells ask."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.shell_completion import ShellComplete

from rearlog.cli.main import COMMANDS, main
from tests.cli.conftest import Run
from tests.cli.terminal import PROGRAM


def offered(*words: str) -> list[str]:
    """What is offered for the last word, which may have been begun."""
    shell = ShellComplete(main, {}, "rearlog", "_REARLOG_COMPLETE")
    return [item.value for item in shell.get_completions(list(words[:-1]), words[-1])]


@pytest.fixture
def cups(run: Run, folder: Path) -> None:
    run("start", "cups", "--species", "monarch", "--eggs", "3", "--codes", "A", "--zone", "UTC")
    run("start", "room", "--species", "painted-lady", "--eggs", "2", "--zone", "UTC")
    (folder / "notes.json").write_text("{}")


def test_commands() -> None:
    assert set(COMMANDS) <= set(offered(""))
    assert offered("st") == ["start", "strike"]
    assert offered("species", "s") == ["show"]


@pytest.mark.usefixtures("cups")
def test_cohorts_are_offered_and_other_files_are_not() -> None:
    assert offered("log", "") == ["cups", "room"]
    assert offered("check", "c") == ["cups"]
    assert offered("compare", "cups", "r") == ["room"]


@pytest.mark.usefixtures("cups")
def test_individuals_of_the_cohort_that_was_named() -> None:
    assert offered("history", "cups", "") == ["A01", "A02", "A03"]
    assert offered("history", "cups", "a03") == ["A03"]
    assert offered("check", "cups", "A01", "a02") == ["A02"]


@pytest.mark.usefixtures("cups")
def test_words_of_an_entry() -> None:
    assert offered("log", "cups", "A0") == ["A01", "A02", "A03"]
    assert offered("log", "cups", "A01", "l") == ["L1", "L2", "L3", "L4", "L5", "lost"]
    assert "rest" in offered("log", "cups", "A01", "L1;", "")


@pytest.mark.usefixtures("cups")
def test_stages_of_the_cohort_or_the_species() -> None:
    assert offered("durations", "cups", "--from", "L") == ["L1", "L2", "L3", "L4", "L5"]
    assert offered("survival", "room", "--to", "p") == ["pupa"]
    assert offered("start", "new", "--species", "silkworm", "--stage", "e") == ["egg"]
    assert offered("add", "cups", "--stage", "ad") == ["adult"]


def test_species() -> None:
    assert offered("start", "new", "--species", "mo") == ["monarch"]
    assert offered("species", "show", "silk") == ["silkworm"]
    assert offered("identify", "--species", "small") == ["small-white"]


@pytest.mark.usefixtures("cups")
def test_after_a_mistake_nothing_is_offered() -> None:
    assert offered("history", "nowhere", "") == []
    assert offered("log", "../x y", "") == []
    assert offered("durations", "nowhere", "--from", "") == []
    assert offered("start", "new", "--species", "nothing", "--stage", "") == []


@pytest.mark.usefixtures("cups")
@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_a_shell_is_told(folder: Path, shell: str) -> None:
    environment = {
        **os.environ,
        "_REARLOG_COMPLETE": f"{shell}_complete",
        "COMP_WORDS": "rearlog history cups A0",
        "COMP_CWORD": "A0" if shell == "fish" else "3",
    }
    done = subprocess.run(
        [sys.executable, "-c", f"import sys; sys.argv = ['rearlog']; {PROGRAM[-1]}"],
        env=environment,
        cwd=folder,
        capture_output=True,
        text=True,
        check=True,
    )
    assert "A02" in done.stdout
    assert done.stderr == ""
