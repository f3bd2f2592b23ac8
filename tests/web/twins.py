"""A cohort twice: one that a browser changes, and one that the commands change."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from flask.testing import FlaskClient

from rearlog.cli.main import main
from rearlog.records import times
from rearlog.records.clock import in_zone
from rearlog.records.log import CohortLog
from rearlog.store.cohort_file import CohortFile
from tests.web.shelves import BASE, SAME_SITE, Classroom, put


class Twins:
    """A classroom with a cohort, a copy of it for the commands, and one clock for both."""

    def __init__(self, folder: Path, log: CohortLog, now: Any, patch: pytest.MonkeyPatch) -> None:
        ours, theirs = folder / "browser", folder / "commands"
        ours.mkdir()
        theirs.mkdir()
        self.path = put(ours, log)
        self.copy = theirs / self.path.name
        shutil.copy2(self.path, self.copy)
        self.room = Classroom(ours, now)
        self.name = log.cohort.name
        patch.setattr(times, "now", lambda zone: in_zone(self.room.now, zone))
        patch.delenv("REARLOG_BY", raising=False)

    def keeper(self) -> FlaskClient:
        """A client of the keeper."""
        return self.room.keeper()

    def get(self, client: FlaskClient, part: str) -> Any:
        """A page of the cohort."""
        return client.get(f"/cohort/{self.name}/{part}", base_url=BASE)

    def post(self, client: FlaskClient, part: str, **told: Any) -> Any:
        """What a form of the cohort sends."""
        address = f"/cohort/{self.name}/{part}"
        return client.post(address, data=told, headers=SAME_SITE, base_url=BASE)

    def followed(self, client: FlaskClient, answer: Any) -> str:
        """The page that an answer leads to."""
        assert answer.status_code == 303, answer.text
        return client.get(answer.location, base_url=BASE).text

    def command(self, word: str, *words: str) -> str:
        """Let a command do it to the copy; what it said."""
        result = CliRunner().invoke(main, [word, str(self.copy), *words], catch_exceptions=False)
        assert result.exit_code == 0, result.output
        return result.output

    def alike(self) -> bool:
        """Whether both files hold the same bytes."""
        return self.path.read_bytes() == self.copy.read_bytes()

    def log(self) -> CohortLog:
        """What the browser's file holds."""
        return CohortFile(self.path).read()
