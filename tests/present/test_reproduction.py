"""The tables of life tables, from the invented study of three temperatures."""

from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from rearlog.analysis.reproduction.estimates import Measure
from rearlog.analysis.reproduction.reproduction import Reproduction, ReproductionComparison
from rearlog.notebook import Notebook, compare_reproduction
from rearlog.present.cells import cell
from rearlog.present.csv import to_csv
from rearlog.present.reproduction import compared_tables, flat_reproduction, reproduction_tables
from rearlog.present.tables import Table
from tests.analysis.reproduction.laying_cohort import log_of
from tests.builders import notebook_of

SAMPLES = Path(__file__).parents[2] / "sample_cohorts" / "life_table"


@cache
def study() -> ReproductionComparison:
    return compare_reproduction(
        [Notebook(SAMPLES / f"dock-{celsius}.json") for celsius in (19, 22, 25)]
    )


@cache
def small() -> Reproduction:
    return notebook_of(log_of()).reproduction()


def by_first(table: Table) -> dict[Any, list[str]]:
    return {row[0]: [cell(each) for each in row[1:]] for row in table.rows}


def test_the_short_table_has_each_figure_with_its_decimals() -> None:
    short, *more = reproduction_tables(small())
    assert short.title == "tiny (6 eggs): from egg to egg"
    assert not short.full
    assert all(each.full for each in more)
    rows = by_first(short)
    r = small().of(Measure.RATE)
    assert rows["growth a day (r)"][0] == f"{r.estimate:.4f}"
    assert rows["eggs for each egg (R0)"][0] == "5.0"
    assert rows["females, part"] == [
        "0.75",
        f"{small().of(Measure.FEMALE_SHARE).se:.2f}",
        "0.30 to 0.95",
    ]
    assert rows["eggs that hatch, part"][0] == "0.500"
    assert "mean age of laying (Tc)" not in rows
    assert [row[0] for row in short.rows][:4] == [
        "eggs for each egg (R0)",
        "growth a day (r)",
        "times as many a day (λ)",
        "days of a generation (T)",
    ]
    assert short.words[0].startswith("Of 6 eggs came 3 females and 1 male; 2 laid 30 eggs")


def test_limits_that_are_open_say_so() -> None:
    rows = by_first(reproduction_tables(small())[0])
    r = small().of(Measure.RATE)
    assert r.low is None  # some resamples have no eggs
    assert rows["growth a day (r)"][2] == f"<{r.high:.4f}"
    doubling = small().of(Measure.DOUBLING)
    assert rows["days to double"][1:] == ["–", f">{doubling.low:.2f}"]


def test_in_full_every_figure_and_the_life_tables_are_shown() -> None:
    _, every, females, ages, stages, stable = reproduction_tables(small())
    assert len(every.rows) == len(Measure)
    assert by_first(every)["mean age of laying (Tc)"][0] == "6"
    assert len(females.rows) == 7
    assert [row[0] for row in ages.rows] == [*range(10)]
    cells = [cell(each) for each in ages.rows[7]]
    day = small().life_table[7]
    assert cells == [
        *("7", "4", "0.67", f"{day.l_low:.2f} to {day.l_high:.2f}"),
        *(f"{day.m:.2f}", f"{day.m_low:.2f} to {day.m_high:.2f}"),
        *(f"{day.lm:.2f}", f"{day.e:.2f}", f"{day.v:.2f}", f"{day.c:.4f}"),
        *(f"{day.l_female:.2f}", f"{day.m_female:.2f}"),
    ]
    assert [row[1] for row in stages.rows if row[0] == 7] == ["female", "male"]
    assert stable.title == "tiny: stages in a population of stable ages"
    assert sum(row[1] for row in stable.rows) == Decimal("1.0000")
    for table in (ages, stages):
        assert all(len(row) == len(table.columns) for row in table.rows)
    asked = reproduction_tables(small(), ages=True)
    assert [each.full for each in asked] == [False, True, True, False, True, True]
    asked = reproduction_tables(small(), stages=True)
    assert [each.full for each in asked] == [False, True, True, True, False, True]


def test_cohorts_stand_side_by_side_with_letters() -> None:
    short, pairs, every = compared_tables(study())
    assert short.columns == ["", "dock-19", "dock-22", "dock-25", "do they differ?"]
    rows = by_first(short)
    one = study().cohorts[0].of(Measure.GENERATION)
    assert rows["days of a generation (T)"] == [
        f"{one.estimate:.2f} ± {one.se:.2f} a",
        *(cell(each) for each in rows["days of a generation (T)"][1:3]),
        "yes",
    ]
    ends = [each.rsplit(" ", 1)[-1] for each in rows["growth a day (r)"][:3]]
    assert ends == ["a", "b", "b"]
    assert [each[-1] for each in rows["females, part"][:3]] == ["a", "a", "a"]
    assert rows["females, part"][3] == "not shown"
    assert pairs.rows[0][:2] == ["eggs for each egg (R0)", "dock-19 − dock-22"]
    first = study().pairs[0]
    assert [cell(each) for each in pairs.rows[0][2:]] == [
        f"{first.difference.estimate:.1f}",
        f"{first.difference.low:.1f} to {first.difference.high:.1f}",
        f"{first.p:.4f}",
        "yes",
    ]
    assert "a difference can be shown though its limits include 0" in pairs.words[0]
    assert len(pairs.rows) == 3 * len(Measure)
    assert len(every.rows) == 3 * len(Measure)
    asked = compared_tables(study(), ages=True, stages=True)
    assert [each.full for each in asked] == [False, True, True, *[False] * 6]


def test_two_cohorts_have_no_letters() -> None:
    two = ReproductionComparison(
        study().cohorts[:2], tuple(each for each in study().pairs if each.second == 1)
    )
    short = compared_tables(two)[0]
    one = two.cohorts[0].of(Measure.R0)
    assert by_first(short)["eggs for each egg (R0)"][0] == f"{one.estimate:.1f} ± {one.se:.1f}"
    assert "letter" not in short.words[0]


def test_of_many_cohorts_each_has_a_row() -> None:
    many = ReproductionComparison(study().cohorts * 3, ())
    short = compared_tables(many)[0]
    assert short.title == "The 9 cohorts: from egg to egg"
    assert [row[0] for row in short.rows][:3] == ["dock-19", "dock-22", "dock-25"]
    assert len(short.columns) == 5
    assert all(len(row) == 5 for row in short.rows)


def test_lists_have_the_cohort_in_front() -> None:
    figures = flat_reproduction([small()])
    assert figures.columns == ["cohort", "of", "measure", "n", "estimate", "se", "low", "high"]
    assert len(figures.rows) == len(Measure) + 7
    assert figures.rows[0][:5] == ["tiny", "both sexes", Measure.R0, 6, pytest.approx(5.0)]
    assert figures.rows[-1][1] == "females"
    ages = flat_reproduction(study().cohorts, ages=True)
    assert ages.columns[:4] == ["cohort", "x", "n", "l"]
    assert {row[0] for row in ages.rows} == {"dock-19", "dock-22", "dock-25"}
    stages = flat_reproduction([small()], stages=True)
    assert stages.columns == ["cohort", "x", "stage", "sex", "n", "s", "f", "e", "v", "c"]
    assert "tiny,7,adult,f," in to_csv(stages)


def without(result: Reproduction, *measures: Measure) -> Reproduction:
    """The same, nothing being known of some measures."""
    return replace(
        result,
        estimates=tuple(
            replace(each, estimate=None, se=None, low=None, high=None)
            if each.measure in measures
            else each
            for each in result.estimates
        ),
    )


def test_what_is_not_known_is_a_dash_or_left_out() -> None:
    rows = by_first(reproduction_tables(without(small(), *Measure))[0])
    assert [*rows] == [
        "eggs for each egg (R0)",
        "growth a day (r)",
        "times as many a day (λ)",
        "days of a generation (T)",
    ]
    assert rows["growth a day (r)"] == ["–", "–", "–"]
    days = small().life_table
    for cut in (replace(days[3], l_low=None), replace(days[3], l_high=None)):
        table = replace(small(), life_table=(cut,))
        assert cell(reproduction_tables(table)[3].rows[0][3]) == "–"


def test_beside_others_what_one_does_not_know_is_a_dash_without_a_letter() -> None:
    one, *others = study().cohorts
    some = (without(one, Measure.R0, Measure.HATCH_SHARE), *others)
    pairs = tuple(
        replace(each, p=None) if each.measure is Measure.R0 and each.first == 0 else each
        for each in study().pairs
    )
    rows = by_first(compared_tables(ReproductionComparison(some, pairs))[0])
    first, second, *_ = rows["eggs for each egg (R0)"]
    assert first == "–"
    assert second.startswith("82.2 ± ")
    nobody = tuple(without(each, Measure.HATCH_SHARE) for each in study().cohorts)
    rows = by_first(compared_tables(ReproductionComparison(nobody, ()))[0])
    assert "eggs that hatch, part" not in rows
    unsure = replace(
        one, estimates=tuple(replace(each, se=None, low=None, high=None) for each in one.estimates)
    )
    rows = by_first(compared_tables(ReproductionComparison((unsure, *others), ()))[0])
    assert rows["eggs for each egg (R0)"][0] == "25.2"


def test_six_stand_side_by_side_and_seven_do_not() -> None:
    cohorts = study().cohorts * 3
    six, seven = (compared_tables(ReproductionComparison(cohorts[:n], ()))[0] for n in (6, 7))
    assert len(six.columns) == 8
    assert six.title == "From egg to egg"
    assert len(seven.rows) == 7
