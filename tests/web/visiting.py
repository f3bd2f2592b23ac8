"""A shelf with small cohorts, and those who come to it, for tests of the pages."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

from flask import Flask
from flask.testing import FlaskClient

from rearlog.records.incoming import telling
from rearlog.records.log import Cohort, Individual, Observation
from rearlog.species.catalogue import find
from rearlog.store.cohort_file import CohortFile
from rearlog.web.app import create_app
from rearlog.web.desk import Desk
from rearlog.web.door import Door, Role
from rearlog.web.gates import COOKIE
from rearlog.web.shelf import Shelf

HOST = "127.0.0.1:8477"
SHARED = "192.0.2.1:8477"
"""This machine's name in an invented network (RFC 5737)."""
ELSEWHERE = "192.0.2.7"
NOW = datetime(2026, 3, 14, 9, 0, tzinfo=UTC)
LAID = NOW - timedelta(days=5)


def cohort_file(
    folder: Path, name: str = "warm", count: int = 3, zone: str = "UTC", **words: Any
) -> CohortFile:
    """Painted ladies, laid five days ago, looked at once: A01 is L1, the others eggs."""
    file = CohortFile(folder / f"{name}.json")
    individuals = [
        Individual(f"A{number:02d}", LAID, "egg", LAID - timedelta(hours=9), LAID)
        for number in range(1, count + 1)
    ]
    file.create(Cohort(name, find("painted-lady"), zone, LAID, LAID, **words), individuals)
    seen = NOW - timedelta(days=1)
    checks = [
        Observation(each.code, seen, stage="L1" if each.code == "A01" else "egg", by="KT")
        for each in individuals
    ]
    file.record([telling(checks)], seen)
    return file


def desk_over(
    folder: Path,
    now: Callable[[], datetime] = lambda: NOW,
    clock: Callable[[], float] = lambda: 0.0,
) -> Desk:
    """A shared shelf whose clocks stand still."""
    door = Door(clock)
    door.share()
    hosts = frozenset({HOST, SHARED, "localhost:8477"})
    return Desk(Shelf(folder), door, hosts, (f"http://{SHARED}",), now)


@lru_cache(maxsize=4)
def _app_of(desk: Desk) -> Flask:
    """One application for all who come to a desk."""
    return create_app(desk)


class Browser:
    """One visitor's browser: a cookie, an address, and what browsers say of themselves."""

    def __init__(self, desk: Desk, address: str = "127.0.0.1", told: str | None = None) -> None:
        self.client: FlaskClient = _app_of(desk).test_client()
        self.address = address
        self.host = HOST if address == "127.0.0.1" else SHARED
        if told is not None:
            self.client.set_cookie(COOKIE, told, domain=self.host.partition(":")[0])

    def ask(self, method: str, path: str, headers: Mapping[str, str] | None = None, **more):
        """An answer; what changes anything comes from our own page unless `headers` say else."""
        own = {} if method in ("GET", "HEAD") else {"Sec-Fetch-Site": "same-origin"}
        with_address = {"REMOTE_ADDR": self.address, **more.pop("environ_overrides", {})}
        return self.client.open(
            path,
            method=method,
            base_url=f"http://{self.host}",
            headers=own if headers is None else headers,
            environ_overrides=with_address,
            **more,
        )

    def get(self, path: str, **more):
        return self.ask("GET", path, **more)

    def post(self, path: str, **more):
        return self.ask("POST", path, **more)


def keeper(desk: Desk) -> Browser:
    return Browser(desk, told=desk.door.enter(desk.door.secret(), "127.0.0.1"))


def joined(desk: Desk, role: Role, initials: str = "MB", address: str = ELSEWHERE) -> Browser:
    return Browser(desk, address, desk.door.join(desk.door.codes[role], initials, address))


def looker(desk: Desk) -> Browser:
    return joined(desk, Role.LOOKER)


def guest(desk: Desk) -> Browser:
    return joined(desk, Role.GUEST)


def stranger(desk: Desk) -> Browser:
    return Browser(desk, ELSEWHERE)


def ended_looker(desk: Desk) -> Browser:
    found = looker(desk)
    desk.door.end(desk.door.visitors()[-1].number)
    return found


def strayed_keeper(desk: Desk) -> Browser:
    """Somebody in the network who has got a keeper's pass."""
    return Browser(desk, ELSEWHERE, desk.door.enter(desk.door.secret(), "127.0.0.1"))
