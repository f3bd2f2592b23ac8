"""Is what was written down safe, and can one go back?"""

import re
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rearlog.store.cohort_file import CohortFile
from rearlog.store.restoring import states_of
from rearlog.web.door import Role
from tests.builders import START, tiny_log
from tests.web.shelves import BASE, SAME_SITE, put
from tests.web.twins import Twins

NOW = START + timedelta(days=4, hours=2)


@pytest.fixture
def tiny(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Twins:
    """A cohort after three changes, done by pages and by commands: individuals 8 and 9 come, a
    record is struck out, a temperature is written down."""
    log = tiny_log({"1": "egg egg L1 L1", "2": "egg egg egg L1", "3": "egg egg dead:mould"})
    twins = Twins(tmp_path, log, NOW, monkeypatch)
    client = twins.keeper()
    twins.post(client, "everyone", do="add", codes="8-9")
    twins.command("add", "8-9")
    twins.post(client, "everyone/1/strike", do="strike", record="2", because="wrong cup")
    twins.command("strike", "@2", "--because", "wrong cup")
    twins.post(client, "temperatures", do="day", on="2026-03-12", lowest="9", highest="21")
    twins.command("temps", "--min", "9", "--max", "21", "--on", "2026-03-12")
    assert twins.alike()
    return twins


def shown(client: Any, address: str = "/safety") -> Any:
    return client.get(address, base_url=BASE)


def numbers(twins: Twins) -> list[int]:
    return [each.number for each in states_of(twins.path).backups]


def sent(client: Any, address: str, **told: str) -> Any:
    return client.post(address, data=told, headers=SAME_SITE, base_url=BASE)


def seen(page: str) -> str:
    found = re.search(r'name="seen" value="([^"]*)"', page)
    assert found is not None
    return found[1]


def test_a_sound_file_is_said_to_be_so_with_its_backups(tiny: Twins) -> None:
    page = shown(tiny.keeper()).text
    assert "✓ sound · 5 individuals, 8 checks, 1 struck out, 1 temperature" in page
    count = len(numbers(tiny))
    assert f"{count} backups of tiny" in page
    assert page.count("Go back …") == count >= 3


def test_what_is_wrong_is_told_without_where_the_file_lies(tiny: Twins) -> None:
    tiny.path.write_bytes(tiny.path.read_bytes().replace(b"mould", b"mauld"))
    page = shown(tiny.keeper()).text
    assert "✗ something is wrong" in page
    assert "the checksum does not fit" in page
    assert "go back to a backup" in page
    assert str(tiny.path.parent) not in page
    assert "<details open>" in page


def test_a_file_that_is_nothing_at_all_hides_no_other(tiny: Twins) -> None:
    put(tiny.path.parent, tiny_log({"1": "egg L1"}, name="other"))
    tiny.path.write_bytes(b"{")
    page = shown(tiny.keeper()).text
    assert "✗ something is wrong" in page
    assert "✓ sound · 1 individual, 1 check" in page


def test_what_is_in_doubt_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    log = tiny_log({"1": "egg L1 L1 egg L1 L2", "2": "egg egg L1 L1 L1 L1"})
    twins = Twins(tmp_path, log, START + timedelta(days=7), monkeypatch)
    page = shown(twins.keeper()).text
    assert "is an earlier stage than L1 at" in page
    assert 'href="/cohort/tiny/everyone"' in page
    assert "rearlog correct" not in page


def test_the_copy_is_the_file(tiny: Twins) -> None:
    answer = shown(tiny.keeper(), "/safety/tiny/copy")
    assert answer.data == tiny.path.read_bytes()
    assert answer.headers["Content-Disposition"] == "attachment; filename=tiny.json"


def test_before_going_back_what_would_be_lost_is_said(tiny: Twins) -> None:
    first, *_, last = numbers(tiny)
    client, before = tiny.keeper(), tiny.path.read_bytes()
    page = shown(client, f"/safety/tiny/backups/{last}").text
    assert "<strong>1 temperature</strong>" in page
    assert "@T1: 9 to 21, 2026-03-12" in page
    page = shown(client, f"/safety/tiny/backups/{first}").text
    assert "<strong>2 individuals, 8 checks, 1 temperature</strong>" in page
    assert tiny.path.read_bytes() == before


def test_a_correction_that_would_be_undone_is_counted(tiny: Twins) -> None:
    number = numbers(tiny)[-2]
    page = shown(tiny.keeper(), f"/safety/tiny/backups/{number}").text
    assert "<strong>1 temperature, 1 correction</strong>" in page


def test_going_back_leaves_what_the_command_leaves_and_keeps_the_newer_file(tiny: Twins) -> None:
    client, newer = tiny.keeper(), tiny.path.read_bytes()
    number = numbers(tiny)[-2]
    address = f"/safety/tiny/backups/{number}"
    page = shown(client, address).text
    after = tiny.followed(client, sent(client, address, seen=seen(page)))
    tiny.command("restore", str(number - 1))  # the copy was made after the first change
    assert tiny.alike()
    assert tiny.path.read_bytes() != newer
    assert "tiny is again as it was on" in after
    assert "(before restoring)" in after
    last = states_of(tiny.path).backups[-1]
    back = f"/safety/tiny/backups/{last.number}"
    sent(client, back, seen=seen(shown(client, back).text))
    assert tiny.path.read_bytes() == newer


def test_going_back_from_a_damaged_file(tiny: Twins) -> None:
    sound = tiny.path.read_bytes()
    tiny.path.write_bytes(sound[: len(sound) // 2])
    client = tiny.keeper()
    address = f"/safety/tiny/backups/{numbers(tiny)[-1]}"
    page = shown(client, address).text
    assert "nobody can say what of it would be missing" in page
    assert sent(client, address, seen=seen(page)).status_code == 303
    assert [each.code for each in CohortFile(tiny.path).read().individuals][-1] == "9"


@pytest.mark.parametrize("told", [{}, {"seen": "1-2-3"}])
def test_nothing_is_brought_back_unless_the_loss_was_read(
    tiny: Twins, told: dict[str, str]
) -> None:
    before = tiny.path.read_bytes()
    answer = sent(tiny.keeper(), f"/safety/tiny/backups/{numbers(tiny)[0]}", **told)
    assert answer.status_code == 409
    assert "The file has changed meanwhile." in answer.text
    assert tiny.path.read_bytes() == before


def test_a_look_that_comes_between_is_not_lost_unread(tiny: Twins) -> None:
    client, address = tiny.keeper(), f"/safety/tiny/backups/{numbers(tiny)[-1]}"
    page = shown(client, address).text
    tiny.post(client, "temperatures", do="day", on="2026-03-13", lowest="10", highest="22")
    before = tiny.path.read_bytes()
    answer = sent(client, address, seen=seen(page))
    assert answer.status_code == 409
    assert "<strong>2 temperatures</strong>" in answer.text
    assert tiny.path.read_bytes() == before


@pytest.mark.parametrize("number", ["999", "0", "one", "-1", "1" * 30])
def test_there_is_no_such_backup(tiny: Twins, number: str) -> None:
    before, client = tiny.path.read_bytes(), tiny.keeper()
    address = f"/safety/tiny/backups/{number}"
    assert shown(client, address).status_code in (400, 404)
    assert sent(client, address, seen="x").status_code in (400, 404)
    assert tiny.path.read_bytes() == before


def test_a_looker_keeps_no_copy_and_goes_nowhere_back(tiny: Twins) -> None:
    looker, before = tiny.room.joined(Role.LOOKER), tiny.path.read_bytes()
    address = f"/safety/tiny/backups/{numbers(tiny)[0]}"
    for asked in ("/safety", "/safety/tiny/copy", address):
        assert shown(looker, asked).status_code == 403
    stamp = tiny.room.desk.shelf.stamp("tiny")
    assert sent(looker, address, seen=stamp).status_code == 403
    assert tiny.path.read_bytes() == before
    assert "Safety" not in tiny.get(looker, "everyone").text
