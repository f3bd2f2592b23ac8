"""Which file a cohort's name means."""

from __future__ import annotations

from pathlib import Path

import pytest

from rearlog.records.errors import UsageError
from rearlog.store.cohort_file import CohortFile
from rearlog.store.opening import find, place_of
from tests.web.visiting import cohort_file


def test_a_cohort_is_found_by_name_or_path(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("REARLOG_DIR", raising=False)
    assert find("room") == Path("room.json")
    assert find("shelf/room.json") == Path("shelf/room.json")
    monkeypatch.setenv("REARLOG_DIR", "/data")
    assert find("room") == Path("/data/room.json")


def test_a_label_is_taken_where_no_file_has_the_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("REARLOG_DIR", str(tmp_path))
    for name in ("room", "shelf", "sill"):
        cohort_file(tmp_path, name)
    CohortFile(tmp_path / "room.json").rename("class-4b")
    (tmp_path / "damaged.json").write_bytes(b'{"file":{ "class-4b"')
    assert find("class-4b") == tmp_path / "room.json"
    assert find("room") == tmp_path / "room.json"
    assert place_of("class-4b") == tmp_path / "class-4b.json"
    assert find("class-4c") == tmp_path / "class-4c.json"
    CohortFile(tmp_path / "sill.json").rename("shelf")
    assert find("shelf") == tmp_path / "shelf.json"
    CohortFile(tmp_path / "shelf.json").rename("class-4b")
    assert find("class-4b") == tmp_path / "class-4b.json", "two have this label"


@pytest.mark.parametrize("name", ["", "..", "a b", "röom", "a;b", "\x1b[2J", "x" * 65, "a\nb"])
def test_what_is_no_name_is_refused(name: str) -> None:
    with pytest.raises(UsageError, match="is not a cohort name"):
        find(name)
