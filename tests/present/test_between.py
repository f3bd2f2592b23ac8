from collections.abc import Sequence

from msgspec.structs import replace

from rearlog.analysis.comparing.cohorts import ComparedCohort
from rearlog.analysis.comparing.compare import Comparison, compare
from rearlog.analysis.comparing.factorial import NoDesign
from rearlog.analysis.comparing.thermal import thermal
from rearlog.analysis.stages.events import event_history
from rearlog.analysis.statistics.differences import Verdict
from rearlog.notebook import Notebook
from rearlog.notebook import compare as compared
from rearlog.present.between import comparison_tables, factorial_tables, thermal_tables
from rearlog.present.flat import flat_comparison
from rearlog.sentences import heat_mortality
from tests.analysis.invented_comparisons import FAST, SLOW, cohort, kept_at
from tests.builders import notebook_of, tiny_log
from tests.sentences.invented_results import design, effect, factorials, mortalities


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


def adults(name: str, dead: Sequence[int], alive: Sequence[int] = ()) -> Notebook:
    """A cohort of adults, looked at once a day, that died after so many days or still live."""
    lives = {f"{n}": "adult " * days + "dead" for n, days in enumerate(dead)}
    return notebook_of(
        tiny_log(lives | {f"a{n}": "adult " * days for n, days in enumerate(alive)}, name=name)
    )


def longevity() -> Comparison:
    """Of `short` one died a day; of `few` less than half, and of `none` nobody was watched."""
    short, long = adults("short", range(1, 8)), adults("long", range(5, 10), [10, 10])
    none = notebook_of(tiny_log({"1": "egg dead"}, name="none"))
    return compared([short, long, adults("few", [2], [6, 7, 8]), none], "adult")


def test_how_long_half_of_each_cohort_lived() -> None:
    """The fourth of seven died after day 3 and by day 4; below the least and above the largest of
    seven lies a median 1 time in 128 each, beyond the second ones 8 times in 128 (sign test)."""
    (table,) = comparison_tables(longevity())
    assert {row[0]: row[4:] for row in table.rows} == {
        "short": ["3.0–4.0", "0.0–7.0"],
        "long": ["7.0–8.0", None],
        "few": [None, None],
        "none": [None, None],
    }
    assert not table.full
    found = longevity()
    short, *_ = found.survival.groups
    assert short.median is not None
    open_above = replace(short, median=replace(short.median, population_high=None))
    (table,) = comparison_tables(
        replace(found, survival=replace(found.survival, groups=(open_above,)))
    )
    assert table.rows[0][4:] == ["3.0–4.0", ">0.0"]


def test_how_long_each_lived_stands_in_a_row_a_cohort() -> None:
    table = flat_comparison(longevity())
    assert table.columns == [
        *("since", "cohort", "n", "died", "expected", "half_died_low", "half_died_high"),
        *("half_died_population_low", "half_died_population_high"),
        *("chi2", "df", "p", "verdict", "reason"),
    ]
    untested = [None, 0, None, "not_tested", "nobody"]
    assert [row[:9] for row in table.rows] == [
        ["adult", "short", 7, 7, None, 3.0, 4.0, 0.0, 7.0],
        ["adult", "long", 7, 5, None, 7.0, 8.0, None, None],
        ["adult", "few", 4, 1, None, None, None, None, None],
        ["adult", "none", 0, 0, None, None, None, None, None],
    ]
    assert [row[9:] for row in table.rows] == [untested] * 4


def test_nobody_is_in_a_test_that_was_not_made() -> None:
    """Of one animal alone there is no standard error, and nothing is left to compare eight with."""
    pair = [cohort("slow", SLOW), cohort("one", [3])]
    l1 = next(each for each in compare(pair).stages if each.stage == "L1")
    assert (l1.p, l1.left_out) == (None, ("one",))
    table = flat_comparison(compare(pair))
    place = list(table.columns).index("tested")
    assert [row[place] for row in table.rows if row[0] == "L1"] == [False, False]


def test_under_the_short_table_stands_the_first_that_is_said_of_mortality() -> None:
    """How much cohorts scatter stands in full alone."""
    scattered = dict(mortalities())["scattered"]
    first, scatter = heat_mortality.words(scattered)
    found = replace(thermal([kept_at(20, 6), kept_at(25, 4)]), mortality=(scattered,))
    short, *_, full = thermal_tables(found)
    assert short.words[1:] == [first]
    assert full.words[-1] == f"{first} {scatter}"
    bare, *_ = thermal_tables(replace(found, mortality=(), left_out=("a", "b")))
    assert bare.words[1:] == ["Left out: a, b."]


def test_ten_cohorts_are_named_in_titles_and_eleven_counted() -> None:
    found = compare([cohort("slow", SLOW), cohort("fast", FAST)])
    for count, named in ((10, "c0, c1, c2, c3, c4, c5, c6, c7, c8, c9"), (11, "11 cohorts")):
        *_, survival = comparison_tables(
            replace(found, cohorts=tuple(f"c{n}" for n in range(count)))
        )
        assert survival.title == f"{named}: survival"


def test_of_stages_without_a_test_the_reason_is_told() -> None:
    tested = design(effect("food", Verdict.DIFFER), stage="egg")
    untested = design(stage="L1", reason=NoDesign.FEW_CLUSTERS)
    whole = design(effect("food", Verdict.DIFFER))
    found = dict(factorials())["both matter"]
    by_stage, _ = factorial_tables(replace(found, stages=(tested, untested, whole)))[-2:]
    assert [row[:2] for row in by_stage.rows] == [["egg", "food"]]
    (why,) = by_stage.words
    assert why.startswith("L1: no test, since some combination is of fewer than ")
