"""The help of every command: what it says, and that its examples do what they say."""

import contextlib
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from msgspec.structs import replace

import rearlog
from rearlog.analysis.simulation.simulate import simulate
from rearlog.cli.main import COMMANDS, GROUPS, main
from rearlog.cli.table import WHAT
from rearlog.present.pictures import KINDS
from rearlog.records.incoming import telling
from rearlog.records.log import Cohort, CohortLog, ConstantTemperature, Individual
from rearlog.species.catalogue import find
from rearlog.store.cohort_file import CohortFile
from tests.cli.terminal import Terminal

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
PROFILES = Path(rearlog.__file__).parent / "species" / "profiles"


def help_of(*words: str) -> str:
    result = CliRunner().invoke(main, [*words, "--help"], env={"COLUMNS": "100"})
    assert result.exit_code == 0
    return result.output


def examples(command: str) -> list[str]:
    return re.findall(r"^ +(rearlog .+)$", help_of(command), flags=re.MULTILINE)


def subcommands() -> Iterator[tuple[str, str]]:
    context = click.Context(main)
    for name in COMMANDS:
        command = main.get_command(context, name)  # type: ignore[attr-defined]
        if isinstance(command, click.Group):
            yield from ((name, each) for each in command.commands)


def rearlog_(line: str, text: str | None = None) -> None:
    """Run a line as a shell would; it must succeed."""
    _, *words = shlex.split(line)
    result = CliRunner().invoke(main, words, input=text, catch_exceptions=False)
    assert result.exit_code == 0, f"{line}\n{result.output}"


def shelves(folder: Path) -> None:
    """The sample cohorts cool, room and warm, which are over, and a profile of one's own."""
    for path in SAMPLES.glob("*.json"):
        shutil.copy(path, folder)
    shutil.copy(PROFILES / "monarch.toml", folder / "my-moth.toml")
    (folder / "classes").mkdir()
    shutil.copy(SAMPLES / "room.json", folder / "classes")
    shutil.copy(SAMPLES / "warm.json", folder / "classes")
    rearlog_("rearlog export cool -o more.zip")
    (folder / "ours.md").write_text("We kept them on the *window sill*.", encoding="utf-8")


def in_progress(folder: Path) -> None:
    """A cohort in its first days, a copy of it with one round more, and files to be read."""
    rearlog_("rearlog start room --species painted-lady --eggs 24 --on 2026-03-09 --zone UTC")
    for day, line in {"10": "all same", "11": "1-8 L1; rest same", "12": "all same"}.items():
        rearlog_(f"rearlog log room '{line}' --on 2026-03-{day}")
        rearlog_(f"rearlog temps room --min 18 --max 23 --on 2026-03-{day}")
    shutil.copy(SAMPLES / "warm.json", folder / "last-year.json")
    (folder / "usb").mkdir()
    shutil.copy(folder / "room.json", folder / "usb")
    copy = folder / "room (copy from the lab).json"
    shutil.copy(folder / "room.json", copy)
    rearlog_(f"rearlog log {shlex.quote(str(copy))} '9 L1; rest same' --on 2026-03-13")
    lines = "13/03/2026 08:00,20\n13/03/2026 08:15,20.5\n"
    (folder / "logger.csv").write_text(f"Time,Temperature (°C)\n{lines}", encoding="utf-8")
    (folder / "observations.csv").write_text("individual,at,stage\n9,2026-03-14,L1\n")
    for week, monday in ((12, 16), (13, 23)):
        rearlog_(f"rearlog sheet room -o week{week}.csv --from 2026-03-{monday}")
        path = folder / f"week{week}.csv"
        path.write_text(path.read_text(encoding="utf-8").replace("\r\n1,L1,", "\r\n1,L1,L2"))


def temperatures(folder: Path) -> None:
    """Six invented cohorts at as many temperatures: t15 to t33."""
    profile = find("painted-lady")
    start = datetime(2026, 3, 9, 9, tzinfo=UTC)
    for celsius in (15, 18, 21, 25, 30, 33):
        eggs = tuple(Individual(str(code), start, "egg") for code in range(1, 9))
        header = Cohort(f"t{celsius}", profile, "UTC", start, start, invented=True)
        log = CohortLog(header, eggs, (), (ConstantTemperature(celsius, date(2026, 3, 9)),))
        checks = [replace(each, number=None) for each in simulate(log, 1).log.all_observations]
        file = CohortFile(folder / f"t{celsius}.json")
        file.create(header, eggs)
        file.record([telling(checks)], checks[-1].at)
        file.add_temperatures(log.all_temperatures, start)


def nothing(folder: Path) -> None:
    """An empty folder."""


def a_loggers_file(folder: Path) -> None:
    """The readings of the warm shelf, for a cohort to be invented at them."""
    shutil.copy(SAMPLES / "raw" / "warm-logger.csv", folder / "logger.csv")


def exported(folder: Path) -> None:
    """What the examples of export write, without the cohorts that it came from."""
    shelves(folder)
    for line in examples("export"):
        rearlog_(line)
    for path in folder.glob("*.json"):
        path.unlink()
    (folder / "spring").mkdir()


def edited(folder: Path) -> None:
    """A cohort file that somebody changed by hand: the checksum does not fit, all else does."""
    shelves(folder)
    path = folder / "room.json"
    path.write_text(path.read_text(encoding="utf-8").replace("Fernhill", "Farnhill"))


def put_right(folder: Path) -> None:
    """The cohort in its first days, with a record struck out, and an individual withdrawn."""
    in_progress(folder)
    rearlog_("rearlog strike room @57 --because 'wrong cup'")
    rearlog_("rearlog withdraw room 24 --because 'there are only 23 cups'")


def sexed(folder: Path) -> None:
    """The sample cohorts, and the sex of three adults in one of them, noted between two checks."""
    shelves(folder)
    for line, day in (("6 adult sex=m", "05"), ("1 adult sex=f; 4 adult sex=m", "07")):
        rearlog_(f"rearlog log room '{line}' --on 2026-04-{day}T09:00")


def life_tables(folder: Path) -> None:
    """The cohorts of the invented study of eggs and adults."""
    for path in (SAMPLES / "life_table").glob("*.json"):
        shutil.copy(path, folder)


def laying(folder: Path) -> None:
    """The cohort in its first days, and four of it grown up since: a pair, and three in a cage."""
    in_progress(folder)
    rearlog_("rearlog log room '3 adult sex=f mate=7; 4-6 adult mate=cage-1' --on 2026-04-20")


_MADE: dict[Callable[[Path], None], Path] = {}
"""Folders that were made for an example, to be copied for the next."""


def put_into(folder: Path, made: Callable[[Path], None], factory: pytest.TempPathFactory) -> None:
    """What an example needs, into its folder: made once."""
    if made not in _MADE:
        _MADE[made] = factory.mktemp(made.__name__)
        with contextlib.chdir(_MADE[made]):
            made(_MADE[made])
    shutil.copytree(_MADE[made], folder, dirs_exist_ok=True)


NEEDED: dict[str, Callable[[Path], None]] = {
    "start": nothing,
    "demo": nothing,
    "simulate": a_loggers_file,
    **dict.fromkeys(("add", "log", "check", "temps", "sheet", "import"), in_progress),
    **dict.fromkeys(("history", "strike", "restore", "merge", "today", "forecast"), in_progress),
    **dict.fromkeys(("correct", "withdraw"), in_progress),
    'rearlog strike room --take-back @57 --because "it was the right cup"': put_right,
    'rearlog withdraw room 24 --take-back --because "it was behind the box"': put_right,
    "rearlog survival room --from adult --by sex": sexed,
    "rearlog durations room --by sex": sexed,
    "rearlog growth room --by sex": sexed,
    "rearlog compare room --by sex": sexed,
    "rearlog compare dock-19 dock-22 dock-25 --by sex,temperature --from adult": life_tables,
    "rearlog chart survival room --from adult --by sex -o longevity.png": sexed,
    "reproduction": life_tables,
    "rearlog log room '3 same eggs=34; cage-1 same eggs=120 hatched=88'": laying,
    "unpack": exported,
    "rearlog verify room --accept": edited,
    "rearlog thermal t15 t18 t21 t25 t30 t33 --without t33": temperatures,
}
"""What the examples of a command, or one example, need; the others: the sample cohorts."""

ASKS = {"rearlog identify --species monarch": "3\n\n\n\n\n\n"}
"""Examples that ask on a terminal, and what is typed then."""

SLOW = (
    "rearlog report cool room warm -o shelves.html --force",
    "rearlog demo",
    "rearlog demo to-try",
    "rearlog plan --species painted-lady --temp 22 --difference 2 --to pupa",
    "rearlog plan --species painted-lady --temp 22 --other-temp 24",
)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_two_examples_that_fit_a_terminal(command: str) -> None:
    found = examples(command)
    assert len(found) >= 2
    assert all(line.split()[1] == command for line in found)
    assert max(len(f"  {line}") for line in found) <= 80


def test_every_subcommand_is_shown_in_an_example() -> None:
    for command, subcommand in subcommands():
        assert any(f"rearlog {command} {subcommand}" in each for each in examples(command))


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_and_option_is_explained(command: str) -> None:
    found = main.get_command(click.Context(main), command)  # type: ignore[attr-defined]
    assert found is not None
    assert found.help
    assert COMMANDS[command].endswith(".")
    options = [each for each in found.params if isinstance(each, click.Option)]
    assert [each.name for each in options if not each.help] == []


def test_the_help_page_lists_every_command_under_its_part_of_the_season() -> None:
    page = help_of()
    assert "Where to begin:" in page
    assert sum(map(len, GROUPS.values())) == len(COMMANDS)
    parts = re.split(r"^(\S.*):$", page, flags=re.M)
    under = dict(zip(parts[1::2], parts[2::2], strict=True))
    for title, commands in GROUPS.items():
        for name, line in commands.items():
            assert re.search(rf"^  {name} +{re.escape(line)}$", under[title], flags=re.M)


def test_no_help_waits_for_numbers_or_pictures() -> None:
    code = (
        "import sys; from click.testing import CliRunner;"
        "from rearlog.cli.main import COMMANDS, main;"
        "[CliRunner().invoke(main, [name, '--help']) for name in COMMANDS];"
        "print([name for name in ('numpy', 'scipy', 'matplotlib') if name in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


def test_today_loads_only_what_it_needs() -> None:
    """Nothing is in doubt, and the table fits: start-up time."""
    sample = Path(__file__).parents[2] / "sample_cohorts" / "room.json"
    code = (
        "import sys; from rearlog.cli.main import main;"
        f"main(['today', {str(sample)!r}, '--as-of', '2026-03-24'], standalone_mode=False);"
        "print(*sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "should pupate" in run.stdout
    loaded = set(run.stdout.splitlines()[-1].split())
    assert "rearlog.analysis.forecasting.due" in loaded
    stages = "rearlog.analysis.stages."
    unneeded = {"scipy", "pendulum", "rich", "tinydb", "filelock", "shutil", "secrets"}
    unneeded |= {"rearlog.store.cohort_file", "rearlog.records.entries", "rearlog.records.doubts"}
    unneeded |= {stages + name for name in ("in_doubt", "settling", "expected", "heat_needs")}
    assert loaded & unneeded == set()


EXAMPLES = [
    pytest.param(command, line, marks=[pytest.mark.slow] * (line in SLOW), id=line)
    for command in COMMANDS
    for line in examples(command)
]


@pytest.mark.usefixtures("no_waiting")
@pytest.mark.parametrize(("command", "line"), EXAMPLES)
def test_the_examples_do_what_they_say(
    command: str,
    line: str,
    tmp_path: Path,
    tmp_path_factory: pytest.TempPathFactory,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("REARLOG_DIR", raising=False)
    monkeypatch.delenv("REARLOG_BY", raising=False)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "configuration"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("REARLOG_SETTINGS", str(tmp_path / "settings.toml"))
    put_into(tmp_path, NEEDED.get(line, NEEDED.get(command, shelves)), tmp_path_factory)
    if line in ASKS:
        screen = Terminal(tmp_path, *shlex.split(line)[1:])
        screen.type(ASKS[line])
        assert screen.end() == 0, screen.shown
    else:
        rearlog_(line, text="")


def test_the_help_names_every_chart_and_table() -> None:
    for name, choices in (("chart", KINDS), ("table", WHAT)):
        told = CliRunner().invoke(main, [name, "--help"]).stdout
        assert all(choice in told for choice in choices)


def test_no_example_is_given_twice() -> None:
    for words in [*((each,) for each in COMMANDS), *subcommands()]:
        given = re.findall(r"^ +(rearlog .+)$", help_of(*words), flags=re.MULTILINE)
        assert len(given) == len(set(given)), words
