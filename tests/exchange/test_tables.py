import csv
import io
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.exchange.formula_text import restored
from rearlog.exchange.tables import Layout, Row, TableColumn, TableWriter, cleaned, read
from rearlog.records.errors import Problem

LAYOUT = Layout(
    "things",
    "Things",
    "For a test.",
    (
        TableColumn("code", "string", "", required=True, pattern="[a-z]+"),
        TableColumn("size", "number", "", "mm", least=0, most=10),
        TableColumn("count", "integer", ""),
        TableColumn("seen", "boolean", ""),
        TableColumn("on", "date", ""),
        TableColumn("at", "datetime", ""),
        TableColumn("sex", "string", "", among=("f", "m")),
        TableColumn("note", "string", ""),
    ),
    ("code",),
)
TITLES = "code,size,count,seen,on,at,sex,note"


def written(row: Row) -> str:
    text = io.StringIO(newline="")
    TableWriter(LAYOUT, text).write([row])
    return text.getvalue()


def problems_in(path: Path, text: str) -> list[str]:
    path.write_text(text, encoding="utf-8")
    problems: list[Problem] = []
    read(path, LAYOUT, problems)
    return [str(each) for each in problems]


@pytest.mark.parametrize(
    ("row", "message"),
    [
        (",1,,,,,,", "line 2, column code: the cell is empty"),
        ("A,1,,,,,,", "“A” cannot be a code"),
        ("a,x,,,,,,", "line 2, column size: “x” is not a number"),
        ("a,nan,,,,,,", "“nan” is not a number"),
        ("a,1e999,,,,,,", "“1e999” is not a number"),
        ("a,-1,,,,,,", "-1 is below 0"),
        ("a,11,,,,,,", "11 is above 10"),
        ("a,,1.5,,,,,", "“1.5” is not a whole number"),
        ("a,,,maybe,,,,", "“maybe” is not yes or no"),
        ("a,,,,03/09/26,,,", "“03/09/26” is not a date such as 2026-03-09"),
        (
            "a,,,,,2026-03-09T08:40,,",
            "is not a time with its offset",
        ),  # without its offset it is no instant
        ("a,,,,,,x,", "“x” is not one of f, m"),
        ("a,1", "its 2 cells do not fit the 8 titles"),
        ("a,,,,,,,\nb,,,,,,,\na,,,,,,,", "line 4: a stands on line 2 already"),
    ],
)
def test_a_bad_cell_is_told_with_its_place(tmp_path: Path, row: str, message: str) -> None:
    (told,) = problems_in(tmp_path / "things.csv", f"{TITLES}\n{row}\n")
    assert message in told


def test_all_bad_cells_are_told_at_once(tmp_path: Path) -> None:
    told = problems_in(tmp_path / "things.csv", f"{TITLES}\nA,x,y,z,,,,\nb,,,,,,q,\n")
    assert len(told) == 5


@pytest.mark.parametrize(
    ("titles", "message"),
    [
        (TITLES + ",extra", "the column extra is not known"),
        (TITLES.replace("code", "kode"), "the column code is missing"),
        (TITLES + ",sex", "the column sex is there twice"),
        ("what,ever", "the line with the column titles is missing"),
    ],
)
def test_wrong_titles_are_told(tmp_path: Path, titles: str, message: str) -> None:
    assert message in " ".join(problems_in(tmp_path / "things.csv", f"{titles}\n"))


def test_columns_that_need_not_be_filled_may_be_missing(tmp_path: Path) -> None:
    path = tmp_path / "things.csv"
    path.write_text("size,code\n1.5,a\n")
    (line,) = read(path, LAYOUT, [])
    assert (line["code"], line["size"], line["on"], line["seen"]) == ("a", 1.5, None, False)


BLANK = {
    "size": None, "count": None, "seen": False, "on": None, "at": None, "sex": None, "note": None
}  # fmt: skip


@given(
    note=st.text(),
    size=st.none() | st.floats(0, 10),
    count=st.none() | st.integers(),
    on=st.none() | st.dates(min_value=date(1000, 1, 1)),
)
def test_what_is_written_is_read_again(
    tmp_path_factory: pytest.TempPathFactory,
    note: str,
    size: float | None,
    count: int | None,
    on: date | None,
) -> None:
    path = tmp_path_factory.mktemp("tables") / "things.csv"
    row = {**BLANK, "code": "a", "note": note, "size": size, "count": count, "on": on}
    path.write_text(written(row), "utf-8", newline="")
    problems: list[Problem] = []
    (line,) = read(path, LAYOUT, problems)
    assert problems == []
    assert (line["size"], line["count"], line["on"]) == (size, count, on)
    kept = cleaned(note)
    assert line["note"] == (kept if kept.strip() else line["note"])
    assert (line["note"] or "").strip() == kept.strip()


@given(st.text())
def test_no_cell_is_a_formula_and_none_holds_control_characters(note: str) -> None:
    content = written({**BLANK, "code": "a", "note": note})
    cell = next(csv.DictReader(io.StringIO(content, newline="")))["note"]
    assert cell[:1] not in tuple("=+-@\t\r\n")
    assert not any(ord(each) < 32 and each not in "\t\r\n" for each in cell)
    assert restored(cell) == cleaned(note)
