"""Golden numbers: what stands in the cells of the tables about one cohort, worked out by hand."""

import pytest
from msgspec.structs import replace

from rearlog.notebook import Notebook
from rearlog.present.answers import (
    durations_tables,
    growth_tables,
    heat_tables,
    individuals_table,
    stage_count_tables,
    survival_tables,
)
from rearlog.present.cells import cell
from rearlog.present.tables import Table, between
from rearlog.records.log import ConstantTemperature
from tests.builders import START, notebook_of, seen, small_profile, tiny_log

# L1 took 2, 3, 4 and 5 days of those who were seen passing; one died in it, one was taken out, and
# one was lost as an egg. At 20 °C a day has 10 degree-days; 30 ± 3 are expected of L1.
LIVES = {str(n): "egg L1! " + "L1 " * (n - 1) + "L2! L2" for n in (2, 3, 4, 5)}
LIVES |= {"6": "egg L1! L1 dead:mould", "7": "egg lost", "8": "egg L1! removed"}


@pytest.fixture
def room() -> Notebook:
    notebook = notebook_of(
        tiny_log(
            LIVES,
            profile=small_profile(heat={"L1": 30.0}),
            laid=(-1, 0),
            temperatures=(ConstantTemperature(20.0, START.date()),),
        )
    )
    return notebook


def cells(table: Table) -> dict[str, str]:
    """The rows of a table by their first cell, a cell parted from the next by a space."""
    return {cell(first): " ".join(map(cell, others)) for first, *others in table.rows}


def test_how_long_stages_took(room: Notebook) -> None:
    short, fates, days, done = map(cells, durations_tables(room.durations()))
    # finished, on average, shortest and longest, expected, and how it lies to that
    assert short["L1"] == "4 3.5 2.0–5.0 2.4–3.6 as expected"
    assert short["L2"] == "0 – – – –"
    # entered, done, died, lost, removed, still in, start unknown
    assert fates == {"egg": "7 6 0 1 0 0 0", "L1": "6 4 1 0 1 0 0", "L2": "4 0 0 0 0 4 0"}
    # n, mean, SE 1.29/√4, SD √(5/3), median, range, ±, 30 ± 1.96 × 3 degree-days, outside of it
    assert days["L1"] == "4 3.50 0.65 1.29 3.50 2.0–5.0 0.0 2.4–3.6 3"
    # laid in the day before the start, hatched a day after it
    assert days["egg"] == "6 1.50 0.00 0.00 1.50 1.5–1.5 0.5 – 0"
    assert days["L2"] == "0 – – – – – – – 0"
    # of six two were not followed to the end; 2 of 4 had completed it after 3 days
    assert done["L1"] == "2.0–2.0 3.0–3.0 4.0–4.0 –"


def test_the_days_of_individuals(room: Notebook) -> None:
    (table,) = individuals_table(room.durations())
    rows = {(row[0], row[1]): " ".join(map(cell, row[2:])) for row in table.rows}
    assert rows["2", "L1"] == "2.00 2.0–2.0 completed 20.00 2.4–3.6 shorter"
    assert rows["3", "L1"] == "3.00 3.0–3.0 completed 30.00 2.4–3.6 "
    assert rows["5", "L1"] == "5.00 5.0–5.0 completed 50.00 2.4–3.6 longer"
    assert rows["6", "L1"] == "– >1.0 died – 2.4–3.6 "
    assert rows["2", "egg"] == "1.50 1.0–2.0 completed 15.00 – "


def test_degree_days(room: Notebook) -> None:
    short, days, stages = heat_tables(room.heat(), daily=True)
    assert cells(short)["L1"] == "4 35.0 24–36 as expected"
    # n, mean, SD, SE, range, expected: ten times the days, as there are 10 degree-days a day
    assert cells(stages)["L1"] == "4 35.00 12.91 6.45 20.0–50.0 24.1–35.9"
    assert stages.title == "tiny: degree-days above 10 °C, single-sine"
    assert cells(days)["2026-03-08"] == "10.00 10.00 filled"
    assert cells(days)["2026-03-16"] == "10.00 90.00 "
    assert stages.words[0] == (
        "Days: 9, of which with a temperature on record 8, filled from the days beside them 1, "
        "missing 0."
    )
    assert len(stages.words) == 1
    assert stages.words[0] not in short.words
    assert [each.full for each in (short, days, stages)] == [False, False, True]
    assert [each.full for each in heat_tables(room.heat())] == [False, True, True]


def test_survival(room: Notebook) -> None:
    stages, mortality, causes, curve, looks, ages = survival_tables(room.survival())
    # entered, died, lost, removed, still in, completed
    assert cells(stages)["L1"] == "6 1 0 1 0 4"
    assert cells(stages)["L2"] == "4 0 0 0 4 0"
    # one was taken out before any other end; of the other five one died (published: Wilson's
    # limits 0.036 and 0.624); −log10 of 0.8, of 0.964 and of 0.376
    assert cells(mortality)["L1"] == "0.20 0.04–0.62 0.10 0.02–0.43"
    assert cells(mortality)["L2"] == "0.00–1.00 0.00–1.00 – >0.00"
    assert mortality.words[0].endswith("adulthood: not known yet (95 % interval 0.02 or more).")
    assert cells(causes) == {"mould": "L1 1"}
    # one died on day 3 while five were under watch: 0.8, by Greenwood √(0.8² × 1/(5 × 4))
    assert cells(curve)["3"] == "5 1 0 0.80 0.18 0.20–0.97"
    assert cells(looks) == {"2": "3 0.20 0.80"}  # dead on day 3, alive the day before
    # n, l, d, q = 1/(6 − 1/2), L = (1 + 0.818)/2
    assert cells(ages)["2"] == "6 1.00 1 0.18 0.91 4.18 4.18"
    assert cells(ages)["6"] == "2 0.82 0 0.00 0.82 0.82 1.00"
    assert [each.full for each in survival_tables(room.survival())] == [False, *[True] * 5]
    asked = survival_tables(room.survival(), kaplan_meier=True)
    assert [each.full for each in asked] == [False, True, True, False, False, True]


def test_how_many_were_in_which_stage(room: Notebook) -> None:
    (table,) = stage_count_tables(room.stage_counts())
    assert table.columns[-3:] == ["dead", "lost", "removed"]
    # egg, L1, L2, L3, pupa, adult, dead, lost, removed
    assert cells(table)["2026-03-09"] == "7 0 0 0 0 0 0 0 0"
    assert cells(table)["2026-03-10"] == "0 6 0 0 0 0 0 1 0"
    assert cells(table)["2026-03-13"] == "0 2 2 0 0 0 1 1 1"


def test_growth() -> None:
    """Head widths of 0.5 and 0.8 mm; 2 to 8 mg in two days: ln 4/2 a day."""
    notebook = notebook_of(
        replace(
            tiny_log({"1": "egg"}),
            all_observations=(
                seen("1", 2, "L1", head_width_mm=0.5, mass_mg=2.0),
                seen("1", 4, "L2", head_width_mm=0.8, mass_mg=8.0, length_mm=5.25),
            ),
        )
    )
    short, series, gains, widths = growth_tables(notebook.growth())
    assert cells(short) == {"L1": "1 0.50 – –", "L2": "1 0.80 1.60 –"}
    assert [" ".join(map(cell, row)) for row in series.rows] == [
        "1 2.00 L1 – – 0.50 2.00",
        "1 4.00 L2 – 5.25 0.80 8.00",
    ]
    assert cells(gains) == {"1": "2.00 4.00 0.69 4.00"}
    assert cells(widths) == {"L1": "1 0.50 – – –", "L2": "1 0.80 – 1.60 –"}


@pytest.mark.parametrize(
    ("interval", "digits", "text"),
    [
        ((1.24, 3.06), 1, "1.2–3.1"),
        ((1.244, 3.066), 2, "1.24–3.07"),
        ((1.24, None), 1, ">1.2"),
        (None, 1, None),
    ],
)
def test_ranges_as_people_read_them(
    interval: tuple[float, float | None] | None, digits: int, text: str | None
) -> None:
    assert between(interval, digits) == text
