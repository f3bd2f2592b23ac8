from dataclasses import replace

from rearlog.analysis.comparing.cohorts import ComparedCohort
from rearlog.analysis.comparing.compare import compare
from rearlog.analysis.stages.events import event_history
from rearlog.present.between import comparison_tables
from tests.analysis.invented_comparisons import FAST, SLOW, cohort
from tests.builders import tiny_log


def test_the_table_names_the_test_of_each_stage() -> None:
    pair = [cohort("slow", SLOW, celsius=20), cohort("fast", FAST, celsius=25)]
    short, days, heat, survival = comparison_tables(compare(pair))
    assert [each.full for each in (short, days, heat, survival)] == [False, True, True, True]
    assert days.title == "slow, fast: days of those that completed it"
    assert heat.title == "slow, fast: degree-days of those that completed it"
    for table in (days, heat):
        row = next(row for row in table.rows if row[0] == "L1")
        assert row[list(table.columns).index("test")] == "Welch"
        assert not {"all", "alike"} & {*table.columns}


def test_columns_stand_there_where_there_is_something_to_tell() -> None:
    """Of three cohorts two are alike; one of another has been waiting in L1 for longer than its
    quickest took."""
    young = {str(n): "egg " * (1 + n % 6) + "L1 " * (4 + n % 3) + "L2" for n in range(8)}
    young |= {f"w{n}": "egg " + "L1 " * 6 for n in range(4)}
    waiting = ComparedCohort("young", "Moth test", event_history(tiny_log(young)), None)
    result = compare([cohort("slow", SLOW), cohort("fast", FAST), waiting])
    _, days, _ = comparison_tables(result)
    columns = list(days.columns)
    l1 = next(place for place, row in enumerate(days.rows) if row[0] == "L1")
    slow, fast, third = days.rows[l1 : l1 + 3]
    assert slow[columns.index("test")] == "Welch ANOVA, all"
    assert slow[columns.index("alike")] == "b"
    assert fast[columns.index("alike")] == "a"
    assert third[columns.index("all")] > third[columns.index("mean")] + 0.5
    assert any("in young 4 of 12 are still in it" in words for words in days.words)
    row = result.stages[l1 // 3]
    bare = replace(row, groups=tuple(replace(each, letters=None) for each in row.groups))
    _, days, _ = comparison_tables(replace(result, stages=(row, bare)))
    assert [cells[columns.index("alike")] for cells in days.rows[3:]] == [""] * 3
