"""The real program in a pseudo-terminal of 80 columns, as a person would sit before it."""

from __future__ import annotations

import os
import pty
import select
import signal
import subprocess
import sys
import termios
import time
from pathlib import Path

PROGRAM = (sys.executable, "-c", "from rearlog.cli.main import main; main()")
PATIENCE_SECONDS = 60.0


class Terminal:
    """One run of `rearlog`; `shown` is all that was on the screen, with what was typed.

    `keys` counts the keys that were pressed.
    """

    def __init__(self, folder: Path, *words: str) -> None:
        self.shown, self.keys, self._seen = "", 0, 0
        self._screen, terminal = pty.openpty()
        termios.tcsetwinsize(terminal, (24, 80))
        left_out = ("REARLOG_DIR", "REARLOG_BY", "COLUMNS", "LINES")
        environment = {name: os.environ[name] for name in os.environ if name not in left_out}
        self.process = subprocess.Popen(
            [*PROGRAM, *words],
            cwd=folder,
            stdin=terminal,
            stdout=terminal,
            stderr=terminal,
            env=environment | {"TERM": "dumb"},
        )
        os.close(terminal)

    def wait_for(self, text: str) -> None:
        """Wait until a text shows behind the one that was waited for before."""
        until = time.monotonic() + PATIENCE_SECONDS
        while (place := self.shown.find(text, self._seen)) < 0:
            assert self._read(until), f"“{text}” does not come:\n{self.shown}"
        self._seen = place + len(text)

    def type(self, keys: str) -> None:
        """Press keys, one a character; `\\n` is the Enter key."""
        self.keys += len(keys)
        os.write(self._screen, keys.encode())

    def end(self) -> int:
        """Wait until the program has ended; its exit code."""
        until = time.monotonic() + PATIENCE_SECONDS
        while self._read(until):
            pass
        os.close(self._screen)
        return self.process.wait(PATIENCE_SECONDS)

    def kill(self) -> None:
        """Pull the plug."""
        self.process.send_signal(signal.SIGKILL)
        assert self.end() == -signal.SIGKILL

    def _read(self, until: float) -> bool:
        """Take what is on the screen; False where nothing more will come, or not in time."""
        ready, _, _ = select.select([self._screen], [], [], max(0.0, until - time.monotonic()))
        try:
            content = os.read(self._screen, 65536) if ready else b""
        except OSError:  # how Linux tells that the program has let go of its terminal
            return False
        self.shown += content.decode().replace("\r\n", "\n")
        return bool(content)
