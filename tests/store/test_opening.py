"""Which file a cohort's name means."""

from __future__ import annotations

from pathlib import Path

import pytest

from rearlog.records.errors import UsageError
from rearlog.store.opening import find


def test_a_cohort_is_found_by_name_or_path(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("REARLOG_DIR", raising=False)
    assert find("room") == Path("room.json")
    assert find("shelf/room.json") == Path("shelf/room.json")
    monkeypatch.setenv("REARLOG_DIR", "/data")
    assert find("room") == Path("/data/room.json")


@pytest.mark.parametrize("name", ["", "..", "a b", "röom", "a;b", "\x1b[2J", "x" * 65, "a\nb"])
def test_what_is_no_name_is_refused(name: str) -> None:
    with pytest.raises(UsageError, match="is not a cohort name"):
        find(name)
