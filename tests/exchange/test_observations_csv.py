import csv
import io
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from rearlog.exchange.observations_csv import read, write
from rearlog.records.errors import ImportRefused
from rearlog.records.incoming import Incoming
from rearlog.records.log import CohortLog, Observation
from tests.builders import moment, small_profile, tiny_log
from tests.exchange.conftest import FileOf

HEADER = "individual,at,stage,fate,cause,witnessed,length_mm,head_width_mm,mass_mg,sex,by,note\n"


def checks(incoming: Incoming) -> list[Observation]:
    assert not incoming.problems
    return [placed.check for placed in incoming.checks]


def complaints(incoming: Incoming) -> list[str]:
    return [str(problem) for problem in incoming.problems]


def test_a_line_with_everything(file_of: FileOf, log: CohortLog, now: datetime) -> None:
    line = 'A01,2026-03-11T08:40+01:00,L2,,,yes,3.5,0.61,12,f,KT,"a ""big"" one, moving"\r\n'
    [check] = checks(read(file_of(HEADER + line), log, now))
    at = datetime(2026, 3, 11, 7, 40, tzinfo=UTC)
    assert check == Observation(
        "A01", at, "L2", None, None, True, 3.5, 0.61, 12.0, "f", "KT", 'a "big" one, moving'
    )


def test_a_line_with_the_least(file_of: FileOf, log: CohortLog, now: datetime) -> None:
    [first, second] = checks(
        read(file_of("AT,Individual,fate\n2026-03-12,a02,Dead\n2026-03-12 17:30,3,lost"),
             log_of_numbers(), now)
    )  # fmt: skip
    assert first == Observation("A02", moment(3), fate="dead")
    assert second == Observation("003", moment(3) + timedelta(hours=8.5), fate="lost")


def log_of_numbers() -> CohortLog:
    return tiny_log({"A02": "egg", "003": "egg", "12": "egg"})


def test_what_a_spreadsheet_of_another_country_saves(
    file_of: FileOf, log: CohortLog, now: datetime
) -> None:
    text = (
        "\ufeffindividual;at;stage;head_width_mm;note;\r\nA01;2026-03-11;l1;0,61;a, b;\r\n;;;;;\r\n"
    )
    [check] = checks(read(file_of(text), log, now))
    assert check == Observation("A01", moment(2), "L1", head_width_mm=0.61, note="a, b")


BAD_LINES = {
    "B07,2026-03-11,L1,,,,,,,,,": "line 2, column individual: no individual B07 (this cohort has",
    ",2026-03-11,L1,,,,,,,,,": "column individual: the cell is empty",
    "A01,11/03/2026,L1,,,,,,,,,": "column at: “11/03/2026” is not a date (write 2026-03-09",
    "A01,today,L1,,,,,,,,,": "column at: “today” is not a date",
    "A01,2026-03-11T25:00,L1,,,,,,,,,": "column at: “2026-03-11T25:00” is not a date and time",
    "A01,2026-03-11,L9,,,,,,,,,": "stage: “L9” is no stage (use egg, L1, L2, L3, pupa, adult)",
    "A01,2026-03-11,,died,,,,,,,,": "column fate: “died” is not one of dead, lost, removed",
    "A01,9999-12-31,L1,,,,,,,,,": "column at: 9999-12-31 is too far in the future",
    "A01,0001-01-01T00:00+14:00,L1,,,,,,,,,": "column at: the year 1 cannot be",
    "A01,2026-03-11,,,,,,,,,,": "line 2: neither a stage nor a fate",
    "A01,2026-03-11,L1,,mould,,,,,,,": "column cause: a cause without a fate",
    "A01,2026-03-11,L1,,,true,,,,,,": "column witnessed: “true” is not yes or no",
    "A01,2026-03-11,L1,,,,big,,,,,": "column length_mm: “big” is not a number",
    "A01,2026-03-11,L1,,,,,nan,,,,": "column head_width_mm: “nan” is not a number",
    "A01,2026-03-11,L1,,,,,,1e999,,,": "column mass_mg: “1e999” is not a number",
    'A01,2026-03-11,L1,,,,,,"1,234",,,': "column mass_mg: “1,234” is not a number",
    "A01,2026-03-11,L1,,,,1_0,,,,,": "column length_mm: “1_0” is not a number",
    "A01,2026-03-11,L1,,,,,,,x,,": "column sex: “x” is not one of f, m",
    "A01,2026-03-11,L1": "line 2: its 3 cells do not fit the 12 titles",
    "A01,2026-03-11,L1,,,,,,,,,wet, dark": "line 2: its 13 cells do not fit the 12 titles",
}


@pytest.mark.parametrize(("line", "complaint"), BAD_LINES.items())
def test_a_cell_that_cannot_be_taken(
    file_of: FileOf, log: CohortLog, now: datetime, line: str, complaint: str
) -> None:
    [said] = complaints(read(file_of(HEADER + line), log, now))
    assert said.startswith("file.csv, line 2")
    assert complaint in said


def test_all_bad_cells_are_listed_and_the_good_lines_kept_apart(
    file_of: FileOf, log: CohortLog, now: datetime
) -> None:
    lines = [*BAD_LINES, "A01,2026-03-12,L1,,,,,,,,,", "X,never,L9,died,,maybe,a,b,c,d,,"]
    incoming = read(file_of(HEADER + "\n".join(lines)), log, now)
    assert len(incoming.problems) == len(BAD_LINES) + 9
    assert [placed.place for placed in incoming.checks] == [f"file.csv, line {len(lines)}"]
    places = {problem.place.split(", column")[0] for problem in incoming.problems}
    assert len(places) == len(BAD_LINES) + 1


def test_one_moment_twice_names_both_lines(file_of: FileOf, log: CohortLog, now: datetime) -> None:
    lines = (
        "A01,2026-03-11T09:00Z,L1,,,,,,,,,\nA02,2026-03-11,L1,,,,,,,,,\na01,2026-03-11,L2,,,,,,,,,"
    )
    [said] = complaints(read(file_of(HEADER + lines), log, now))
    assert said.startswith("file.csv, line 4: A01 2026-03-11 09:00 stands on line 2 already")


@pytest.mark.parametrize(
    ("titles", "messages"),
    [
        ("individual,at", ["there is no column stage, same or fate"]),
        ("stage,note", ["column individual is missing", "column at is missing"]),
        ("individual,at,stage,colour,size", ["column colour is not known", "column size is not"]),
        (
            "individual,at,stage,stage,colour",
            ["column stage is there twice", "colour is not known"],
        ),
    ],
)
def test_titles_that_are_wrong(
    file_of: FileOf, log: CohortLog, now: datetime, titles: str, messages: list[str]
) -> None:
    with pytest.raises(ImportRefused) as refused:
        read(file_of(f"{titles}\nA01,2026-03-11,L1\n"), log, now)
    assert len(refused.value.problems) == len(messages)
    for problem, message in zip(refused.value.problems, messages, strict=True):
        assert message in problem.message
        assert problem.place == "file.csv, line 1"


def test_unknown_columns_can_be_ignored(file_of: FileOf, log: CohortLog, now: datetime) -> None:
    path = file_of("colour,individual,at,stage\ngreen,A01,2026-03-11,L1\n")
    assert checks(read(path, log, now, ignore_extra=True)) == [Observation("A01", moment(2), "L1")]


@pytest.mark.parametrize("column", ["individual", "stage", "fate", "cause", "sex", "by", "note"])
def test_formulas_are_disarmed_on_the_way_out(column: str) -> None:
    check = replace(Observation("A01", moment(1), fate="dead"), **{column: "=1+1"})  # type: ignore[arg-type]
    stream = io.StringIO(newline="")
    write([check], stream)
    [line] = csv.DictReader(io.StringIO(stream.getvalue(), newline=""))
    assert line[column] == "'=1+1"


def test_a_day_alone_is_told_from_a_time(file_of: FileOf, log: CohortLog, now: datetime) -> None:
    path = file_of("individual,at,stage\nA01,2026-03-11,L1\nA02,2026-03-11T08:40,L1\n")
    assert [placed.day_only for placed in read(path, log, now).checks] == [True, False]


def test_written_as_the_standard_says() -> None:
    # RFC 4180 (2005): CRLF, quotation marks doubled inside of quotation marks
    stream = io.StringIO(newline="")
    write([Observation("1", moment(1), None, "dead", '5" fall', length_mm=12.0)], stream)
    assert stream.getvalue() == (
        HEADER.replace("\n", ",same,eggs,hatched,mate\r\n")
        + '1,2026-03-10T09:00:00+00:00,,dead,"5"" fall",,12.0,,,,,,,,,\r\n'
    )


texts = st.text(
    st.one_of(
        st.sampled_from("'=+-@\t\r\n,;\" “”é"),
        st.characters(exclude_categories=["Cs", "Cc", "Cn"], exclude_characters="\ufffe\uffff"),
    ),
    min_size=1,
).filter(str.strip)
sizes = st.none() | st.floats(1e-3, 1e6)


def as_somebody_may_say(check: Observation) -> Observation:
    """The check with a cause only beside a fate, and a stage only without “no change”."""
    same = check.same and not check.fate
    stage = None if same else check.stage
    return replace(check, stage=stage, same=same, cause=check.cause if check.fate else None)


observations = st.builds(
    Observation,
    individual=st.sampled_from(["A01", "A02", "A03"]),
    at=st.datetimes(datetime(2026, 1, 1), datetime(2027, 1, 1)).map(
        lambda at: at.replace(microsecond=0, tzinfo=timezone(timedelta(hours=1)))
    ),
    stage=st.sampled_from(small_profile().codes),
    fate=st.sampled_from([None, "dead", "lost", "removed"]),
    cause=st.none() | texts,
    witnessed=st.booleans(),
    length_mm=sizes,
    head_width_mm=sizes,
    mass_mg=sizes,
    sex=st.sampled_from([None, "f", "m"]),
    by=st.none() | texts,
    note=st.none() | texts,
    same=st.booleans(),
).map(as_somebody_may_say)


@given(st.lists(observations, unique_by=lambda each: (each.individual, each.at, each.by or "")))
def test_what_is_written_is_read_back(
    tmp_path_factory: pytest.TempPathFactory, written: list[Observation]
) -> None:
    log = tiny_log({"A01": "egg", "A02": "egg", "A03": "egg"})
    path = tmp_path_factory.getbasetemp() / "observations.csv"
    with path.open("w", encoding="utf-8", newline="") as stream:
        write(written, stream)
    assert checks(read(path, log, moment(1000))) == written
