"""Contents that are packed until they are written are the same bytes as those of plain bytes."""

import hashlib
import io
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.exchange.bundle import Files, zipped
from rearlog.exchange.delimited import beyond_bounds
from rearlog.exchange.packed import Packed, digest_of, pieces

LONG = "".join(f"{number % 977},{number}\r\n" for number in range(90_000))
"""Longer than a piece."""


def packed(text: str) -> Packed:
    found = Packed()
    found.text.write(text)
    return found


@given(st.lists(st.text(st.characters(exclude_categories=["Cs"]))))
def test_what_was_written_is_read(texts: list[str]) -> None:
    found = Packed()
    for each in texts:
        found.text.write(each)
    whole = "".join(texts).encode()
    assert len(found) == len(whole)
    assert b"".join(pieces(found)) == b"".join(pieces(whole)) == whole
    assert digest_of([found, b"and"]) == hashlib.sha256(whole + b"and").hexdigest()
    assert b"".join(pieces(found)) == whole  # as often as it is asked for


def test_a_long_one_comes_in_pieces_and_takes_little_room() -> None:
    found = packed(LONG)
    several = [*pieces(found)]
    assert b"".join(several) == LONG.encode()
    assert len(several) > 3
    assert len(found._bytes.getvalue()) < len(LONG) / 2


def test_nothing_is_written_after_the_first_reading() -> None:
    found = packed("a")
    assert len(found) == 1
    with pytest.raises(ValueError, match="closed"):
        found.text.write("b")


def at_one_go(files: dict[str, bytes]) -> bytes:
    """An archive as zipfile makes it of whole files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in files.items():
            member = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            member.external_attr = 0o644 << 16
            archive.writestr(member, content, zipfile.ZIP_DEFLATED, compresslevel=9)
    return out.getvalue()


def test_an_archive_of_pieces_is_the_same_as_one_of_whole_files() -> None:
    files: Files = {"about.json": b"{}", "long.csv": packed(LONG), "empty.csv": packed("")}
    whole = {name: b"".join(pieces(content)) for name, content in files.items()}
    assert zipped(files) == at_one_go(whole) == zipped(whole)


def test_a_packed_table_has_the_bounds_of_a_plain_one(monkeypatch: pytest.MonkeyPatch) -> None:
    assert beyond_bounds(packed(LONG)) == ""
    monkeypatch.setattr("rearlog.exchange.delimited.MOST_ROWS", 80_000)
    told = beyond_bounds(packed(LONG))
    assert told == beyond_bounds(LONG.encode()) == "it has more than 80,000 lines"
    monkeypatch.setattr("rearlog.exchange.delimited.LARGEST_BYTES", len(LONG) - 1)
    assert beyond_bounds(packed(LONG)) == "it has more than 1 MB"
