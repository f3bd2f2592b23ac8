"""A command as a program of its own, in this process: its streams are of any encoding, and fail."""

import errno
import io
import os
import sys
from typing import Any

from rearlog.cli.main import main


class Device(io.RawIOBase):
    """What a stream writes to: it keeps all, or takes nothing."""

    def __init__(self, *, is_screen: bool = False, refuses: int = 0) -> None:
        self.taken = b""
        self._is_screen, self._refuses = is_screen, refuses

    def writable(self) -> bool:
        return True

    def isatty(self) -> bool:
        return self._is_screen

    def write(self, content: Any) -> int:
        if self._refuses:
            raise OSError(self._refuses, os.strerror(self._refuses))
        self.taken += bytes(content)
        return len(content)


def full() -> Device:
    """A disk without room."""
    return Device(refuses=errno.ENOSPC)


def left() -> Device:
    """A pipe whose reader has gone."""
    return Device(refuses=errno.EPIPE)


def called(
    words: list[str], out: Device, *, encoding: str = "utf-8", text: str = ""
) -> tuple[int, str]:
    """The exit code and standard error of a command that writes to a device."""
    aside = Device()
    kept = sys.stdin, sys.stdout, sys.stderr
    sys.stdin = io.TextIOWrapper(io.BytesIO(text.encode()), encoding=encoding)
    sys.stdout = _stream(out, encoding)
    sys.stderr = _stream(aside, encoding)
    try:
        main.main(words, prog_name="rearlog")
        code: Any = 0
    except SystemExit as end:
        code = end.code
    finally:
        for each in (sys.stdout, sys.stderr):
            if each is not None:
                each.flush()
        sys.stdin, sys.stdout, sys.stderr = kept
    assert isinstance(code, int)
    return code, aside.taken.decode(encoding)


def _stream(device: Device, encoding: str) -> io.TextIOWrapper:
    return io.TextIOWrapper(io.BufferedWriter(device), encoding=encoding)
