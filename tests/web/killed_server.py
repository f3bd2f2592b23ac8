"""A server that is killed and started again, and devices that keep what they tapped meanwhile.

The server runs in a process of its own, forked from one that has imported everything: starting it
again takes milliseconds. A device does what static/outbox.js does, in another language.
"""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import queue
import random
import signal
import subprocess
import sys
import threading
import time
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

_LAUNCHER = """
import faulthandler, os, signal, sys
from pathlib import Path
from rearlog.web.server import Server

def serve(folder, port):
    server = Server(Path(folder), port, ["127.0.0.2"], share=True)
    codes = {role.name: code for role, code in server.desk.door.codes.items()}
    print(os.getpid(), server.port, codes["LOOKER"], flush=True)
    server.run()

folder, port = sys.argv[1], 0
def bury(*_anything):
    while True:
        try:
            pid, status = os.waitpid(-1, os.WNOHANG)
        except ChildProcessError:
            return
        if pid == 0:
            return
        if os.waitstatus_to_exitcode(status) != -signal.SIGKILL:
            print("a server ended by itself:", os.waitstatus_to_exitcode(status), file=sys.stderr)

faulthandler.enable()
signal.signal(signal.SIGCHLD, bury)
while line := sys.stdin.readline():
    if os.fork() == 0:
        serve(folder, int(line))
        os._exit(0)
"""

PATIENCE_SECONDS = 60.0


class Servers:
    """The server over a folder as it is now; each `start` is another process, on the same port."""

    def __init__(self, folder: Path) -> None:
        command = [sys.executable, "-c", _LAUNCHER, str(folder)]
        self._launcher = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        self.port, self.code, self.pid = 0, "", 0

    def start(self) -> None:
        assert self._launcher.stdin is not None
        assert self._launcher.stdout is not None
        self._launcher.stdin.write(f"{self.port}\n")
        self._launcher.stdin.flush()
        pid, port, self.code = self._launcher.stdout.readline().split()
        self.pid, self.port = int(pid), int(port)

    def kill(self) -> None:
        self.code = ""  # nobody types one until the next server shows it
        os.kill(self.pid, signal.SIGKILL)
        while Path(f"/proc/{self.pid}").exists():  # the last of its threads holds the port
            time.sleep(0.001)

    def close(self) -> None:
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.pid, signal.SIGKILL)
        self._launcher.kill()
        self._launcher.communicate()


@dataclass
class Device:
    """A tablet in the network: an outbox, initials, and an address of its own."""

    number: int
    servers: Servers
    seed: int
    cohorts: tuple[str, ...]
    individuals: tuple[str, ...]
    base: datetime
    asked: queue.Queue[int] = field(default_factory=queue.Queue)
    outbox: list[dict[str, Any]] = field(default_factory=list)
    made: list[tuple[str, dict[str, Any]]] = field(default_factory=list)
    acknowledged: dict[str, int] = field(default_factory=dict[str, Any])
    undone: set[str] = field(default_factory=set)
    refused: list[dict[str, Any]] = field(default_factory=list)
    unanswered: int = 0
    joined: int = 0
    halted: bool = False

    def __post_init__(self) -> None:
        self.initials = f"D{self.number:02d}"
        self.cohort = self.cohorts[self.number % len(self.cohorts)]
        self.random = random.Random(self.seed * 1000 + self.number)
        self.cookie = ""
        self.line: http.client.HTTPConnection | None = None

    def runs(self, ended: threading.Event) -> None:
        """Tap what is asked for and send what waits, until it is all sent after the end."""
        while not self.halted and (not ended.is_set() or self.outbox or not self.asked.empty()):
            with contextlib.suppress(queue.Empty):
                for _ in range(self.asked.get(timeout=0.02)):
                    self.tap()
            self.send()
        if self.line is not None:
            self.line.close()

    def tap(self) -> None:
        """A look, each of another moment; now and then an earlier one was a slip."""
        count = len(self.made)
        at = self.base - timedelta(seconds=20 * count)
        look = {
            "individual": self.random.choice(self.individuals),
            "at": at.isoformat(),
            "token": f"{self.random.getrandbits(128):032x}",
            "same": True,
        }
        self.made.append((self.cohort, look))
        self.outbox.append(look)
        if self.random.random() < 0.1:
            slip = self.random.choice(self.made)[1]
            named = {name: slip[name] for name in ("individual", "token")}
            self.outbox.append({**named, "undo": True})

    def send(self) -> None:
        """Send what waits, in its order; what is not answered for stays."""
        while self.outbox:
            if self.outbox[0].get("undo"):
                batch = self.outbox[:1]
                answer = self.post("looks/undo", batch[0])
            else:
                batch = []
                for each in self.outbox[:200]:
                    if each.get("undo"):
                        break
                    batch.append(each)
                sent = datetime.now(UTC).isoformat()
                answer = self.post("looks", {"sent": sent, "looks": batch})
            if answer is None:
                return
            del self.outbox[: len(batch)]
            if batch[0].get("undo"):
                self.undone.add(batch[0]["token"])
                continue
            for told in answer["answers"]:
                if told["number"] is None:
                    self.refused.append(told)
                else:
                    self.acknowledged[told["token"]] = told["number"]

    def post(self, part: str, body: dict[str, Any]) -> dict[str, Any] | None:
        path = f"/cohort/{self.cohort}/{part}"
        status, content = self.reach(path, json.dumps(body), "application/json")
        if status == 401:
            code = self.servers.code
            if code:
                form = f"code={code}&initials={self.initials}"
                self.reach("/join", form, "application/x-www-form-urlencoded")
                self.joined += 1
            return None
        if status != 200:
            self.unanswered += 1
            return None
        return json.loads(content)

    def reach(self, path: str, body: str, kind: str) -> tuple[int, bytes]:
        """Status and content; 0 where the connection broke."""
        try:
            if self.line is None:
                self.line = http.client.HTTPConnection(
                    "127.0.0.2",
                    self.servers.port,
                    timeout=PATIENCE_SECONDS,
                    source_address=(f"127.0.0.{3 + self.number}", 0),
                )
            headers = {
                "Content-Type": kind,
                "Accept": "application/json",
                "Cookie": self.cookie,
                "Sec-Fetch-Site": "same-origin",
            }
            self.line.request("POST", path, body, headers)
            answer = self.line.getresponse()
            content = answer.read()
            self.cookie = (answer.getheader("Set-Cookie") or self.cookie).partition(";")[0]
            return answer.status, content
        except (OSError, http.client.HTTPException):
            if self.line is not None:
                self.line.close()
            self.line = None
            time.sleep(self.random.uniform(0.005, 0.05))
            return 0, b""
