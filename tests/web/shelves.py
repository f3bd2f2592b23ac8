"""A server's application over a folder of small cohorts, and visitors who ask it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from flask.testing import FlaskClient
from msgspec.structs import replace

from rearlog.records.incoming import telling
from rearlog.records.log import CohortLog
from rearlog.store.cohort_file import CohortFile
from rearlog.web.app import create_app
from rearlog.web.desk import Desk
from rearlog.web.door import Door
from rearlog.web.gates import COOKIE
from rearlog.web.shelf import Shelf

HOST = "127.0.0.1:8477"


@dataclass
class Classroom:
    """An application over a folder, at a moment that the test may change."""

    folder: Path
    now: datetime

    def __post_init__(self) -> None:
        self.door = Door(lambda: 0.0)
        self.door.share()
        shelf = Shelf(self.folder)
        hosts = frozenset({HOST, "localhost:8477", "192.0.2.1:8477"})
        addresses = ("http://192.0.2.1:8477",)
        self.desk = Desk(shelf, self.door, hosts, addresses, lambda: self.now)
        self.app = create_app(self.desk)

    def keeper(self) -> FlaskClient:
        """A client of the keeper."""
        made = self.door.enter(self.door.secret(), "127.0.0.1")
        assert made is not None
        return self._with(made)

    def joined(self, role: Any, initials: str = "KT") -> FlaskClient:
        """A client of somebody who typed the code of a role."""
        made = self.door.join(self.door.codes[role], initials, "192.0.2.7")
        assert made is not None
        return self._with(made)

    def stranger(self) -> FlaskClient:
        """A client without a pass."""
        return self.app.test_client()

    def _with(self, made: str) -> FlaskClient:
        client = self.app.test_client()
        client.set_cookie(COOKIE, made, domain="127.0.0.1")
        return client


def put(folder: Path, log: CohortLog) -> Path:
    """Write a log into a file of the folder."""
    path = folder / f"{log.cohort.name}.json"
    file = CohortFile(path)
    file.create(log.cohort, log.individuals)
    if log.all_observations:
        latest = max(each.at for each in log.all_observations)
        checks = [replace(each, number=None) for each in log.all_observations]
        file.record([telling(checks)], latest + timedelta(seconds=1))
    if log.all_temperatures:
        file.add_temperatures(log.all_temperatures, log.cohort.started)
    return path


SAME_SITE = {"Origin": f"http://{HOST}", "Sec-Fetch-Site": "same-origin"}
BASE = f"http://{HOST}"
Ask = Callable[..., Any]
