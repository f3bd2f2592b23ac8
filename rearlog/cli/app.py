"""The program `rearlog-app`: the shelf of a fixed folder in the browser, by a double click."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from rearlog.cli import main as commands
from rearlog.cli.streams import say_aside


def main() -> None:
    """Serve the folder `rearlog` of this user, or `$REARLOG_DIR`; it is made if it is missing.

    What else is said goes to `rearlog serve`, such as --share.
    """
    folder = Path(os.environ.get("REARLOG_DIR") or Path.home() / "rearlog")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        say_aside(f"Error: {folder} cannot be made: {error.strerror}")
        sys.exit(1)
    commands.main(["serve", str(folder), *sys.argv[1:]], prog_name="rearlog")
