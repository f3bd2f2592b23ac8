"""The program `rearlog-app`: the shelf of a fixed folder in the browser, by a double click."""

from __future__ import annotations

import sys
from pathlib import Path

from rearlog.cli import main as commands
from rearlog.cli.streams import say_aside
from rearlog.records.errors import RearlogError
from rearlog.settings import usual


def main() -> None:
    """Serve the folder that is usual, else `rearlog` in the home; it is made if it is missing.

    What else is said goes to `rearlog serve`, such as --share.
    """
    try:
        folder = usual.chosen_folder() or Path.home() / "rearlog"
    except RearlogError as error:
        commands.show_problems(error)
        sys.exit(error.exit_code)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        say_aside(f"Error: {folder} cannot be made: {error.strerror}")
        sys.exit(1)
    commands.main(["serve", str(folder), *sys.argv[1:]], prog_name="rearlog")
