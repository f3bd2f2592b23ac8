from rearlog.analysis.comparing.compare import compare
from rearlog.present.between import comparison_tables
from tests.analysis.invented_comparisons import FAST, SLOW, cohort


def test_the_table_names_the_test_of_each_stage() -> None:
    """Ranks for days, all on one grid of checks; means for the heat of two temperatures."""
    pair = [cohort("slow", SLOW, celsius=20), cohort("fast", FAST, celsius=25)]
    days, heat, _ = comparison_tables(compare(pair))
    assert days.title == "slow, fast: days of those that completed it"
    assert heat.title == "slow, fast: degree-days of those that completed it"
    for table, test in ((days, "Mann–Whitney"), (heat, "Welch")):
        row = next(row for row in table.rows if row[0] == "L1")
        assert row[list(table.columns).index("test")] == test
