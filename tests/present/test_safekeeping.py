"""What verification found, in tables: numbers and sizes by hand."""

from pathlib import Path

import pytest

from rearlog.present.cells import cell
from rearlog.present.safekeeping import Verifications, verification_tables
from rearlog.records.errors import Problem
from rearlog.store.verification import Verification


def found(problems: int = 0, backups: int | None = 3, size: int | None = 4_200) -> Verification:
    wrong = tuple(Problem(f"fault {n}", f"line {n}", "mend it") for n in range(problems))
    path = str(Path("room.json"))
    return Verification("room", path, not wrong, 2, True, 900, 24, 310, 2, 31, wrong, backups, size)


@pytest.mark.parametrize(
    ("backups", "size", "text"),
    [
        (3, 4_200, "3 (4 kB)"),
        (2, 999_499, "2 (999 kB)"),
        (12, 1_000_000, "12 (1.0 MB)"),
        (12, 1_234_567_890, "12 (1,234.6 MB)"),
        (0, 0, "none"),
        (None, None, "cannot be listed"),
        (3, None, "cannot be listed"),
    ],
)
def test_a_sound_file_has_a_row_and_nothing_is_wrong(
    backups: int | None, size: int | None, text: str
) -> None:
    (told,) = verification_tables(Verifications((found(0, backups, size),)))
    assert told.columns[-1] == "backups"
    assert [[cell(each) for each in row] for row in told.rows] == [
        ["room", "yes", "24", "310", "2", "31", "0", text]
    ]


def test_all_that_is_wrong_is_told_up_to_a_number() -> None:
    told, wrong = verification_tables(Verifications((found(2), found(0))))
    assert [row[1] for row in told.rows] == ["NO", "yes"]
    assert wrong.columns == ["cohort", "where", "what", "what to do"]
    assert [list(row) for row in wrong.rows] == [
        ["room", "line 0", "fault 0", "mend it"],
        ["room", "line 1", "fault 1", "mend it"],
    ]
    assert wrong.words == []
    _, just = verification_tables(Verifications((found(50),)))
    assert (len(just.rows), list(just.words)) == (50, [])
    _, more = verification_tables(Verifications((found(53),)))
    assert len(more.rows) == 50
    assert more.words[0].startswith("… and 3 more")
