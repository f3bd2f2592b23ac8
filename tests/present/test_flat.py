"""The rows for spreadsheets: one value a cell, and the same columns whatever was seen."""

import csv
import io

import pytest
from msgspec.structs import replace

from rearlog.analysis.comparing.compare import compare
from rearlog.analysis.comparing.thermal import thermal
from rearlog.analysis.growth.growth import Measurement
from rearlog.analysis.stages.durations import IndividualDuration, durations
from rearlog.analysis.stages.events import event_history
from rearlog.present.csv import to_csv
from rearlog.present.flat import flat, flat_comparison, flat_durations, flat_thermal
from rearlog.records.fields import Mark
from rearlog.records.log import DayExtremes
from rearlog.records.profile import StageProfile
from rearlog.species.catalogue import find
from tests.analysis.invented_comparisons import FAST, SLOW, cohort, kept_at
from tests.builders import START, moment, tiny_log


def rows(text: str) -> list[dict[str, str]]:
    found = list(csv.DictReader(io.StringIO(text)))
    assert not any("{" in cell or "None" in cell for row in found for cell in row.values())
    return found


def test_a_comparison_has_a_row_a_stage_unit_and_cohort() -> None:
    result = compare([cohort("slow", SLOW, celsius=20), cohort("fast", FAST, celsius=20)])
    found = [row for row in rows(to_csv(flat_comparison(result))) if row["stage"] == "L1"]
    assert [(row["unit"], row["cohort"], row["n"]) for row in found] == [
        ("days", "slow", "8"),
        ("days", "fast", "8"),
        ("degree-days C", "slow", "8"),
        ("degree-days C", "fast", "8"),
    ]
    slow, fast = found[:2]
    assert (slow["mean"], fast["mean"]) == ("9.75", "4.25")
    assert slow["means_estimate"] == fast["means_estimate"] == "5.5"
    assert (slow["test"], slow["counted"], slow["mean_of"]) == (
        "Welch",
        "those_that_completed_it",
        "everybody",
    )
    assert slow["ratio_estimate"] == slow["clusters"] == slow["mean_of_all_low"] == ""
    assert (slow["letters"], fast["letters"]) == ("b", "a")


def test_thermal_has_a_row_a_point_with_the_constants_beside_it() -> None:
    result = thermal([kept_at(15, 12), kept_at(20, 6), kept_at(25, 4)])
    found = [row for row in rows(to_csv(flat_thermal(result))) if row["stage"] == "L1"]
    assert [row["cohort"] for row in found] == ["t15", "t20", "t25"]
    assert [float(row["linear_threshold"]) for row in found] == pytest.approx([10] * 3)
    assert {row["best_curve_optimum"] for row in found} == {""}
    assert {row["best_curve_law"] for row in found} == {row["objections"] for row in found} == {""}
    assert {(row["daily_range"], row["in_stage"], row["swinging_threshold"]) for row in found} == {
        ("0.0", "0", "")
    }


def test_quartiles_that_are_not_known_are_empty_cells() -> None:
    log = tiny_log({"1": "egg L1 L1 L1", "2": "egg L1 L2 L2"})
    result = durations("tiny", log.cohort.species, event_history(log), None)
    l1 = rows(to_csv(flat_durations(result.stages)))[1]
    assert (l1["stage"], l1["npmle_lower_quartile_low"]) == ("L1", "0.0")
    assert (l1["median_bounds_low"], l1["median_bounds_high"]) == ("0.0", "2.0")
    assert l1["upper_quartile_low"] == l1["upper_quartile_high"] == l1["median_limits_low"] == ""
    assert l1["npmle_upper_quartile_low"] == l1["npmle_upper_quartile_high"] == ""
    assert l1["expected_low"] == l1["expected_high"] == ""


def test_nothing_to_list_still_has_a_header() -> None:
    header = "individual,day,stage,degree_days,length_mm,head_width_mm,mass_mg\r\n"
    assert to_csv(flat(Measurement, ())) == header
    assert "expected_low,expected_high" in to_csv(flat(IndividualDuration, ()))


def test_that_a_record_was_struck_out_is_in_three_columns_in_place_of_its_marks() -> None:
    struck = Mark(moment(2), "misread", "KT")
    days = [
        DayExtremes(START.date(), 18.0, 24.5, "card", number=1),
        DayExtremes(START.date(), 18.0, 25.0, None, number=2, marks=(struck,)),
        DayExtremes(
            START.date(), 18.0, 25.5, None, number=3, marks=(struck, replace(struck, back=True))
        ),
    ]
    header, *lines = to_csv(flat(DayExtremes, days)).splitlines()
    assert header == ("date,min_c,max_c,source,number,entered,struck_at,struck_because,struck_by")
    assert lines == [
        "2026-03-09,18.0,24.5,card,1,,,,",
        "2026-03-09,18.0,25.0,,2,,2026-03-11T09:00:00+00:00,misread,KT",
        "2026-03-09,18.0,25.5,,3,,,,",
    ]


def test_what_fits_in_no_cell_is_left_to_the_json() -> None:
    stages = find("monarch").stages
    found = rows(to_csv(flat(StageProfile, stages)))
    assert found[0]["code"] == "egg"
    assert not {"signs", "confusions"} & found[0].keys()
    assert not any("Sign(" in cell for row in found for cell in row.values())


def test_who_was_left_out_of_a_test_is_said_not_to_be_tested() -> None:
    result = compare([cohort("slow", SLOW), cohort("few", [3, 4]), cohort("fast", FAST)])
    found = [row for row in rows(to_csv(flat_comparison(result))) if row["stage"] == "L1"]
    assert [(row["cohort"], row["tested"]) for row in found] == [
        ("slow", "true"),
        ("few", "false"),
        ("fast", "true"),
    ]
