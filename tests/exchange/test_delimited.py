import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.exchange.delimited import NoTitles, Rows, read_table
from rearlog.records.errors import ImportRefused
from tests.exchange.conftest import FileOf


def two_titles(rows: Rows) -> int | None:
    return next((place for place, row in enumerate(rows) if [*row] == ["a", "b"]), None)


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_the_separator_is_the_one_that_makes_the_titles(
    file_of: FileOf, separator: str, end: str
) -> None:
    text = end.join(["made up", f"a{separator}b", "", f'"1{separator}0"{separator}2'])
    table = read_table(file_of(text), two_titles, "a and b")
    assert table.separator == separator
    assert table.rows[table.header :] == [["a", "b"], [], [f"1{separator}0", "2"]]
    assert table.line(3) == "file.csv, line 4"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_encodings_that_name_themselves(file_of: FileOf, encoding: str) -> None:
    table = read_table(file_of("a,b\né,°".encode(encoding)), two_titles, "")
    assert table.rows[1] == ["é", "°"]


def test_another_encoding_is_refused_with_its_line_or_read_in_the_fallback(file_of: FileOf) -> None:
    path = file_of("a,b\n1,2\n3,é".encode("latin-1"))
    with pytest.raises(ImportRefused, match=r"file.csv, line 3: the text is not UTF-8 .*CSV UTF-8"):
        read_table(path, two_titles, "")
    assert read_table(path, two_titles, "", fallback="cp1252").rows[2] == ["3", "é"]


def test_lines_are_counted_through_cells_of_several_lines(file_of: FileOf) -> None:
    table = read_table(file_of('a,b\n"one\ntwo\n",1\n2,3\n'), two_titles, "")
    assert [*table.lines] == [1, 2, 5]


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("", "file.csv: the file is empty"),
        (" \r\n\n", "the file is empty"),
        ("a,b\n1,2\n\0", "line 3: this is no text"),
        (b"PK\x03\x04\0\0", "this is a workbook"),
        ('a,b\n1,2\n3,"4\n5,6\n', "line 3: a quotation mark opens here and is never closed"),
        ("a,b\n" + "x" * 200_000 + ",1\n", "line 2: a cell has more than 100,000"),
        ("a,b\n" + "x" * 110_000 + ",1\n", "line 2: a cell has more than 100,000"),
        ("c,d\n1,2\n", "the line with the column titles is missing .*a and b"),
    ],
)
def test_files_that_are_no_table(file_of: FileOf, content: str | bytes, message: str) -> None:
    with pytest.raises(ImportRefused, match=message):
        read_table(file_of(content), two_titles, "a and b")


def test_a_file_that_is_not_there(file_of: FileOf) -> None:
    missing = file_of("", "here").with_name("gone.csv")
    with pytest.raises(ImportRefused, match=r"gone.csv: cannot be read: No such file"):
        read_table(missing, two_titles, "")


def test_text_without_the_titles_has_its_own_error(file_of: FileOf) -> None:
    with pytest.raises(NoTitles):
        read_table(file_of("x\n"), two_titles, "")


@given(
    st.lists(
        st.lists(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0")),
                 min_size=2, max_size=4)
    )
)  # fmt: skip
def test_what_the_standard_library_writes_is_read_back(
    tmp_path_factory: pytest.TempPathFactory, rows: list[list[str]]
) -> None:
    stream = io.StringIO(newline="")
    csv.writer(stream).writerows([["a", "b"], *rows])
    path = tmp_path_factory.getbasetemp() / "round.csv"
    path.write_bytes(stream.getvalue().encode())
    assert read_table(path, two_titles, "").rows[1:] == rows
