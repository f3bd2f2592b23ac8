"""Sheets out of the browser, and back into the log."""

import csv
import io
from datetime import timedelta
from pathlib import Path
from typing import Any

import pypdf
import pytest

from rearlog.species.catalogue import find
from rearlog.web.door import Role
from tests.builders import START, tiny_log
from tests.web.shelves import BASE, Classroom, put
from tests.web.twins import Twins

NOW = START + timedelta(days=4, hours=2)


@pytest.fixture
def tiny(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Twins:
    log = tiny_log({"1": "egg egg L1", "2": "egg egg egg", "3": "egg egg dead:mould"})
    return Twins(tmp_path, log, NOW, monkeypatch)


def kept(twins: Twins, kind: str, **asked: str) -> Any:
    """A file that a looker keeps."""
    looker = twins.room.joined(Role.LOOKER)
    address = f"/cohort/tiny/sheets/{kind}"
    return looker.get(address, query_string=asked, base_url=BASE)


def sent(*contents: str) -> list[tuple[io.BytesIO, str]]:
    return [(io.BytesIO(each.encode()), f"../{place}.csv") for place, each in enumerate(contents)]


def filled(twins: Twins) -> str:
    """The sheet of two days, as somebody filled it in."""
    table = kept(twins, "table", **{"from": "2026-03-12", "days": "2"}).text
    rows = list(csv.reader(io.StringIO(table.removeprefix("\ufeff"))))
    cells = {"1": [".", "L2"], "2": ["L1", 'L1 "small"'], "temp min (C)": ["", "18"]}
    cells |= {"temp max (C)": ["", "23"], "initials": ["MB", "MB"]}
    for row in rows:
        row[2:] = cells.get(row[0], row[2:])
    out = io.StringIO(newline="")
    csv.writer(out).writerows(rows)
    return out.getvalue()


def test_the_table_is_what_the_command_writes(tiny: Twins, tmp_path: Path) -> None:
    answer = kept(tiny, "table", **{"from": "2026-03-12", "days": "3", "unit": "F"})
    path = tmp_path / "week.csv"
    span = ("--from", "2026-03-12", "--days", "3", "--unit", "F")
    tiny.command("sheet", "-o", str(path), *span)
    assert answer.data == path.read_bytes()
    assert answer.headers["Content-Disposition"] == "attachment; filename=tiny-sheet.csv"


def test_the_size_card_is_of_the_cohorts_species(tmp_path: Path) -> None:
    put(tmp_path, tiny_log({"1": "egg egg L1"}, profile=find("monarch")))
    looker = Classroom(tmp_path, NOW).joined(Role.LOOKER)
    address = "/cohort/tiny/sheets/card"
    answer = looker.get(address, query_string={"paper": "letter"}, base_url=BASE)
    (page,) = pypdf.PdfReader(io.BytesIO(answer.data)).pages
    assert [round(float(each)) for each in page.mediabox[2:]] == [612, 792]
    assert "50 mm" in page.extract_text()
    assert answer.headers["Content-Disposition"] == "attachment; filename=tiny-sizes.pdf"


def test_a_profile_without_sizes_has_no_card(tiny: Twins) -> None:
    answer = kept(tiny, "card")
    assert answer.status_code == 400
    assert "gives no sizes" in answer.text


def test_the_paper_is_a_pdf_of_the_size_that_was_asked_for(tiny: Twins) -> None:
    answer = kept(tiny, "paper", **{"from": "2026-03-12", "days": "5", "paper": "letter"})
    (page,) = pypdf.PdfReader(io.BytesIO(answer.data)).pages
    assert [round(float(each)) for each in page.mediabox[2:]] == [612, 792]
    assert "Check sheet: tiny" in page.extract_text()
    assert "2026-03-16" in page.extract_text()
    (page,) = pypdf.PdfReader(io.BytesIO(kept(tiny, "paper").data)).pages
    assert [round(float(each)) for each in page.mediabox[2:]] == [595, 842]


def test_the_page_to_tap_is_what_the_command_writes_and_is_kept_not_shown(
    tiny: Twins, tmp_path: Path
) -> None:
    answer = kept(tiny, "tap")
    path = tmp_path / "round.html"
    tiny.command("sheet", "--tap", "-o", str(path))
    assert answer.data == path.read_bytes()
    assert answer.headers["Content-Disposition"] == "attachment; filename=tiny-round.html"


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ({"days": "99"}, "1 to 14 days"),
        ({"days": "two"}, "1 to 14 days"),
        ({"from": "someday"}, "“someday” is not a date"),
        ({"from": "2020-01-01", "days": "3"}, "nobody"),
    ],
)
def test_a_sheet_that_cannot_be_is_told(tiny: Twins, asked: dict[str, str], why: str) -> None:
    answer = kept(tiny, "paper", **asked)
    assert answer.status_code == 400
    assert why in answer.text
    for value in asked.values():
        assert f'value="{value}"' in answer.text


def test_there_are_no_other_sheets(tiny: Twins) -> None:
    assert kept(tiny, "passwords").status_code == 404


def test_a_filled_table_comes_back_as_by_the_command(tiny: Twins, tmp_path: Path) -> None:
    text, client = filled(tiny), tiny.keeper()
    checked = tiny.post(client, "sheets", do="check", file=sent(text))
    assert tiny.alike()
    would = "Nothing recorded: 4 checks and the temperatures of 1 day would be."
    assert would in tiny.followed(client, checked)
    page = tiny.followed(client, tiny.post(client, "sheets", do="import", file=sent(text)))
    path = tmp_path / "sheet.csv"
    path.write_text(text, newline="")
    said = tiny.command("import", str(path))
    assert "Imported 4 checks and the temperatures of 1 day from" in said
    assert "Imported 4 checks and the temperatures of 1 day from the file." in page
    assert tiny.alike()
    assert tiny.log().checks["2"][-1].note == "small"
    page = tiny.followed(client, tiny.post(client, "sheets", do="import", file=sent(text)))
    assert "5 were in the log already and are passed over" in page
    assert tiny.alike()


def test_what_contradicts_is_taken_and_told_or_refused(tiny: Twins) -> None:
    tidy = "individual,at,stage\n1,2026-03-12T09:00,egg\n"
    client, before = tiny.keeper(), tiny.path.read_bytes()
    refused = tiny.post(client, "sheets", do="import", strict="yes", file=sent(tidy))
    assert refused.status_code == 400
    assert "egg comes before L1, which it was in at 2026-03-11 09:00" in refused.text
    assert 'name="strict" value="yes" checked' in refused.text
    assert tiny.path.read_bytes() == before
    page = tiny.followed(client, tiny.post(client, "sheets", do="import", file=sent(tidy)))
    assert "In doubt: " in page
    assert len(tiny.log().checks["1"]) == 3


def test_several_files_are_taken_in_together_or_none(tiny: Twins) -> None:
    good = "individual,at,stage\n1,2026-03-12T09:00,L1\n"
    bad = "individual,at,stage,mood\n2,2026-03-12T09:00,L9,gay\n<b>,2026-03-12T09:00,L1,gay\n"
    client, before = tiny.keeper(), tiny.path.read_bytes()
    answer = tiny.post(client, "sheets", do="import", file=sent(good, bad))
    assert answer.status_code == 400
    assert "sheet-2.csv" in answer.text
    assert "choose to pass over other columns" in answer.text
    assert "--ignore-extra" not in answer.text
    assert "/tmp" not in answer.text
    assert tiny.path.read_bytes() == before
    answer = tiny.post(client, "sheets", do="import", ignore_extra="yes", file=sent(good, bad))
    assert answer.status_code == 400
    assert "L9" in answer.text
    assert "<b>," not in answer.text
    assert 'name="ignore_extra" value="yes" checked' in answer.text
    assert tiny.path.read_bytes() == before
    mended = bad.replace("L9", "egg").replace("<b>", "1").replace("09:00,L1", "10:00,L1")
    answer = tiny.post(client, "sheets", do="import", ignore_extra="yes", file=sent(good, mended))
    assert "Imported 3 checks from 2 files." in tiny.followed(client, answer)


@pytest.mark.parametrize("text", ["", "hello\n", "individual,at\n"])
def test_what_is_no_sheet_is_told(tiny: Twins, text: str) -> None:
    before = tiny.path.read_bytes()
    answer = tiny.post(tiny.keeper(), "sheets", do="import", file=sent(text))
    assert answer.status_code == 400
    assert 'role="alert"' in answer.text
    assert tiny.path.read_bytes() == before


def test_the_sheet_of_another_cohort_is_refused(tiny: Twins) -> None:
    before = tiny.path.read_bytes()
    text = filled(tiny).replace("check sheet: tiny", "check sheet: other")
    answer = tiny.post(tiny.keeper(), "sheets", do="import", file=sent(text))
    assert "this is the sheet of “other”" in answer.text
    assert tiny.path.read_bytes() == before


def test_a_looker_prints_and_takes_nothing_in(tiny: Twins) -> None:
    looker, before = tiny.room.joined(Role.LOOKER), tiny.path.read_bytes()
    page = tiny.get(looker, "sheets").text
    assert "The sheet as PDF" in page
    assert "Take them in" not in page
    answer = tiny.post(looker, "sheets", do="import", file=sent(filled(tiny)))
    assert answer.status_code == 403
    assert tiny.path.read_bytes() == before
