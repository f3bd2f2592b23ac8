"""A server that ends while it waits for a request."""

import errno
import threading
from pathlib import Path

import pytest

from rearlog.web.server import Server

CLOSED = OSError(errno.EBADF, "what is waited for is closed")


def test_a_server_that_is_closed_by_another_thread_ends_in_peace(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    server = Server(tmp_path)
    waiting, closed = threading.Event(), threading.Event()

    def wait() -> None:
        waiting.set()
        assert closed.wait(10)
        raise CLOSED

    monkeypatch.setattr(server._server, "run", wait)
    thread = server.start()
    assert waiting.wait(10)
    server.close()
    closed.set()
    thread.join(10)
    assert not thread.is_alive()  # and pytest would tell of an exception in it


def test_what_breaks_a_server_that_runs_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    server = Server(tmp_path)

    def broken() -> None:
        raise CLOSED

    monkeypatch.setattr(server._server, "run", broken)
    try:
        with pytest.raises(OSError, match="is closed"):
            server.run()
    finally:
        server.close()
