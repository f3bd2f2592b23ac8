"""What no machine here can try: systems that lack what POSIX has. Held by reading the source, and
by a season in a process that was deprived of it."""

import ast
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import rearlog

PACKAGE = Path(rearlog.__file__).parent
FILES = sorted(PACKAGE.rglob("*.py"))
# Source: the documentation of the standard library, “Availability: Unix” (from memory).
UNIX_MODULES = {"fcntl", "grp", "pty", "pwd", "resource", "syslog", "termios", "tty"}
UNIX_NAMES = {
    "os": {"fork", "getuid", "geteuid", "getgid", "chown", "lchown", "fchown", "fchmod", "mkfifo",
           "setsid", "killpg", "sync", "uname", "statvfs", "O_NOFOLLOW", "O_NONBLOCK",
           "O_DIRECTORY", "O_CLOEXEC"},
    "signal": {"SIGKILL", "SIGHUP", "SIGALRM", "SIGUSR1", "SIGPIPE", "alarm", "setitimer"},
}  # fmt: skip
GUARDED = {
    ("disk/writing.py", "os.fchown"),
    ("disk/leftovers.py", "os.O_NOFOLLOW"),
    ("store/locking.py", "os.uname"),
    ("web/private_files.py", "os.getuid"),
}
"""Reached only after a look at `os.name`, or at whether the name or `fcntl` is there."""


def called(path: Path) -> str:
    return path.relative_to(PACKAGE).as_posix()


def unguarded_imports(tree: ast.Module) -> Iterator[str]:
    """Modules that Windows has not, but for those that are tried."""
    tried = {
        id(inner)
        for each in ast.walk(tree)
        if isinstance(each, ast.Try)
        and any("ImportError" in ast.unparse(one.type) for one in each.handlers if one.type)
        for inner in ast.walk(each)
    }
    for each in ast.walk(tree):
        if isinstance(each, ast.Import) and id(each) not in tried:
            yield from ({name.name for name in each.names} & UNIX_MODULES)
        if isinstance(each, ast.ImportFrom) and id(each) not in tried:
            yield from ({each.module or ""} & UNIX_MODULES)


def unix_names(tree: ast.Module) -> Iterator[str]:
    for each in ast.walk(tree):
        if isinstance(each, ast.Attribute) and each.attr in UNIX_NAMES.get(
            ast.unparse(each.value), ()
        ):
            yield ast.unparse(each)


def without_encoding(tree: ast.Module) -> Iterator[int]:
    """Lines where text is read or written as the system would have it: on Windows not as UTF-8."""
    for each in ast.walk(tree):
        if not isinstance(each, ast.Call):
            continue
        name = each.func.attr if isinstance(each.func, ast.Attribute) else ast.unparse(each.func)
        given = {keyword.arg for keyword in each.keywords}
        binary = any("b" in ast.unparse(one) for one in each.args[1:2])
        reads = name == "read_text" and not each.args
        opens = ast.unparse(each.func) == "open" and not binary
        if (reads or opens or name == "write_text") and "encoding" not in given:
            yield each.lineno


@pytest.mark.parametrize("path", FILES, ids=called)
def test_nothing_needs_what_windows_has_not(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert list(unguarded_imports(tree)) == []
    assert [each for each in unix_names(tree) if (called(path), each) not in GUARDED] == []
    assert list(without_encoding(tree)) == []


def test_the_lint_sees_what_it_looks_for() -> None:
    tree = ast.parse(
        "import pwd, os\nos.fork()\nopen('a')\nopen('a', 'rb')\nPath('a').write_text('x')\n"
        "try:\n    import fcntl\nexcept ImportError:\n    fcntl = None\n"
    )
    assert list(unguarded_imports(tree)) == ["pwd"]
    assert list(unix_names(tree)) == ["os.fork"]
    assert list(without_encoding(tree)) == [3, 5]


MISSING = ("fork", "getuid", "geteuid", "chown", "fchown", "setsid", "statvfs", "uname")
"""Names of `os` that no library which is used here needs either."""

DEPRIVED = """
import os, signal, sys, tempfile, shutil, subprocess, filelock, matplotlib.figure
shutil._use_fd_functions = False  # it opens folders, where it can
for name in {modules!r}:
    sys.modules[name] = None
for name in {names!r}:
    if hasattr(os, name):
        delattr(os, name)
opened, replaced, held = os.open, os.replace, [True] * 3

def open_file(path, *rest, **more):
    if not isinstance(path, int) and os.path.isdir(path):
        raise PermissionError(13, "Permission denied")  # as Windows does for folders
    return opened(path, *rest, **more)

def replace(*names):
    if held:
        held.pop()
        raise PermissionError(13, "a virus scanner reads it")
    return replaced(*names)

os.open, os.replace = open_file, replace
from rearlog.disk import writing
assert writing.fcntl is None
writing.OPEN_FILES_STAY = True
from rearlog.cli.main import main
for line in sys.argv[1:]:
    main(line.split("|"), standalone_mode=False)
"""
SEASON = [
    "start|room|--species|painted-lady|--eggs|3|--on|2026-03-09|--zone|UTC",
    "log|room|all same|--on|2026-03-10",
    "log|room|1-2 L1; rest same|--on|2026-03-12",
    "temps|room|--constant|22",
    "durations|room|--format|csv",
    "chart|survival|room|-o|room.svg",
    "export|room|-o|data",
    "verify|room",
]


def test_a_season_without_what_windows_has_not(tmp_path: Path) -> None:
    code = DEPRIVED.format(modules=sorted(UNIX_MODULES), names=MISSING)
    run = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", code, *SEASON],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(PACKAGE.parent)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    assert "Recorded 3 checks at Thu 2026-03-12 09:00: 2 changed" in run.stderr + run.stdout
    names = set(os.listdir(tmp_path))
    assert {"room.json", "room.svg", "data"} <= names
    assert not [each for each in names if each.endswith(".new")]


def test_answers_load_neither_statistics_nor_pictures(tmp_path: Path) -> None:
    """Start-up time: scipy.stats alone takes longer than all else; scipy.special does."""
    samples = Path(__file__).parents[1] / "sample_cohorts"
    words = [str(samples / "cool.json"), str(samples / "warm.json")]
    code = (
        "import os, sys; from rearlog.cli.main import main\n"
        "for answer in ('compare', 'durations', 'survival', 'thermal', 'growth', 'heat'):\n"
        f"    cohorts = {words!r}[: 2 if answer in ('compare', 'thermal') else 1]\n"
        "    main([answer, *cohorts, '--format', 'json'], standalone_mode=False)\n"
        "print([each for each in ('scipy.stats', 'matplotlib') if each in sys.modules])"
    )
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True,
        env={**os.environ, "PYTHONPATH": str(PACKAGE.parent)},
    )  # fmt: skip
    assert run.stdout.splitlines()[-1] == "[]"
