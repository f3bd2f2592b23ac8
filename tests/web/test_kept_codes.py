"""Codes that are kept from one server to the next, where the keeper wants that."""

import os
from pathlib import Path

import pytest

from rearlog.web.door import LETTERS, Role
from rearlog.web.private_files import read_private, write_private
from rearlog.web.server import CODES, Server


def codes(folder: Path, *, keep: bool) -> dict[Role, str]:
    server = Server(folder, addresses=["127.0.0.2"], share=True, keep_codes=keep)
    try:
        return dict(server.desk.door.codes)
    finally:
        server.close()


def test_codes_are_new_each_time_unless_they_are_kept(tmp_path: Path) -> None:
    first, other = codes(tmp_path, keep=False), codes(tmp_path, keep=False)
    assert first != other
    kept = codes(tmp_path, keep=True)
    assert codes(tmp_path, keep=True) == kept
    assert codes(tmp_path, keep=False) != kept
    assert os.stat(tmp_path / ".rearlog" / CODES).st_mode & 0o077 == 0


@pytest.mark.parametrize("told", ["", "ABC", "ABCDEFG", "abcdef", 123456, None, ["A"] * 6])
def test_what_is_no_code_is_not_taken(tmp_path: Path, told: object) -> None:
    write_private(tmp_path, CODES, {"looker": told, "guest": "ABCDEF"})
    found = codes(tmp_path, keep=True)
    assert found[Role.GUEST] == "ABCDEF"
    assert found[Role.LOOKER] != told
    assert len(found[Role.LOOKER]) == 6
    assert {*found[Role.LOOKER]} <= {*LETTERS}


def test_what_others_may_read_or_wrote_is_passed_over(tmp_path: Path) -> None:
    write_private(tmp_path, CODES, {"guest": "ABCDEF"})
    path = tmp_path / ".rearlog" / CODES
    path.chmod(0o644)
    assert read_private(tmp_path, CODES) == {}
    path.chmod(0o600)
    assert read_private(tmp_path, CODES) == {"guest": "ABCDEF"}
    path.write_text("[1", encoding="ascii")
    assert read_private(tmp_path, CODES) == {}
