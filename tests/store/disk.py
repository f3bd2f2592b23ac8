"""A disk that can be watched, and that fails when it is told to."""

import errno
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest import mock

CALLS = (
    "open", "write", "fsync", "close", "replace", "rename", "link", "unlink", "mkdir", "chmod",
    "fchmod", "utime", "stat", "lstat", "scandir",
)  # fmt: skip


@dataclass
class Call:
    """One system call on a file of the watched folder: its name, the file, and what was written."""

    name: str
    path: str
    other: str = ""
    data: bytes = b""


@dataclass
class Disk:
    """The system calls on the files of one folder; `before` may raise instead of one of them."""

    folder: Path
    before: Callable[[int, Call], None] = lambda _number, _call: None
    calls: list[Call] = field(default_factory=list)
    _paths: dict[int, str] = field(default_factory=dict)

    @contextmanager
    def watched(self) -> Iterator["Disk"]:
        wrapped: dict[str, Any] = {name: self._wrapped(name) for name in CALLS}
        with mock.patch.multiple(os, **wrapped):
            yield self

    def _wrapped(self, name: str) -> Callable[..., Any]:
        real = getattr(os, name)

        def called(first: Any, *rest: Any, **options: Any) -> Any:
            path = self._paths.get(first) if isinstance(first, int) else os.fspath(first)
            if path is None or not path.startswith(str(self.folder)):
                return real(first, *rest, **options)
            call = Call(name, path)
            if name in ("replace", "rename", "link"):
                call.other = os.fspath(rest[0])
            if name == "write":
                call.data = bytes(rest[0])
            self.calls.append(call)
            if name == "close":
                real(first, *rest, **options)  # a descriptor is gone even where closing fails
                del self._paths[first]
                self.before(len(self.calls), call)
                return None
            self.before(len(self.calls), call)
            result = real(first, *rest, **options)
            if name == "open":
                self._paths[result] = path
            return result

        return called


def failing(at: int, number: int = errno.EIO) -> Callable[[int, Call], None]:
    """Let the call with this number, counted from 1, fail with an error of the system."""

    def before(count: int, _call: Call) -> None:
        if count == at:
            raise OSError(number, os.strerror(number))

    return before
