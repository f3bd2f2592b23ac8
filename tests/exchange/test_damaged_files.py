"""Whatever happens to a file on its way, it is read or refused with a message: never a crash."""

import contextlib
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.exchange import check_files, temperature_files
from rearlog.records.errors import ImportRefused
from rearlog.records.log import CohortLog
from tests.builders import moment, tiny_log

OBSERVATIONS = (
    "individual,at,stage,fate,cause,witnessed,length_mm,by,note\n"
    'A01,2026-03-11,L1,,,yes,3.5,KT,"big, and\nmoving"\n'
    "A02,2026-03-12T08:40+01:00,,dead,mould,,,,\n"
)
SHEET = (
    'check sheet: tiny,test moth\n". = no change"\n'
    "individual,last stage,2026-03-11 Wed,12/03/2026\n"
    'A01,egg,.,L1 head=0.6 "shy"\nA02,egg,dead(mould),\ntemp min (C),,18,19\n'
    "temp max (C),,23,24\ninitials,,KT,\n"
)
DAILY = "date,min_c,max_c\n2026-03-13,18,24\n14/03/2026,18.5,25\n"
LOGGER = (
    'Logger 7\n\nNo;"Date Time, GMT+01:00";Temp (°C);RH\n1;13.03.2026 08:00:00;21,5;45\n'
    "2;13.03.2026 08:10:00 PM;22;45\n"
)


def temperatures(path: Path, log: CohortLog) -> object:
    return temperature_files.read(path, log, moment(30))


def checks(path: Path, log: CohortLog) -> object:
    return check_files.read(path, log, moment(30))


CONFUSING = ["", "\0", "\ufeff", '"', '""', "'", ",", ";", "\t", "\r", "\n\n", ":", "/", "-", ".",
             "9" * 400, "²", "٣", "1e5", "NaN", "−", "0000-00-00", "0001-01-01", "9999-12-31",
             "99/99/9999", "24:00", "=", "(", ")",
             "L1", "same", "2026-03-11", "C", "individual", "temp", " "]  # fmt: skip


@pytest.mark.parametrize(
    ("content", "reader"),
    [(OBSERVATIONS, checks), (SHEET, checks), (DAILY, temperatures), (LOGGER, temperatures)],
    ids=["observations", "sheet", "daily", "logger"],
)
@given(
    st.lists(
        st.tuples(
            st.floats(0, 1, exclude_max=True),
            st.integers(0, 12),
            st.sampled_from(CONFUSING) | st.text(max_size=3),
        ),
        min_size=1,
        max_size=4,
    ),
    st.sampled_from(["utf-8", "utf-16", "latin-1"]),
)
def test_a_damaged_file_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory,
    content: str,
    reader: Callable[[Path, CohortLog], object],
    damages: list[tuple[float, int, str]],
    encoding: str,
) -> None:
    for where, length, instead in damages:
        place = int(where * len(content))
        content = content[:place] + instead + content[place + length :]
    path = tmp_path_factory.getbasetemp() / "damaged.csv"
    path.write_bytes(
        content.encode(encoding, errors="surrogatepass" if encoding != "latin-1" else "replace")
    )
    with contextlib.suppress(ImportRefused):
        reader(path, tiny_log({"A01": "egg", "A02": "egg"}))
