import csv
import io
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from rearlog.exchange import check_files
from rearlog.exchange.sheet import check_sheet
from rearlog.exchange.sheet_csv import read, write
from rearlog.exchange.sheet_grid import cell_name
from rearlog.records.errors import ImportRefused
from rearlog.records.incoming import Incoming, new_checks
from rearlog.records.log import CohortLog, DayExtremes, Observation, Temperature
from rearlog.records.temperature_overlap import new_temperatures
from tests.builders import moment, seen, tiny_log
from tests.exchange.conftest import FileOf

FIRST = date(2026, 3, 11)  # day 2 of the log


def take(path: Path, log: CohortLog, now: datetime) -> tuple[list[Observation], list[Temperature]]:
    """What an import would add to a log; raises ImportRefused with what keeps it out."""
    incoming = check_files.read(path, log, now)
    new = new_checks(log, incoming, now)
    days, contrary = new_temperatures(log.temperatures, incoming.days)
    if new.problems or contrary:
        raise ImportRefused([*new.problems, *contrary])
    return new.checks, days


def empty_sheet(log: CohortLog, days: int = 7) -> list[list[str]]:
    """The cells of a fresh sheet. Its rows from 4 on are A01, A02, A03, min, max, initials."""
    stream = io.StringIO(newline="")
    write(check_sheet(log, FIRST, moment(1.9), days), stream)
    return [*csv.reader(io.StringIO(stream.getvalue().removeprefix("\ufeff"), newline=""))]


def filled(log: CohortLog, cells: dict[str, str], days: int = 7) -> list[list[str]]:
    rows = empty_sheet(log, days)
    for name, text in cells.items():
        rows[int(name[1:]) - 1][ord(name[0]) - ord("A")] = text
    return rows


def text_of(rows: Iterable[Iterable[str]], separator: str = ",") -> str:
    stream = io.StringIO(newline="")
    csv.writer(stream, delimiter=separator).writerows(rows)
    return stream.getvalue()


def checks(incoming: Incoming) -> list[Observation]:
    assert incoming.problems == ()
    return [placed.check for placed in incoming.checks]


def complaints(incoming: Incoming) -> list[str]:
    return [str(problem) for problem in incoming.problems]


def test_the_sheet_as_written(log: CohortLog) -> None:
    rows = empty_sheet(log, 2)
    assert rows[0] == ["check sheet: tiny", "test moth"]
    assert "dead(mould)" in rows[1][0]
    assert rows[2] == ["example: A01", "L2", "L3 head=0.9", "."]
    assert rows[3:] == [
        ["individual", "last stage", "2026-03-11 Wed", "2026-03-12 Thu"],
        ["A01", "L1", "", ""],
        ["A02", "egg", "", ""],
        ["A03", "egg", "", ""],
        ["temp min (C)", "", "", ""],
        ["temp max (C)", "", "", ""],
        ["initials", "", "", ""],
    ]


def test_a_stage_code_that_a_spreadsheet_would_run_is_disarmed(log: CohortLog) -> None:
    sheet = check_sheet(log, FIRST, moment(1.9), 1)
    risky = replace(sheet.rows[0], last_stage='=HYPERLINK("x")')
    stream = io.StringIO(newline="")
    write(replace(sheet, rows=(risky,)), stream)
    assert "A01,\"'=HYPERLINK" in stream.getvalue()


def test_an_empty_sheet_says_nothing(file_of: FileOf, log: CohortLog, now: datetime) -> None:
    assert read(file_of(text_of(empty_sheet(log))), log, now) == Incoming(())


def test_every_kind_of_cell(file_of: FileOf, log: CohortLog, now: datetime) -> None:
    rows = filled(
        log,
        {"C5": ".", "D5": "l2 head=0.9", "E5": "SAME", "F5": '. len=4 "shy; slow"',
         "C6": "L1 seen", "E6": "dead(mould)", "D7": "removed(released) “set free”",
         "C8": "18.5", "C9": "23", "E8": "-1", "E9": "0",
         "C10": "KT", "D10": "=AB"},
    )  # fmt: skip
    incoming = read(file_of(text_of(rows)), log, now)
    a, b, c = "A01", "A02", "A03"
    assert checks(incoming) == [
        Observation(a, moment(2), same=True, by="KT"),
        Observation(a, moment(3), "L2", head_width_mm=0.9, by="=AB"),
        Observation(a, moment(4), same=True),
        Observation(a, moment(5), same=True, length_mm=4.0, note="shy; slow"),
        Observation(b, moment(2), "L1", witnessed=True, by="KT"),
        Observation(b, moment(4), fate="dead", cause="mould"),
        Observation(c, moment(3), fate="removed", cause="released", by="=AB", note="set free"),
    ]
    assert incoming.days == (
        DayExtremes(FIRST, 18.5, 23, source="file.csv"),
        DayExtremes(date(2026, 3, 13), -1, 0, source="file.csv"),
    )


def test_eggs_and_a_mate_in_the_cells_of_an_adult(file_of: FileOf, now: datetime) -> None:
    grown = tiny_log(dict.fromkeys(("A01", "A02", "A03"), "pupa adult"))
    rows = filled(
        grown, {"C5": ". eggs=34 hatched=0", "C6": "adult mate=cage-1", "D6": "dead eggs=2"}
    )
    assert rows[1][0].endswith('"a note"; of adults: . eggs=34 hatched=30 mate=7')
    first, second, last = checks(read(file_of(text_of(rows)), grown, now))
    assert (first.same, first.eggs, first.hatched, first.mate) == (True, 34, 0, None)
    assert (second.stage, second.mate) == ("adult", "cage-1")
    assert (last.fate, last.eggs) == ("dead", 2)


def test_no_change_is_not_what_a_record_of_that_moment_says(
    file_of: FileOf, log: CohortLog, now: datetime
) -> None:
    known = replace(log, all_observations=(*log.all_observations, seen("A01", 2, "L2")))
    with pytest.raises(ImportRefused, match="says “A01 L2” of that moment, the file “A01 same”"):
        take(file_of(text_of(filled(log, {"C5": "."}))), known, now)


def test_fahrenheit_by_the_label(file_of: FileOf, log: CohortLog, now: datetime) -> None:
    stream = io.StringIO(newline="")
    write(check_sheet(log, FIRST, moment(1.9), 1), stream, unit="F")
    text = stream.getvalue().replace("(F),,", "(F),,50", 1).replace("(F),,\r", "(F),,77\r", 1)
    # 50 °F = 10 °C, 77 °F = 25 °C (definition of the scale)
    assert read(file_of(text), log, now).days == (DayExtremes(FIRST, 10, 25, source="file.csv"),)


def test_temperatures_and_checks_of_days_to_come_are_refused(
    file_of: FileOf, log: CohortLog
) -> None:
    path = file_of(
        text_of(filled(log, {"C5": "L2", "D5": ".", "C8": "1", "C9": "2", "D8": "1", "D9": "2"}))
    )
    with pytest.raises(ImportRefused) as refused:
        take(path, log, moment(2.5))
    assert [(each.place[-2:], each.message) for each in refused.value.problems] == [
        ("D8", "2026-03-12 is still to come"),
        ("D5", "the check is in the future"),
    ]


def test_the_same_sheet_again_adds_nothing(file_of: FileOf, log: CohortLog, now: datetime) -> None:
    path = file_of(
        text_of(filled(log, {"C5": ".", "D5": "L2", "D6": "dead", "C8": "1", "C9": "2"}))
    )
    first, days = take(path, log, now)
    assert (len(first), len(days)) == (3, 1)
    after = replace(
        log,
        all_observations=(*log.all_observations, *first),
        all_temperatures=tuple(days),
    )
    assert take(path, after, now) == ([], [])


def test_a_sheet_of_this_morning_read_again_at_noon(file_of: FileOf, log: CohortLog) -> None:
    path = file_of(text_of(filled(log, {"C5": ".", "D5": "L2"})))
    early, noon = moment(3) - timedelta(hours=1), moment(3) + timedelta(hours=3)
    first, _ = take(path, log, early)
    assert [check.at for check in first] == [moment(2), early]
    after = replace(log, all_observations=(*log.all_observations, *first))
    assert take(path, after, noon) == ([], [])


def test_what_contradicts_the_log_or_its_rules_is_told_by_its_cell(
    file_of: FileOf, log: CohortLog, now: datetime
) -> None:
    known = replace(
        log,
        all_observations=(*log.all_observations, replace(seen("A02", 2, "L1"), number=5)),
        all_temperatures=(DayExtremes(FIRST, 18, 24, number=2),),
    )
    path = file_of(
        text_of(filled(log, {"C5": "egg", "C6": "L2", "C7": "lost", "D7": ".", "E7": "L1 L2",
                             "C8": "17", "C9": "24"}))
    )  # fmt: skip
    with pytest.raises(ImportRefused) as refused:
        take(path, known, now)
    said = {problem.place: problem.message for problem in refused.value.problems}
    assert said == {
        "file.csv, row 6 (A02), column 2026-03-11, cell C6": (
            "@5 says “A02 L1” of that moment, the file “A02 L2”"
        ),
        "file.csv, row 7 (A03), column 2026-03-13, cell E7": "“L2” is not a detail",
        "2026-03-11": "17 to 24 °C, but @T2 says 18 to 24",
    }


BAD_CELLS = {
    "C5": ("L9", "“L9” is no stage or fate"),
    "D5": ("x", "“x” is no stage or fate"),
    "E5": ("L2 head=big", "“big” is not a number"),
    "F5": ("L2 head=1,900", "“1,900” is not a number"),
    "G5": ("L2; A02 L2", "is not one state"),
    "H5": (", A02 L2", "is not one state"),
    "I5": ("- A03 L2", "is not one state"),
    "C6": ("dead(mould", "“dead(mould” is not closed"),
    "D6": ('L2 "shy', "is out of place"),
    "E6": ("same seen", "same cannot be seen"),
    "F6": ("L2 len=1 len=2", "len is given twice"),
    "G6": ("L2(mould)", "a cause stands behind “L2”"),
    "H6": ("sex=f", "“sex=f” is no stage or fate"),
    "I6": ("L2 sex=x", "sex “x” is not known"),
    "C7": ("…", "“…” is no stage or fate"),
    "D7": ("..", "“..” is no stage or fate"),
    "C8": ("cold", "“cold” is not a number"),
    "D8": ("72", "72 °C cannot be"),
    "E8": ("18", "the max of the day is missing"),
    "F9": ("18", "the min of the day is missing"),
    "G8": ("24", "the minimum of the day is above its maximum"),
}


def test_twenty_bad_cells_are_all_listed_and_nothing_is_imported(
    file_of: FileOf, log: CohortLog, now: datetime
) -> None:
    cells = {name: text for name, (text, _) in BAD_CELLS.items()}
    path = file_of(text_of(filled(log, {**cells, "C9": "24", "D9": "25", "G9": "23", "E7": "L1"})))
    with pytest.raises(ImportRefused) as refused:
        take(path, log, now)
    assert len(refused.value.problems) == len(BAD_CELLS) >= 20
    for name, (_, message) in BAD_CELLS.items():
        [problem] = [each for each in refused.value.problems if each.place.endswith(f"cell {name}")]
        assert message in problem.message
        assert f"row {name[1:]} (" in problem.place
        assert str(FIRST + timedelta(days=ord(name[0]) - ord("C"))) in problem.place


@pytest.mark.parametrize(
    ("cells", "message"),
    [
        ({"A5": "B07", "C5": "L2"}, "row 5, cell A5: no individual “B07”"),
        ({"A5": "", "C5": "L2"}, "row 5, cell A5: no individual “”"),
        ({"A5": "A02"}, "row 6, cell A6: a second row “A02”"),
        ({"A9": "temp min (C)"}, "row 9, cell A9: a second row “temp min (C)”"),
        ({"D4": "2026-03-11"}, "row 4, cell D4: a second column 2026-03-11"),
        ({"D4": "remarks", "D5": "shy"}, "row 4, cell D4: “remarks” is not a date"),
        ({"D4": "", "D5": "L2"}, "row 5, cell D5: there is no date above it"),
    ],
)
def test_rows_and_columns_that_cannot_be_told(
    file_of: FileOf, log: CohortLog, now: datetime, cells: dict[str, str], message: str
) -> None:
    [said] = complaints(read(file_of(text_of(filled(log, cells))), log, now))
    assert said.startswith(f"file.csv, {message}")


def test_what_spreadsheets_do_to_a_file(file_of: FileOf, log: CohortLog, now: datetime) -> None:
    rows = filled(log, {"C5": "L2", "D5": ".", "D6": "L1", "C8": "18,5", "C9": "23"})
    expected = checks(read(file_of(text_of(rows)), log, now))
    days = [f"{FIRST + timedelta(days=step):%d/%m/%Y}" for step in range(7)]
    variants = {
        "semicolons": text_of(rows, ";"),
        "tabs in UTF-16": text_of(rows, "\t").encode("utf-16"),
        "a mark, line feeds": "\ufeff" + text_of(rows).replace("\r\n", "\n"),
        "empty cells at the end dropped": "\n".join(
            line.rstrip(",") for line in text_of(rows).replace(" Wed", "").splitlines()
        ),
        "empty cells and lines added": text_of([*([*row, "", ""] for row in rows), [], ["", ""]]),
        "everything in quotation marks": "\n".join(
            ",".join('"' + cell.replace('"', '""') + '"' for cell in row) for row in rows
        ),
        "dates rewritten": text_of([*rows[:3], [*rows[3][:2], *days], *rows[4:]]),
        "the first lines gone": text_of(rows[3:]),
        "days in another order": text_of([*row[:2], *row[:1:-1]] for row in rows),
        "rows in another order, without the last stages": text_of(
            [*rows[:4], rows[8], rows[5], ["A01", "L9", *rows[4][2:]], rows[7]]
        ),
    }
    for name, content in variants.items():
        found = checks(read(file_of(content), log, now))
        assert sorted(found, key=str) == sorted(expected, key=str), name


def test_rewritten_dates_that_are_not_clear(file_of: FileOf, log: CohortLog, now: datetime) -> None:
    rows = filled(log, {"C5": "L2"}, days=1)
    rows[3][2] = "11/03/2026"
    path = file_of(text_of(rows))
    with pytest.raises(ImportRefused, match="--dates day-first"):
        read(path, log, now)
    assert checks(read(path, log, now, dates="day-first")) == [Observation("A01", moment(2), "L2")]


def test_the_sheet_of_another_cohort_is_refused(
    file_of: FileOf, log: CohortLog, now: datetime
) -> None:
    path = file_of(text_of(filled(log, {"C5": "L2"})).replace("sheet: tiny", "sheet: cool"))
    with pytest.raises(
        ImportRefused, match=r"the sheet of “cool” .*“check sheet: tiny” into cell A1"
    ):
        read(path, log, now)


@pytest.mark.parametrize(
    ("row", "column", "name"),
    [(0, 0, "A1"), (6, 5, "F7"), (9, 25, "Z10"), (0, 26, "AA1"), (0, 702, "AAA1")],
)
def test_cell_names(row: int, column: int, name: str) -> None:
    assert cell_name(row, column) == name


# Sheets filled in at random. Each cell is drawn together with what it says (None: nothing can be
# taken from it), and the rules are written down here once more, as simply as possible.

STAGES = ("egg", "L1", "L2", "L3", "pupa", "adult")
KINDS = ("stage", "stage", "same", "same", "fate", "fate-cause", "garbage")
Told = dict[str, object]


@st.composite
def told_cells(draw: st.DrawFn) -> tuple[str, Told | None]:
    kind = draw(st.sampled_from(KINDS))
    if kind == "garbage":
        word = draw(st.sampled_from(["L8", "moved", "?", "L1 L2", "egg;egg", "L1 head=", 'egg "'])
                    | st.text("xyz?!#", min_size=1, max_size=3))  # fmt: skip
        return word, None
    told: Told
    if kind == "stage":
        stage = draw(st.sampled_from(STAGES))
        text, told = draw(st.sampled_from([stage, stage.upper(), stage.lower()])), {"stage": stage}
    elif kind == "same":
        text, told = draw(st.sampled_from([".", "same", "Same"])), {"same": True}
    else:
        fate = draw(st.sampled_from(["dead", "lost", "removed"]))
        cause = draw(st.sampled_from(["mould", "no idea"])) if kind == "fate-cause" else None
        text, told = fate + (f"({cause})" if cause else ""), {"fate": fate, "cause": cause}
    if draw(st.booleans()):
        size = draw(st.integers(1, 999)) / 100
        text, told = f"{text} len={size}", told | {"length_mm": size}
    if draw(st.booleans()):
        note = draw(st.text("ab;, (é", min_size=1, max_size=8).filter(str.strip))
        text, told = f'{text} "{note}"', told | {"note": note.strip()}
    return text, told


def expected_checks(row: list[Told | None], code: str) -> list[Observation] | None:
    """What a row says, or None where it must be refused."""
    found: list[Observation] = []
    for step, told in enumerate(row):
        if told == {}:
            continue
        if told is None:
            return None
        details = {name: value for name, value in told.items() if name != "same"}
        if "same" in told:
            details["same"] = True
        found.append(Observation(code, moment(2 + step), **details))  # type: ignore[arg-type]
    return found


blank: tuple[str, Told | None] = ("", {})
sheets = st.lists(
    st.lists(
        st.just(blank) | st.just((".", {"same": True})) | told_cells(), min_size=5, max_size=5
    ),
    min_size=3,
    max_size=3,
)


def read_and_compare(folder: Path, cells: list[list[tuple[str, Told | None]]]) -> None:
    log = tiny_log({"A01": "egg L1", "A02": "egg", "A03": "egg"})
    rows = empty_sheet(log, 5)
    for row, line in zip(rows[4:7], cells, strict=True):
        row[2:] = [text for text, _ in line]
    path = folder / "sheet.csv"
    path.write_text(text_of(rows), encoding="utf-8", newline="")
    lines = [
        expected_checks([told for _, told in line], code)
        for line, code in zip(cells, ("A01", "A02", "A03"), strict=True)
    ]
    if all(line is not None for line in lines):
        expected = [check for line in lines if line is not None for check in line]
        assert take(path, log, moment(30)) == (expected, [])
        return
    with pytest.raises(ImportRefused) as refused:
        take(path, log, moment(30))
    places = " ".join(problem.place for problem in refused.value.problems)
    for number, told_of in enumerate(cells, start=4):
        for column, (_, told) in enumerate(told_of, start=2):
            assert told is not None or f"cell {cell_name(number, column)}" in places


@given(sheets)
@settings(max_examples=100)
def test_random_sheets_import_what_they_say_or_are_refused_whole(
    tmp_path_factory: pytest.TempPathFactory, cells: list[list[tuple[str, Told | None]]]
) -> None:
    read_and_compare(tmp_path_factory.getbasetemp(), cells)


@pytest.mark.slow
@given(sheets)
@settings(max_examples=1000)
def test_a_thousand_random_sheets_import_what_they_say_or_are_refused_whole(
    tmp_path_factory: pytest.TempPathFactory, cells: list[list[tuple[str, Told | None]]]
) -> None:
    read_and_compare(tmp_path_factory.getbasetemp(), cells)
