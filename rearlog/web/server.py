"""The server: where it listens, what it answers to, and how it begins and ends."""

from __future__ import annotations

import logging
import secrets
import socket
import threading
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from waitress.server import create_server

from rearlog.records.errors import UsageError
from rearlog.web import running
from rearlog.web.app import create_app
from rearlog.web.desk import Desk, present
from rearlog.web.door import Door
from rearlog.web.private_files import read_private, write_private
from rearlog.web.shelf import Shelf

THIS_MACHINE = "127.0.0.1"
CODES = "codes"
"""The file that keeps codes beside the cohorts."""
THREADS = 32
"""As many as a class has devices: those that wait for one file are answered together."""
LONGEST_SILENCE_SECONDS = 30
"""A connection on which nothing comes for so long is closed."""


class Server:
    """A server over a folder; it listens when it is made, and answers when it runs."""

    def __init__(
        self,
        folder: Path,
        port: int = 0,
        addresses: Sequence[str] = (),
        *,
        share: bool = False,
        keep_codes: bool = False,
        photos: bool = False,
        now: Callable[[], datetime] = present,
    ) -> None:
        """Listen on this machine, and with `share` on `addresses` of its own in the network.

        With `keep_codes` they are those of the last time, and kept for the next. With `photos`
        pictures are kept with looks. `port` 0 takes a free one; `now` is what it
        takes for the present. Raises UsageError where that port cannot be had.
        """
        listening = [_bound(THIS_MACHINE, port)]
        self.port = listening[0].getsockname()[1]
        try:
            shared = [each for each in addresses if share and each != THIS_MACHINE]
            listening += [_bound(each, self.port) for each in shared]
        except UsageError:
            listening[0].close()
            raise
        door = Door()
        if share:
            door.share(read_private(folder, CODES) if keep_codes else None)
        if keep_codes:
            told = {role.name.lower(): code for role, code in door.codes.items()}
            write_private(folder, CODES, told)
        names = ("localhost", THIS_MACHINE, *shared)
        hosts = frozenset(f"{name}:{self.port}" for name in names)
        open_to = tuple(f"http://{name}:{self.port}" for name in shared)
        own = secrets.token_urlsafe(32)
        self.desk = Desk(Shelf(folder), door, hosts, open_to, now, own=own, photos=photos)
        self._closing = False
        self._server: Any = create_server(
            create_app(self.desk),
            sockets=listening,
            threads=THREADS,
            ident=None,
            channel_timeout=LONGEST_SILENCE_SECONDS,
            max_request_body_size=32 * 2**20,
            max_request_header_size=16 * 2**10,
            clear_untrusted_proxy_headers=True,
        )

    @property
    def address(self) -> str:
        """Where this machine's browser finds it."""
        return f"http://{THIS_MACHINE}:{self.port}"

    def first_address(self) -> str:
        """An address that lets the keeper in, once."""
        return f"{self.address}/enter/{self.desk.door.secret()}"

    def run(self) -> None:
        """Answer until `close` is called, or an interrupt comes."""
        logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a full class is no fault
        running.write_down(self.desk.shelf.folder, self.port, self.desk.own)
        try:
            self._server.run()
        except OSError:  # it may be waiting for what another thread closes
            if not self._closing:
                raise
        finally:
            running.forget(self.desk.shelf.folder, self.desk.own)

    def start(self) -> threading.Thread:
        """Answer in a thread of its own."""
        thread = threading.Thread(target=self.run, daemon=True)
        thread.start()
        return thread

    def close(self) -> None:
        """Answer no more."""
        self._closing = True
        self._server.close()


def _bound(host: str, port: int) -> socket.socket:
    made = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET)
    try:
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind((host, port))
    except OSError as error:
        made.close()
        remedy = "another program listens there; choose another with --port"
        message = f"{host} port {port} cannot be had: {error.strerror}"
        raise UsageError(message, remedy) from None
    return made


def own_address() -> str | None:
    """This machine's address in its local network; None where it is in none.

    Asks the system which way a packet would go; none is sent.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(("192.0.2.1", 9))  # a place for documentation (RFC 5737)
            found = str(asked.getsockname()[0])
        except OSError:
            return None
    return None if found.startswith("127.") else found
