"""The last handler: what nobody foresaw becomes one line and a file with the details.

It hides nothing: the exit code is its own, the details are kept, and with `$REARLOG_DEBUG` set, as
it is for all tests, the error goes on as it came.
"""

from __future__ import annotations

import os
import platform
import shlex
import sys
import tempfile
import traceback

from rearlog import __version__
from rearlog.cli.streams import say_aside

DEBUG = "REARLOG_DEBUG"
EXIT_CODE = 3


def tell(error: Exception) -> int:
    """Tell of an error that is rearlog's own fault; the exit code. Raises it with `$REARLOG_DEBUG`.

    The file has what was called and where it failed, but nothing out of a log.
    """
    if os.environ.get(DEBUG):
        raise error
    name = type(error).__name__
    try:
        place = f"the details are in {_kept(error)}"
    except OSError:
        place = f"the details come with {DEBUG}=1 before the command"
    say_aside(
        f"Error: rearlog itself failed ({name}), and that is not your fault: {place}; "
        "please look through them and send them to whoever you have rearlog from"
    )
    return EXIT_CODE


def _kept(error: Exception) -> str:
    """The path of a new file, for this user alone, with the details."""
    called = shlex.join(["rearlog", *sys.argv[1:]])
    lines = (
        f"rearlog {__version__}, Python {platform.python_version()}, {platform.platform()}",
        f"called as: {called}",
        "",
        *traceback.format_exception(error),
    )
    handle, path = tempfile.mkstemp(prefix="rearlog-error-", suffix=".txt")
    with open(handle, "w", encoding="utf-8", errors="backslashreplace") as file:
        file.write("\n".join(lines))
    return path
