"""The server: the shelf, taps of thirty devices at once, charts, and memory.

A server of its own process over three cohorts of thirty, asked over the loopback by threads that
keep their connections, as browsers do.

Run it with: python -m tests.benchmarks.web
"""

from __future__ import annotations

import contextlib
import http.client
import itertools
import json
import secrets
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from functools import partial
from pathlib import Path

from tests.benchmarks.goals import Goal, show, within
from tests.benchmarks.made_logs import START, Size, write

COHORTS = ("cool", "room", "warm")
SIZE = Size(individuals=30, checks=20, days=20.0)
MIDDLE = START + timedelta(days=20, hours=6)
DEVICES = 30
STEADY_SECONDS = 8
WARM = 20

_SECONDS = itertools.count(1)
"""Each look is of another moment: two of one moment contradict each other."""

_SERVER = """
import sys, time
from datetime import datetime, timedelta
from pathlib import Path
from rearlog.web.server import Server
begun, middle = time.monotonic(), datetime.fromisoformat(sys.argv[2])
def now():
    return (middle + timedelta(seconds=time.monotonic() - begun)).replace(microsecond=0)
server = Server(Path(sys.argv[1]), 0, ["127.0.0.2"], share=True, now=now)
codes = {role.name: code for role, code in server.desk.door.codes.items()}
print(server.port, server.first_address().rpartition("/")[2], codes["LOOKER"], flush=True)
server.run()
"""
"""A server whose present is the middle of the cohorts' lives."""


@dataclass
class Running:
    """A server in its own process."""

    process: subprocess.Popen[str]
    port: int
    secret: str
    code: str

    def peak_mb(self) -> float:
        """The most memory that it has had, as the system counts it."""
        status = Path(f"/proc/{self.process.pid}/status").read_text()
        return int(status.partition("VmHWM:")[2].split()[0]) / 1024


@contextlib.contextmanager
def running(folder: Path) -> Iterator[Running]:
    command = [sys.executable, "-c", _SERVER, str(folder), MIDDLE.isoformat()]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    try:
        assert process.stdout is not None
        port, secret, code = process.stdout.readline().split()
        yield Running(process, int(port), secret, code)
    finally:
        process.kill()
        process.wait()


@dataclass
class Device:
    """A browser that keeps its connection and its cookie."""

    server: Running
    host: str = "127.0.0.2"
    cookie: str = ""
    taken: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.line = http.client.HTTPConnection(self.host, self.server.port, timeout=60)

    def ask(self, method: str, path: str, body: str = "", kind: str = "") -> tuple[int, bytes]:
        headers = {"Sec-Fetch-Site": "same-origin", "Cookie": self.cookie}
        self.line.request(method, path, body, headers | ({"Content-Type": kind} if kind else {}))
        answer = self.line.getresponse()
        content = answer.read()
        given = answer.getheader("Set-Cookie")
        if given:
            self.cookie = given.partition(";")[0]
        return answer.status, content

    def comes_in(self, initials: str) -> None:
        form = f"code={self.server.code}&initials={initials}"
        status, _ = self.ask("POST", "/join", form, "application/x-www-form-urlencoded")
        assert status == 303

    def tap(self, cohort: str, code: str) -> None:
        """One look, acknowledged: how long that took is kept."""
        at = MIDDLE - timedelta(seconds=next(_SECONDS))
        look = {"individual": code, "at": at.isoformat(), "token": secrets.token_hex(16)}
        body = json.dumps({"sent": MIDDLE.isoformat(), "looks": [look | {"same": True}]})
        begin = time.perf_counter()
        status, content = self.ask("POST", f"/cohort/{cohort}/looks", body, "application/json")
        self.taken.append(time.perf_counter() - begin)
        (answer,) = json.loads(content)["answers"]
        assert status == 200
        assert answer["number"], answer


def timed(do: Callable[[], object]) -> float:
    begin = time.perf_counter()
    do()
    return time.perf_counter() - begin


def together(devices: list[Device], do: Callable[[int, Device], None]) -> list[float]:
    """What all of them do at once, each in its thread; the seconds of their taps."""
    for each in devices:
        each.taken.clear()
    start = threading.Barrier(len(devices))

    def runs(number: int, device: Device) -> None:
        start.wait()
        do(number, device)

    threads = [threading.Thread(target=runs, args=each) for each in enumerate(devices)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return [seconds for each in devices for seconds in each.taken]


def living(device: Device, cohort: str) -> list[str]:
    """Those on the cards of a round."""
    _, content = device.ask("GET", f"/cohort/{cohort}/round/state")
    return [each["individual"] for each in json.loads(content)["cards"]]


def goals() -> list[Goal]:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for cohort in COHORTS:
            write(folder / f"{cohort}.json", SIZE)
        with running(folder) as server:
            return list(measured(server))


def measured(server: Running) -> Iterator[Goal]:
    keeper = Device(server, "127.0.0.1")
    assert keeper.ask("GET", f"/enter/{server.secret}")[0] == 303
    yield within("the shelf, first of all", 1e3 * timed(lambda: shelf(keeper)), 150, "ms")
    warm = [1e3 * timed(lambda: shelf(keeper)) for _ in range(WARM)]
    yield within("the shelf, from memory", statistics.median(warm), 150, "ms")
    codes = {cohort: living(keeper, cohort) for cohort in COHORTS}
    colds = []
    for cohort in COHORTS * 3:
        keeper.tap(cohort, codes[cohort][-1])
        colds.append(1e3 * timed(lambda: shelf(keeper)))
    yield within("the shelf, one cohort changed", statistics.median(colds), 150, "ms")

    devices = [Device(server) for _ in range(DEVICES)]
    for number, each in enumerate(devices):
        each.comes_in(f"D{number}")
    alone = together(devices[:1], partial(steadily, codes=codes, cohorts=COHORTS))
    yield from spread("a tap of one device", alone)
    for what, cohorts in (("in three cohorts", COHORTS), ("in one cohort", COHORTS[-1:])):
        taken = together(devices, partial(steadily, codes=codes, cohorts=cohorts))
        yield from spread(f"a tap a second each of {DEVICES}, {what}", taken)
        burst = []
        for _ in range(5):
            burst += together(devices, partial(once, codes=codes, cohorts=cohorts))
        yield from spread(f"{DEVICES} taps at once, {what}", burst)
    yield within("memory of the server", server.peak_mb(), 300, "MB")


def shelf(device: Device) -> None:
    status, content = device.ask("GET", "/")
    assert status == 200
    assert content.count(b"<section") == len(COHORTS)


def once(
    number: int, device: Device, codes: dict[str, list[str]], cohorts: tuple[str, ...]
) -> None:
    cohort = cohorts[number % len(cohorts)]
    device.tap(cohort, codes[cohort][number % len(codes[cohort])])


def steadily(
    number: int, device: Device, codes: dict[str, list[str]], cohorts: tuple[str, ...]
) -> None:
    """A tap a second, and every third second what the page asks for by itself."""
    begin = time.monotonic() + number / DEVICES
    for second in range(STEADY_SECONDS):
        time.sleep(max(0.0, begin + second - time.monotonic()))
        once(number + second, device, codes, cohorts)
        if second % 3 == 0:
            device.ask("GET", f"/cohort/{cohorts[0]}/round/state")


def spread(what: str, taken: list[float]) -> Iterator[Goal]:
    yield within(f"{what}: median", 1e3 * statistics.median(taken), 50, "ms")
    yield within(f"{what}: 95 %", 1e3 * statistics.quantiles(taken, n=20)[-1], 250, "ms")


if __name__ == "__main__":
    show(goals())
