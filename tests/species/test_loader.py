"""Profile files as they lie on a disk."""

from pathlib import Path

import pytest

from rearlog.records.errors import ProfileError
from rearlog.species.loader import load

SOUND = """
id = "test-moth"
name = "test moth"
scientific_name = "Exemplum inventum"

[sources.own]
kind = "own"
citation = "An invented notebook."

[[stages]]
code = "egg"
days = { low = 3, high = 5, at_celsius = [20, 24], source = "own" }

[[stages]]
code = "L1"
"""


def test_a_file_becomes_a_profile(tmp_path: Path) -> None:
    file = tmp_path / "moth.toml"
    file.write_text(SOUND, encoding="utf-8-sig")  # with the mark that some editors put in front
    profile = load(file)
    assert profile.id == "test-moth"
    assert profile.codes == ("egg", "L1")
    assert profile.stage("L1").name == "first instar"
    days = profile.stage("egg").days
    assert days is not None
    assert days.at_celsius == (20.0, 24.0)


def test_one_temperature_is_a_range_of_no_width(tmp_path: Path) -> None:
    file = tmp_path / "moth.toml"
    file.write_text(SOUND.replace("[20, 24]", "22"), encoding="utf-8")
    days = load(file).stage("egg").days
    assert days is not None
    assert days.at_celsius == (22.0, 22.0)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"id = ", "moth.toml: the file is not TOML: Invalid value (at end of document)"),
        (b"id = 'a'\nid = 'b'\n", "not TOML: Cannot overwrite a value (at line 2"),
        (b"id = " + b"1" * 5000, "moth.toml: the file is not TOML: Exceeds the limit"),
        (b"\xff\xfe", "moth.toml: the file is not UTF-8 text (save it as UTF-8)"),
        (b"a = " + b"[" * 5000, "moth.toml: the file is nested too deeply"),
        (b"", "moth.toml, id: is missing"),
    ],
    ids=["no value", "twice", "digits", "other encoding", "deep", "empty"],
)
def test_a_file_that_cannot_be_read_says_why(tmp_path: Path, content: bytes, message: str) -> None:
    file = tmp_path / "moth.toml"
    file.write_bytes(content)
    with pytest.raises(ProfileError) as caught:
        load(file)
    assert message in str(caught.value)


def test_a_missing_file_and_a_folder_say_so(tmp_path: Path) -> None:
    with pytest.raises(ProfileError, match="cannot be read: no such file"):
        load(tmp_path / "nothing.toml")
    with pytest.raises(ProfileError, match="cannot be read: this is not a file"):
        load(tmp_path)
