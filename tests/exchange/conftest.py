"""Files to read, and a log to read them for."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from rearlog.records.log import CohortLog
from tests.builders import moment, small_profile, tiny_log

FileOf = Callable[..., Path]


@pytest.fixture
def file_of(tmp_path: Path) -> FileOf:
    """Write a file with some content; text is written as UTF-8 with its line ends as they are."""

    def write(content: str | bytes, name: str = "file.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return path

    return write


@pytest.fixture
def log() -> CohortLog:
    """Three eggs from 2026-03-09, 09:00 UTC; the first one seen as L1 on the next day."""
    return tiny_log({"A01": "egg L1", "A02": "egg", "A03": "egg"}, profile=small_profile())


@pytest.fixture
def now() -> datetime:
    return moment(30)
