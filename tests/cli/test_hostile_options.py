"""Every option and argument of every command, given what no person would mean: told, never a
traceback, and nothing is recorded beyond the calendar."""

import itertools
import random
from collections.abc import Callable, Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from rearlog.cli import demo
from rearlog.cli.main import COMMANDS, main
from rearlog.cli.numbers import Finite
from rearlog.present import page
from rearlog.present.contents import Contents
from rearlog.present.page import Drawn
from tests.cli.calls import WORKING

NUMBERS = ["nan", "inf", "-inf", "1e999", "-1", "0", "1e-320", "1e308", "9" * 400, "9" * 5000,
           "0x10", "1_0", "٣", "", " ", "½", "1,5", "60", "-30"]  # fmt: skip
DATES = ["9999-12-31", "0001-01-01", "1899-12-31", "2199-12-31", "2026-02-30", "2026-13-01",
         "9999-12-31T23:59", "0001-01-01T00:00", "2026-03-09T08:40+24:00",
         "2026-03-09T08:40+23:59", "2026-03-09T08:40-23:59", "2026-03-09T24:00",
         "2026-03-09T08:60", "0001-01-01T00:00+14:00", "9999-12-31T23:59-14:00",
         "2026-W11-1", "20260309", "2026-03-09T08:40:00.999999999Z", "today", "yesterday", "mon",
         "2026-03-10", "03/09/26"]  # fmt: skip
TEXTS = ["", " ", "\x1b[2J", "../../etc/passwd", "/dev/null", "/dev/zero", "-", "--", "=",
         "all", "rest", "1-99999", "99999-1", "L1=0.5", "L1=nan", "L1=9", "egg=1:", "=:", "a" * 300,
         "\udcff", "🐛", "CON", ".", "room", "nobody", "hist", "UTC", "Europe", "posixrules",
         "00:00", "23:59", "24:00", "%s", "{0}", "C", "F", "csv", "json", "table"]  # fmt: skip
HOSTILE = (*NUMBERS, *DATES, *TEXTS)


def kept(drawn: Callable[[Contents], Drawn]) -> Callable[[Contents], Drawn]:
    """Charts of the same cohorts drawn once: the cohorts stay as they are, and no option of a
    report changes what is drawn."""
    pages: dict[str, Drawn] = {}

    def draw(contents: Contents) -> Drawn:
        found = repr([each.cohort for each in contents.cohorts])
        if found not in pages:
            pages[found] = drawn(contents)
        return pages[found]

    return draw


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for name in ("REARLOG_DIR", "REARLOG_BY"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("REARLOG_SETTINGS", str(tmp_path / "settings.toml"))
    monkeypatch.setattr(demo, "report_of_samples", lambda: "the same page each time")
    monkeypatch.setattr(page, "drawn", kept(page.drawn))
    for name in ("room", "other"):
        call("start", name, "--species", "monarch", "--eggs", "4", "--on", "2026-03-09",
             "--laid", "2026-03-08", "--zone", "UTC")  # fmt: skip
        call("log", name, "all same", "--on", "2026-03-10")
        call("log", name, "1-3 L1 head=0.5; 4 dead", "--on", "2026-03-13")
        call("temps", name, "--constant", "24")
    (tmp_path / "checks.csv").write_text("individual,at,stage\n1,2026-03-14,L1\n")
    return tmp_path


def call(*words: str) -> tuple[int, str]:
    """Run a command; an error that nobody foresaw is raised here."""
    result = CliRunner().invoke(main, words, input="", catch_exceptions=False)
    return result.exit_code, result.output


def commands() -> Iterator[tuple[str, ...]]:
    for name in COMMANDS:
        yield from (
            [("species", each) for each in ("list", "show", "check")]
            if (name == "species")
            else [(name,)]
        )


def command_of(path: tuple[str, ...]) -> click.Command:
    found: click.Command = main
    for name in path:
        assert isinstance(found, click.Group)
        inner = found.get_command(click.Context(found), name)
        assert inner is not None
        found = inner
    return found


def calls(path: tuple[str, ...]) -> list[list[str]]:
    """The working call with each option, and each word, replaced by each hostile text."""
    works = WORKING.get(path[0], ["room"])
    works = {"list": [], "show": ["monarch"], "check": ["my.toml"]}[path[1]] if path[1:] else works
    found = []
    for option in command_of(path).params:
        if isinstance(option, click.Option) and not option.is_flag:
            name = max(option.opts, key=len)
            found += [[*works, name, text] for text in HOSTILE]
    for place, text in itertools.product(range(len(works)), HOSTILE):
        if not works[place].startswith("-"):
            found.append([*works[:place], text, *works[place + 1 :]])
    return found


def tried(path: tuple[str, ...], calls: list[list[str]], before: dict[Path, bytes]) -> None:
    for words in calls:
        code, output = call(*path, *words)
        assert code in (0, 1, 2), (words, output)
        assert "Traceback" not in output
        Path("settings.toml").unlink(missing_ok=True)
        for cohort, content in before.items():
            cohort.write_bytes(content)


@pytest.mark.usefixtures("no_waiting")
@pytest.mark.parametrize("path", list(commands()), ids=" ".join)
def test_some_hostile_words_are_told(folder: Path, path: tuple[str, ...]) -> None:
    every = calls(path)
    some = random.Random(" ".join(path)).sample(every, min(len(every), 10))
    tried(path, some, {each: each.read_bytes() for each in folder.glob("*.json")})


@pytest.mark.slow
@pytest.mark.usefixtures("no_waiting")
@pytest.mark.parametrize("path", list(commands()), ids=" ".join)
def test_every_hostile_word_is_told(folder: Path, path: tuple[str, ...]) -> None:
    every = calls(path)
    print(f"{' '.join(path)}: {len(every)} calls")
    tried(path, every, {each: each.read_bytes() for each in folder.glob("*.json")})


@pytest.mark.parametrize("path", list(commands()), ids=" ".join)
def test_no_number_may_be_without_bounds(path: tuple[str, ...]) -> None:
    """click's own number types let nan and inf through."""
    for each in command_of(path).params:
        assert isinstance(each.type, Finite) or not isinstance(
            each.type, click.FloatRange | click.types.FloatParamType
        ), each.name
