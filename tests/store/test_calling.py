"""What a command is told to take is taken for the same file, from wherever it lies."""

import shlex
from pathlib import Path

import pytest

from rearlog.records.errors import StoreError, UsageError
from rearlog.store.calling import called
from rearlog.store.layout import decode
from rearlog.store.opening import find
from rearlog.store.restoring import restore


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.delenv("REARLOG_DIR", raising=False)
    monkeypatch.setenv("REARLOG_SETTINGS", str(tmp_path / "settings.toml"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("room.json", "room"),
        ("./room.json", "room"),
        ("dam/Oakwood/class-07.json", "dam/Oakwood/class-07.json"),
        ("our room.json", "'our room.json'"),
        ("dam/it's.json", "'dam/it'\"'\"'s.json'"),
        ("-x.json", "./-x.json"),
        ("notes", "./notes"),
        ("dam/notes.txt", "dam/notes.txt"),
    ],
)
def test_what_is_told_names_that_file(here: Path, path: str, told: str) -> None:
    (here / path).parent.mkdir(parents=True, exist_ok=True)
    (here / path).write_bytes(b"")
    assert called(Path(path)) == told
    (word,) = shlex.split(told)
    assert find(word).samefile(here / path)


def test_a_name_stands_for_the_usual_folder(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (here / "usual").mkdir()
    monkeypatch.setenv("REARLOG_DIR", str(here / "usual"))
    assert called(Path("room.json")) == "room.json"
    assert called(Path("usual/room.json")) == "room"
    assert called(here / "usual" / "room.json") == "room"
    (here / "link").symlink_to(here / "usual")
    assert called(Path("link/room.json")) == "room"


def test_a_backup_stands_for_the_file_that_it_is_a_copy_of() -> None:
    assert called(Path(".rearlog/room.json.3.before-accepting")) == "room"
    assert called(Path("dam/.rearlog/room.json.12")) == "dam/room.json"


def test_with_wrong_settings_a_file_is_called_by_its_path(here: Path) -> None:
    (here / "settings.toml").write_text("folder = 3")
    assert called(Path("room.json")) == "room.json"


def test_the_advice_is_for_the_file_in_its_own_folder(here: Path) -> None:
    path = Path("dam/Oakwood/class-07.json")
    for content in (b"my notes", b"[]"):
        with pytest.raises(StoreError, match=r"“rearlog restore dam/Oakwood/class-07\.json”"):
            decode(content, path)
    path.parent.mkdir(parents=True)
    path.write_bytes(b"")
    with pytest.raises(UsageError, match=r"“rearlog restore dam/Oakwood/class-07\.json”"):
        restore(path, 5)
