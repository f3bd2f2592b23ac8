"""What is usual for a user: one file, the environment over it, options over both."""

import json
import tomllib
from pathlib import Path

import pytest

from rearlog.records.log import DayExtremes
from rearlog.settings import usual
from rearlog.settings.file import Publisher, SettingsError, orcid_digits, read
from rearlog.store.cohort_file import CohortFile
from tests.cli.conftest import Run


@pytest.fixture
def file(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The settings file of somebody who has none yet."""
    path = folder / "mine" / "settings.toml"
    monkeypatch.setenv("REARLOG_SETTINGS", str(path))
    return path


def test_options_go_before_the_environment_and_that_before_the_file(
    run: Run, room: Path, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run("settings", "by", "KT")
    run("log", "room", "1 same", "--on", "2026-03-10")
    monkeypatch.setenv("REARLOG_BY", "MB")
    run("log", "room", "2 same", "--on", "2026-03-10")
    run("log", "room", "3 same", "--on", "2026-03-10", "--by", "XY")
    assert [each.by for each in CohortFile(room).read().all_observations] == ["KT", "MB", "XY"]


def test_the_folder_is_where_names_are_looked_up(
    run: Run, folder: Path, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / "shelf").mkdir()
    run("settings", "folder", str(folder / "shelf"))
    run("start", "moths", "--species", "monarch", "--eggs", "2")
    assert (folder / "shelf" / "moths.json").is_file()
    assert "moths" in run("today").output
    monkeypatch.setenv("REARLOG_DIR", str(folder))
    run("today", fails=2)  # there is no cohort in that folder


def test_temperatures_are_typed_in_the_usual_unit(run: Run, room: Path, file: Path) -> None:
    run("settings", "units", "fahrenheit")
    run("temps", "room", "--min", "64.4", "--max", "23C", "--on", "2026-03-09")
    run("temps", "room", "--min", "18", "--max", "23", "--unit", "C", "--on", "2026-03-10")
    run("describe", "room", "--temp", "68")
    log = CohortFile(room).read()
    days = [each for each in log.all_temperatures if isinstance(each, DayExtremes)]
    assert [(each.min_c, each.max_c) for each in days] == [(18.0, 23.0)] * 2
    assert log.cohort.planned_celsius == 20.0
    run("describe", "room", "--temp", "21.5 °C")
    assert CohortFile(room).read().cohort.planned_celsius == 21.5


def test_without_that_setting_numbers_are_degrees_celsius(run: Run, room: Path, file: Path) -> None:
    run("describe", "room", "--temp", "20")
    assert CohortFile(room).read().cohort.planned_celsius == 20.0
    run("describe", "room", "--temp", "68 F")
    assert CohortFile(room).read().cohort.planned_celsius == 20.0
    run("describe", "room", "--temp", "68", fails=2)


@pytest.mark.parametrize(
    ("order", "typed"), [("day-first", "10/3/2026"), ("month-first", "3/10/2026")]
)
def test_a_date_of_numerals_is_read_in_the_usual_order_and_told_in_full(
    run: Run, room: Path, file: Path, order: str, typed: str
) -> None:
    assert "is not a date" in run("log", "room", "1 same", "--on", typed, fails=2).stderr
    run("settings", "dates", order)
    assert "2026-03-10" in run("log", "room", "1 same", "--on", typed).stderr
    run("log", "room", "1 same", "--on", "13/13/2026", fails=2)
    assert CohortFile(room).read().all_observations[0].at.date().isoformat() == "2026-03-10"


def test_what_stands_in_the_file_stays(run: Run, file: Path) -> None:
    file.parent.mkdir()
    file.write_text(
        "# mine\nby = 'KT'  # since May\n\n[publisher]\nname = \"K\" # me\n", encoding="utf-8"
    )
    run("settings", "by", "MÜ")
    run("settings", "publisher.licence", "CC0-1.0")
    run("settings", "folder", "~/shelf")
    run("settings", "publisher.name", "")
    assert file.read_text(encoding="utf-8") == (
        '# mine\nby = "MÜ"  # since May\n\nfolder = "~/shelf"\n[publisher]\nlicence = "CC0-1.0"\n'
    )
    run("settings", "by", "")
    assert "by" not in tomllib.loads(file.read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    "text", ['publisher = {name = "K"}\n', '"by" = "KT"\n', 'by = """\nKT"""\n']
)
def test_a_line_that_a_program_cannot_find_is_left_to_the_user(
    run: Run, file: Path, text: str
) -> None:
    file.parent.mkdir()
    file.write_text(text)
    key = "publisher.name" if "publisher" in text else "by"
    assert "edit the file by hand" in run("settings", key, "MB", fails=2).stderr
    assert file.read_text() == text


def test_all_that_holds_is_shown_with_where_it_is_said(
    run: Run, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert f"{file} (not there yet)" in " ".join(run("settings").output.split())
    run("settings", "publisher.orcid", "0000-0002-1825-0097")
    monkeypatch.setenv("REARLOG_BY", "MB")
    found = json.loads(run("settings", "--format", "json").stdout)
    said = {each["key"]: (each["value"], each["said_by"]) for each in found["settings"]}
    assert said["by"] == ("MB", "$REARLOG_BY")
    assert said["publisher.orcid"] == ("0000-0002-1825-0097", "file")
    assert said["units"] == ("celsius", None)
    assert said["folder"] == (None, None)
    assert (found["path"], found["there"]) == (str(file), True)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("initals = 'KT'", "initals: there is no such key ("),
        ("publishr = {}", "publishr: there is no such key (did you mean publisher?)"),
        ("by = 3", "by: must be a text in quotation marks"),
        ("units = 'farenheit'", "units: “farenheit” is none of them (did you mean fahrenheit?)"),
        ("folder = 'shelf'", "folder: “shelf” is another folder wherever you are"),
        ("[publisher]\norcid = '0000-0002-1825-0098'", "publisher.orcid: “0000-0002-1825-0098” is"),
        ("[publisher]\nemail = 'me'", "publisher.email: “me” is no address of mail"),
        ("by = 'KT", "it is not TOML"),
        ('by = "K\\u0007"', "by: is no text of one line"),
        (b"by = '\xff'", "it is not UTF-8 text"),
        ("#" * 100_001, "it is too large for a settings file"),
    ],
)
def test_what_is_wrong_in_the_file_is_told(
    run: Run, room: Path, file: Path, text: str | bytes, told: str
) -> None:
    file.parent.mkdir()
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    line = run("log", "room", "1 same", fails=1).stderr
    assert str(file) in line
    assert told in line
    run("--help")
    run("log", "--help")
    assert CohortFile(room).read().all_observations == ()


def test_a_value_that_cannot_be_is_refused_and_the_file_is_as_it_was(
    run: Run, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run("settings", "by", "KT")
    before = file.read_bytes()
    with monkeypatch.context() as patch:
        patch.setenv("REARLOG_SETTINGS", str(file / "within" / "a file"))
        assert "cannot be written: not a directory" in run("settings", "by", "MB", fails=1).stderr
    for key, value, code in (
        ("units", "kelvin", 1),
        ("initials", "KT", 2),
        ("publisher.licence", "mine", 2),
        ("by", "a\nb", 1),
    ):
        run("settings", key, value, fails=code)
    run("settings", "by", fails=2)
    assert file.read_bytes() == before


def test_a_publisher_is_read_for_open_data(run: Run, room: Path, file: Path) -> None:
    run("settings", "publisher.licence", "CC-BY-4.0")
    run("settings", "publisher.name", "K")
    run("settings", "publisher.orcid", "https://orcid.org/0000-0002-1825-0097")
    expected = Publisher("K", orcid="0000-0002-1825-0097", licence="CC-BY-4.0")
    assert usual.publisher() == expected
    run("export", "room", "-o", "data")
    package = json.loads((room.parent / "data" / "datapackage.json").read_text(encoding="utf-8"))
    assert [each["name"] for each in package["licenses"]] == ["CC-BY-4.0"]


def test_where_there_is_no_file_nothing_is_said(file: Path) -> None:
    assert (usual.settings(), usual.initials(), usual.unit()) == (None, None, "C")
    assert (usual.folder(), usual.date_order(), usual.licence()) == (Path("."), "iso", None)
    with pytest.raises(SettingsError, match="cannot be read"):
        read(file)


def test_the_usual_file_is_in_the_configuration_folder_of_the_user(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("REARLOG_SETTINGS")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(folder))
    assert usual.path() == folder / "rearlog" / "settings.toml"


def test_the_check_digit_of_an_orcid() -> None:
    """The examples are those of ORCID's own pages on its structure, from memory."""
    assert orcid_digits("https://orcid.org/0000-0002-1825-0097") == "0000-0002-1825-0097"
    assert orcid_digits("0000-0002-1694-233X") == "0000-0002-1694-233X"
    for wrong in ("0000-0002-1694-2330", "0000-0001-1825-0097", "0000000218250097", ""):
        assert orcid_digits(wrong) is None
