"""Tables for papers: what stands in which cell, the decimals, and every form as it is read."""

import csv
import io
import re
from datetime import timedelta
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from msgspec.structs import replace

from rearlog.analysis.comparing.rate_curves import Limits, RateCurve, RateLaw
from rearlog.analysis.reproduction.estimates import Measure
from rearlog.analysis.statistics.differences import Verdict
from rearlog.notebook import Notebook, compare_reproduction, thermal
from rearlog.present.journal import (
    NOTHING,
    TABLES,
    JournalTable,
    Printed,
    PrintedHead,
    PrintedRow,
    decimals,
    journal_table,
    shown,
)
from rearlog.present.journal_forms import (
    WRITERS,
    to_html,
    to_latex,
    to_markdown,
    to_screen,
    to_tidy_csv,
)
from rearlog.records.errors import UsageError
from rearlog.records.log import ConstantTemperature
from rearlog.sentences import journal as words
from rearlog.sentences.reproduction import CALLED
from rearlog.sentences.works import works_named
from tests.analysis.reproduction.laying_cohort import log_of, same
from tests.builders import START, notebook_of, seen, small_profile, tiny_log
from tests.present.latex_reader import set_by_latex
from tests.present.one_stage import l1, of

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
OF_SHELVES = [each for each in TABLES if each != "reproduction"]
SHELVES = [Notebook(SAMPLES / f"{name}.json") for name in ("cool", "room", "warm")]


@cache
def shelf_table(what: str) -> JournalTable:
    return journal_table(what, SHELVES)


# --- digits ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("estimate", "text"),
    [
        (Printed(5.8829, 0.1872, n=23), "5.88 ± 0.19 (23)"),
        (Printed(1.9444, 0.0983, n=18), "1.944 ± 0.098 (18)"),
        (Printed(1.9444, 0.0996, n=18), "1.94 ± 0.10 (18)"),  # 0.0996 is 0.10, not 0.100
        (Printed(398.76, 12.87), "399 ± 13"),
        (Printed(398.76, 9.96), "399 ± 10"),
        (Printed(4123.4, 128.7), "4123 ± 129"),  # nothing before the point is left out
        (Printed(3.347, low=2.438, high=4.596, n=21), "3.35 [2.44 to 4.60] (21)"),
        (Printed(423.04, low=408.4, high=438.3), "423.0 [408.4 to 438.3]"),
        (Printed(411.6, low=392.0, high=432.0), "412 [392 to 432]"),
        (Printed(-0.2857, 1.782, -22.93, 22.36), "−0.3 ± 1.8 [−22.9 to 22.4]"),
        (Printed(-0.0004, 0.012), "0.000 ± 0.012"),  # no minus before nothing
        (Printed(None, low=4.0, high=20.0, n=9), "[4.0 to 20.0] (9)"),
        (Printed(5.04, n=1), "5.0 (1)"),
        (Printed(0.9987, decimals=3), "0.999"),
        (Printed(3.0, decimals=0), "3"),
        (Printed(7.0, 0.0, n=3), "7.0 ± 0.0 (3)"),
        (Printed(1.0, low=0.5), "1.0"),
        (Printed(1.0, high=2.0), "1.0"),
        (NOTHING, "–"),
        (Printed(n=4), "–"),
    ],
)
def test_two_digits_of_the_error_are_shown(estimate: Printed, text: str) -> None:
    assert shown(estimate) == text


@given(st.floats(1e-6, 9.9))
def test_the_error_as_shown_has_two_digits(error: float) -> None:
    told = f"{error:.{decimals(Printed(1.0, error))}f}"
    digits = told.replace(".", "").lstrip("0")
    assert len(digits) == 2 or told in ("10", "9.9")
    assert float(told) == pytest.approx(error, rel=0.05)


# --- what stands in the cells ---------------------------------------------------------------------


def row_of(table: JournalTable, name: str) -> PrintedRow:
    return next(each for each in table.rows if each.name == name)


def test_two_cohorts_that_differ_get_two_letters_and_one_for_both_if_not() -> None:
    slow, fast = of(l1([8, 9, 10, 11]), "slow"), of(l1([3, 4, 5, 4]), "fast")
    row = row_of(journal_table("durations", [slow, fast]), "L1")
    assert [(each.value, each.n, each.letters) for each in row.cells] == [
        (9.5, 4, "b"),
        (4.0, 4, "a"),
    ]
    assert [each.se for each in row.cells] == pytest.approx([0.6455, 0.4082], abs=1e-3)
    assert row.notes == ()
    alike = row_of(journal_table("durations", [slow, of(l1([8, 9, 10, 12]), "too")]), "L1")
    assert [each.letters for each in alike.cells] == ["a", "a"]


def test_two_cohorts_are_told_of_the_test_of_two_and_more_of_pairs() -> None:
    three = [of(l1([8, 9, 10, 11 + n]), f"c{n}") for n in range(3)]
    of_two = " ".join(journal_table("durations", three[:2]).notes)
    of_three = " ".join(journal_table("durations", three).notes)
    assert {each.cited for each in works_named(of_two)} == {"Welch 1947", "Holm 1979"}
    assert {each.cited for each in works_named(of_three)} == {
        "Welch 1951",
        "Holm 1979",
        "Games & Howell 1976",
        "Piepho 2004",
    }


def test_who_has_too_few_is_left_out_of_the_test_and_says_so() -> None:
    three = [of(l1([8, 9, 10, 11]), "x"), of(l1([3, 4, 5, 4]), "y"), of(l1([3, 4]), "few")]
    row = row_of(journal_table("durations", three), "L1")
    assert [each.letters for each in row.cells] == ["b", "a", ""]
    assert [each.notes for each in row.cells] == [(), (), (words.LEFT_OUT,)]
    assert "fewer than 3" in words.LEFT_OUT
    notes = journal_table("durations", three).notes
    assert any("Welch 1947" in each for each in notes)  # it was a test of two


def test_no_letters_without_a_test_and_the_reason_stands_by_the_row() -> None:
    table = journal_table("durations", [of(l1([8, 9, 10]), "x"), of(l1([3, 4]), "few")])
    row = row_of(table, "L1")
    assert [each.letters for each in row.cells] == ["", ""]
    assert row.cells[1].notes == ()  # there is no test that it could be left out of
    assert row.notes == ("No test: fewer than 3 were followed to its end in few.",)
    assert words.NO_TEST in table.notes
    assert not any("letter" in each for each in table.notes)


def test_where_some_did_not_complete_it_there_is_an_estimate_of_all_with_its_interval() -> None:
    late = {f"d{n}": "egg L1! " + "L1 " * 9 + "dead" for n in range(3)}
    one, other = of(l1([8, 9, 9, 10, 11, 12], **late), "x"), of(l1([3, 4, 4, 5, 5, 6]), "y")
    row = row_of(journal_table("durations", [one, other]), "L1")
    assert row.notes == (words.OF_ALL,)
    first = row.cells[0]
    assert first.se is None
    assert first.n == 6
    assert first.low is not None
    assert first.high is not None
    assert first.value is not None
    assert first.low < first.value < first.high
    assert first.value > 59 / 6  # the mean of those that completed it
    assert first.value == pytest.approx((first.low * first.high) ** 0.5)  # in logarithms
    alone = row_of(journal_table("durations", [one]), "L1")
    assert alone.cells[0].value == pytest.approx(59 / 6)
    assert alone.cells[0].notes == (words.OF_SOME["the_survivors"],)  # type: ignore[index]


def test_a_mean_that_leaves_some_out_says_so_where_all_cannot_be_counted() -> None:
    """With two that completed it in the other cohort there is no test, and no fit."""
    late = {f"d{n}": "egg L1! " + "L1 " * 9 + "dead" for n in range(3)}
    early = {f"d{n}": "egg L1! " + "L1 " * 12 for n in range(3)}
    few = of(l1([4, 5]), "few")
    for others, mean_of in ((late, "the_survivors"), (early, "the_early_ones")):
        some = of(l1([8, 9, 9, 10], **others), "some")
        row = row_of(journal_table("durations", [some, few]), "L1")
        assert row.cells[0].value == 9.0
        assert [each.notes for each in row.cells] == [(words.OF_SOME[mean_of],), ()]  # type: ignore[index]


def test_a_cohort_alone_has_its_stages_and_the_whole_and_no_word_of_tests() -> None:
    table = journal_table("durations", SHELVES[1:2])
    assert [each.name for each in table.rows][-2:] == ["pupa", "whole development"]
    assert [shown(each) for each in row_of(table, "pupa").cells] == ["8.19 ± 0.16 (17)"]
    assert shown(row_of(table, "whole development").cells[0]) == "28.07 ± 0.44 (17)"
    assert not any("letter" in each or "test" in each for each in table.notes)
    heat = journal_table("heat", SHELVES[1:2])
    assert shown(row_of(heat, "pupa").cells[0]) == "123.7 ± 2.4 (17)"
    assert heat.what == "Degree-days above 6.9 °C in each stage"


def test_heads_name_the_mean_temperature_where_it_is_known() -> None:
    kept = (ConstantTemperature(20.0, START.date() - timedelta(1)),)
    table = journal_table(
        "durations", [of(l1([5, 6]), "x", temperatures=kept), of(l1([5, 6]), "y")]
    )
    assert [each.name for each in table.heads] == ["x", "y"]
    assert [each.celsius for each in table.heads] == [pytest.approx(20.0), None]
    assert to_screen(table).columns == ["stage", "x (20.0 °C)", "y"]


def test_a_threshold_is_named_where_all_have_it() -> None:
    kept = (ConstantTemperature(20.0, START.date() - timedelta(1)),)
    cohorts = [
        of(l1([5, 6, 7]), f"c{lower:g}", temperatures=kept, profile=small_profile(lower=lower))
        for lower in (10.0, 11.0)
    ]
    assert journal_table("heat", cohorts[:1]).what == "Degree-days above 10 °C in each stage"
    assert journal_table("heat", cohorts).what == "Degree-days in each stage"


def test_mortality_that_is_not_settled_has_limits_and_no_estimate() -> None:
    lives = {f"a{n}": "egg L1 L2" for n in range(4)} | {"b": "egg L1 dead", "c": "egg L1 L1"}
    table = journal_table("survival", [of(lives)])
    row = row_of(table, "died as L1").cells[0]
    assert row.value is None
    assert row.notes == (words.NOT_SETTLED,)
    assert row.n == 6
    assert shown(row).startswith("[")
    assert row_of(table, "reached adulthood").cells[0].n == 6
    gone = of({f"a{n}": "egg L1 L2" for n in range(4)} | {"b": "egg dead", "c": "egg L1 lost"})
    assert row_of(journal_table("survival", [gone]), "reached adulthood").cells[0].n == 6


def test_survival_is_of_the_stages_that_come_to_an_end_and_tells_its_test() -> None:
    alone, two = (journal_table("survival", SHELVES[:n]) for n in (1, 2))
    stages = ("egg", "L1", "L2", "L3", "L4", "L5", "pupa")
    names = [*(f"died as {each}" for each in stages), "reached adulthood"]
    assert [each.name for each in alone.rows] == [each.name for each in two.rows] == names
    assert any("Log-rank test" in each and "df = 1" in each for each in two.notes)
    assert not any("Log-rank" in each for each in alone.notes)
    nobody = journal_table("survival", [of({f"a{n}": "egg L1" for n in range(3)}, x) for x in "xy"])
    assert any("no test, since nobody died" in each for each in nobody.notes)


def test_a_stage_that_only_some_cohorts_have_is_a_dash_in_the_others() -> None:
    young = of({f"a{n}": "egg egg" for n in range(3)}, "young")
    row = row_of(journal_table("durations", [of(l1([5, 6, 7]), "x"), young]), "L1")
    assert row.cells[1] == NOTHING
    assert journal_table("survival", [of(l1([5, 6, 7]), "x"), young]).rows[1].cells[1] == NOTHING


def test_thresholds_that_are_not_to_be_used_say_so() -> None:
    table = shelf_table("thermal")
    assert (table.what, table.species) == (words.CONSTANTS, ("Vanessa cardui",))
    assert (table.of_rows, table.of_columns) == ("stage", "constant")
    assert row_of(table, "L3").notes == (words.NOT_USED,)
    assert row_of(table, "pupa").notes == ()
    assert [shown(each) for each in row_of(table, "egg").cells[2:]] == ["0.995", "3"]
    two = journal_table("thermal", SHELVES[:2])
    assert words.TWO_TEMPERATURES in two.rows[0].notes
    assert two.rows[0].cells[0].se is None


def test_the_best_curve_gives_its_optimum_and_upper_threshold(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found, usual = thermal(SHELVES), shelf_table("thermal").heads
    curve = RateCurve(
        RateLaw.BRIERE_1, (), (), 9.0, None, 31.2, Limits(30.0, 33.0), 36.0, None, 1.0, 0.0, 0.5, 7
    )
    first, *others = found.stages
    stages = (replace(first, curves=(curve,)), *others)
    monkeypatch.setattr("rearlog.present.journal.thermal", lambda _: replace(found, stages=stages))
    table = journal_table("thermal", SHELVES)
    assert [each.name for each in table.heads][-2:] == ["optimum (°C)", "upper threshold (°C)"]
    egg, pupa = row_of(table, "egg"), row_of(table, "pupa")
    assert [shown(each) for each in egg.cells[-2:]] == ["31.20 [30.00 to 33.00]", "36.0"]
    assert egg.notes[-1] == (
        "Optimum and upper threshold by Brière's first curve (Brière et al. 1999, Environ. "
        "Entomol. 28:22–29)."
    )
    assert pupa.cells[-2:] == (NOTHING, NOTHING)
    assert table.heads[:-2] == usual


@pytest.mark.parametrize(
    ("what", "reason"),
    [
        ("durations", words.NOBODY_COMPLETED),
        ("growth", words.NO_HEADS),
        ("heat", "no temperature of"),
    ],
)
def test_where_there_is_nothing_to_show_it_is_said(what: str, reason: str) -> None:
    with pytest.raises(UsageError, match=re.escape(reason)):
        journal_table(what, [of({"a": "egg"})])


def measured(name: str, widths: dict[str, float]) -> Notebook:
    """Individuals with one head width each, in the stage that their code begins with."""
    log = of({code: f"egg {code[:2]}" for code in widths}, name).log
    looks = tuple(
        replace(each, head_width_mm=widths[each.individual]) for each in log.all_observations
    )
    return notebook_of(replace(log, all_observations=looks))


def test_head_widths_that_are_alone_have_two_decimals_and_no_error() -> None:
    one = measured("one", {"L1a": 0.4, "L2a": 0.64})
    many = measured("many", {"L1a": 0.4, "L1b": 0.44, "L1c": 0.36})
    table = journal_table("growth", [one, many])
    assert [[shown(each) for each in row.cells] for row in table.rows] == [
        ["0.40 (1)", "0.400 ± 0.023 (3)"],
        ["0.64 (1)", "–"],
        ["1.60 (2)", "–"],
    ]
    assert [each.name for each in table.rows] == ["L1", "L2", "Dyar’s ratio"]
    assert words.NO_TEST in table.notes
    assert words.NO_TEST not in journal_table("growth", [one]).notes


def test_stages_without_a_line_are_left_out_of_the_constants() -> None:
    """All eggs took the same time at either temperature."""
    cohorts = [
        of(l1(days), name, temperatures=(ConstantTemperature(c, START.date() - timedelta(1)),))
        for name, c, days in (("cool", 18.0, [8, 9]), ("warm", 25.0, [4, 5]))
    ]
    assert "egg" not in [each.name for each in journal_table("thermal", cohorts).rows]
    assert "L1" in [each.name for each in journal_table("thermal", cohorts).rows]


def test_adults_have_no_stage_to_come_to_the_end_of() -> None:
    with pytest.raises(UsageError, match=words.NOBODY_WATCHED):
        journal_table("survival", [of({"a": "adult adult dead"})])


def test_two_without_temperatures_have_no_heat_and_no_threshold() -> None:
    cohorts = [of(l1([5, 6, 7]), name) for name in "xy"]
    with pytest.raises(UsageError, match=words.NOBODY_COMPLETED):
        journal_table("heat", cohorts)
    with pytest.raises(UsageError, match="no stage has a straight line"):
        journal_table("thermal", cohorts)


def test_invented_data_say_so_in_every_table() -> None:
    for what in OF_SHELVES:
        assert shelf_table(what).notes[-1] == "Invented data: cool, room and warm."
        assert words.DIGITS in shelf_table(what).notes
    assert not any(
        "Invented" in note for note in journal_table("durations", [of(l1([5, 6]))]).notes
    )


def test_every_work_that_a_note_names_is_in_the_list() -> None:
    for what in OF_SHELVES:
        text = " ".join(shelf_table(what).notes)
        named = re.findall(r"[A-Z][\w-]+(?: et al\.)?,? \(?(?:18|19|20)\d\d", text)
        assert len(works_named(text)) == len(set(named)), (what, named)


# --- life tables ----------------------------------------------------------------------------------

STUDY = [Notebook(SAMPLES / "life_table" / f"dock-{celsius}.json") for celsius in (19, 22, 25)]


def test_life_tables_have_a_row_a_measure_with_the_letters_of_their_pairs() -> None:
    table = journal_table("reproduction", STUDY)
    found = compare_reproduction(STUDY)
    assert [each.name for each in table.heads] == ["dock-19", "dock-22", "dock-25"]
    assert [each.name for each in table.rows] == [CALLED[each] for each in Measure]
    for measure in Measure:
        cells = row_of(table, CALLED[measure]).cells
        for cell, own in zip(cells, found.cohorts, strict=True):
            own_measure = own.of(measure)
            assert (cell.value, cell.se, cell.n) == (
                own_measure.estimate,
                own_measure.se,
                own_measure.n,
            )
            assert (cell.low, cell.high, cell.notes) == (own_measure.low, own_measure.high, ())
            assert None not in (cell.low, cell.high)
            assert "[" not in shown(cell)  # but in the CSV
        for pair in found.pairs_of(measure):
            one, other = cells[pair.first].letters, cells[pair.second].letters
            assert bool(set(one) & set(other)) is (pair.verdict is not Verdict.DIFFER)
    assert [each.cited for each in works_named(" ".join(table.notes))] == [
        "Birch 1948",
        "Efron & Tibshirani 1993",
        "Holm 1979",
        "Piepho 2004",
    ]
    assert "10,000 resamples" in table.notes[0]
    assert "x to x + 1 counting as laid at x + 0.5" in table.notes[0]


def test_the_life_table_of_a_cohort_alone_has_no_letters() -> None:
    table = journal_table("reproduction", STUDY[:1])
    assert {cell.letters for row in table.rows for cell in row.cells} == {""}
    assert shown(row_of(table, "eggs for each egg (R0)").cells[0]) == "25.2 ± 8.1 (40)"
    assert not any("letter" in each for each in table.notes)


def few_eggs(name: str, eggs: int) -> Notebook:
    """Four eggs, which are too few to draw from: three die, a female lays."""
    lives = {"1": "egg L1 L2 pupa adult", "2": "egg dead", "3": "egg dead", "4": "egg dead"}
    looks = [
        same("1", 5, sex="f"),
        same("1", 6, eggs=eggs),
        seen("1", 7, "dead"),
    ]
    log = tiny_log(lives, laid=(-1, 0), name=name).with_checks(looks)
    return notebook_of(log)


def test_few_to_draw_from_have_no_error_and_no_test() -> None:
    table = journal_table("reproduction", [few_eggs("x", 12), few_eggs("y", 8)])
    cell = row_of(table, "eggs for each egg (R0)").cells[0]
    assert (cell.value, cell.se, cell.letters) == (3.0, None, "")
    assert cell.notes == (words.TOO_FEW_TO_DRAW,)
    assert shown(cell) == "3.0 (4)"
    assert words.NO_TEST in table.notes
    assert "bootstrap" not in table.notes[0]
    assert "days as adult, males" not in [each.name for each in table.rows]


def test_a_doubling_time_that_may_be_without_end_says_so() -> None:
    notebook = notebook_of(log_of())
    cell = row_of(journal_table("reproduction", [notebook]), "days to double").cells[0]
    found = notebook.reproduction().of(Measure.DOUBLING)
    assert found.high is None
    assert cell.notes == (words.NO_UPPER,)


# --- forms ----------------------------------------------------------------------------------------

HOSTILE = (
    "a|b",
    "a & b \\\\ c",
    "\\input{/etc/passwd}",
    "100 % #1 _x_ ~y^2 $z$ {",
    "[b] *c* `d`",
    "*star",
    "<script>alert(1)</script>",
    '"><img src=x onerror=y>',
    "=1+1",
    "**bold** [l](http://x) ![i](y)",
    "line\nbreak\ttab\x1b[31m",
    "a--b---c",
    "é ß ł",
)


def made(name: str, species: str = "Moth test") -> JournalTable:
    cell = Printed(5.8829, 0.1872, n=23, letters="ab", notes=(f"Note of {name}",))
    rows = (
        PrintedRow(name, (cell, NOTHING), ("Note of the row",)),
        PrintedRow("L2", (NOTHING, NOTHING)),
    )
    return JournalTable(
        "Days", (species,), "stage", "cohort", (PrintedHead(name, 20.0), PrintedHead("y")), rows, ()
    )


def one_line(text: str) -> str:
    return " ".join("".join(each if each.isprintable() else " " for each in text).split())


def test_marks_stand_in_the_order_of_reading_and_each_note_once() -> None:
    notes = tuple(f"note {n}" for n in range(8))
    cells = (Printed(1.0, notes=notes[1:3]), Printed(2.0, letters="b", notes=notes[:1]))
    rows = (PrintedRow("a", cells, notes[:1]), PrintedRow("b", cells, notes[3:]))
    table = JournalTable(
        "T", (), "stage", "cohort", (PrintedHead("x"), PrintedHead("y")), rows, ("first",)
    )
    screen = to_screen(table)
    assert screen.rows[0] == ["a *", "1.0 †,‡", "2.0 b,*"]
    assert screen.rows[1][0] == "b §,‖,¶,**,††"
    assert screen.words == ["first", "* note 0", "† note 1", "‡ note 2", "§ note 3", "‖ note 4",
                            "¶ note 5", "** note 6", "†† note 7"]  # fmt: skip


class Page(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.cells: list[str] = []
        self.open: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs
        self.open.append(tag)
        if tag in ("th", "td"):
            self.cells.append("")

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if {"th", "td"} & set(self.open):
            self.cells[-1] += data


@pytest.mark.parametrize("name", HOSTILE)
def test_html_shows_what_was_typed_and_has_no_other_tags(name: str) -> None:
    page = Page(to_html(made(name, name)))
    assert page.open == []
    allowed = {"table", "caption", "thead", "tbody", "tfoot", "tr", "th", "td", "sup", "p", "i"}
    assert set(page.tags) <= allowed
    assert {key for key, _ in page.attributes} == {"scope", "colspan"}
    shown_name = one_line(name)
    assert page.cells[:3] == ["stage", f"{shown_name} (20.0 °C)", "y"]
    assert page.cells[3:6] == [f"{shown_name}*", "5.88 ± 0.19 (23)ab,†", "–"]
    assert page.cells[-1] == f"*Note of the row†Note of {shown_name}"


@pytest.mark.parametrize("name", HOSTILE)
def test_markdown_is_read_as_it_was_typed(name: str) -> None:
    html = (
        MarkdownIt("commonmark", {"html": True})
        .enable("table")
        .render(to_markdown(made(name, name)))
    )
    page = Page(html)
    assert set(page.tags) <= {"p", "table", "thead", "tbody", "tr", "th", "td", "em"}
    shown_name = one_line(name)
    assert page.cells == ["stage", f"{shown_name} (20.0 °C)", "y", f"{shown_name} *",
                          "5.88 ± 0.19 (23) ab,†", "–", "L2", "–", "–"]  # fmt: skip
    assert html.startswith("<p>Days (<em>")


def latex_rows(text: str) -> list[list[str]]:
    """The cells between \\toprule and \\bottomrule, parted at what parts them for LaTeX."""
    body = text.split("\\toprule\n")[1].split("\\bottomrule")[0].replace("\\midrule\n", "")
    lines = body.rstrip("\n").split("\n")
    assert all(line.endswith(r" \\") for line in lines)
    return [re.split(r" (?<!\\)& ", line.removesuffix(r" \\")) for line in lines]


@pytest.mark.parametrize("name", HOSTILE)
def test_latex_sets_what_was_typed_and_obeys_none_of_it(name: str) -> None:
    text = to_latex(made(name, name))
    rows = latex_rows(text)
    assert [len(row) for row in rows] == [3, 3, 3]
    assert not any(row[0].startswith(("[", "*")) for row in rows)
    told = [[set_by_latex(cell) for cell in row] for row in rows]
    shown_name = one_line(name)
    assert told[0] == ["stage", f"{shown_name} (20.0 °C)", "y"]
    assert told[1] == [f"{shown_name}*", "5.88 ± 0.19 (23)ab,†", "–"]
    assert told[2] == ["L2", "–", "–"]
    (caption,) = re.findall(r"^\\caption\{(.*)\}$", text, flags=re.M)
    assert set_by_latex(caption) == f"Days ({shown_name})"
    assert re.findall(r"\\(?:begin|end)\{(\w+)\}", text) == [
        *("table", "tabular", "tabular", "minipage", "minipage", "table")
    ]
    assert r"\begin{tabular}{lll}" in text


def test_latex_says_what_it_needs() -> None:
    assert to_latex(made("x")).startswith(
        "% In the preamble: \\usepackage{booktabs,textcomp} \\usepackage[T1]{fontenc}\n\\begin"
    )
    assert "XeLaTeX" not in to_latex(made("Käfer ł"))
    assert "XeLaTeX" in to_latex(made("蛾"))


def test_the_csv_has_a_line_a_cell_and_a_column_a_number() -> None:
    lines = list(csv.DictReader(io.StringIO(to_tidy_csv(made("=1+1")))))
    assert lines[0] == {
        "stage": "'=1+1",
        "cohort": "'=1+1",
        "celsius": "20.0",
        "estimate": "5.8829",
        "se": "0.1872",
        "low": "",
        "high": "",
        "n": "23",
        "letters": "ab",
        "note": "Note of the row Note of =1+1",
    }
    assert len(lines) == 4
    bare = replace(made("x"), heads=(PrintedHead("x"), PrintedHead("y")))
    assert "celsius" not in to_tidy_csv(bare)


def test_the_csv_of_life_tables_has_the_limits() -> None:
    lines = csv.DictReader(io.StringIO(to_tidy_csv(journal_table("reproduction", STUDY[:1]))))
    r0 = next(each for each in lines if each["measure"] == CALLED[Measure.R0])
    own = STUDY[0].reproduction().of(Measure.R0)
    assert (float(r0["low"]), float(r0["high"])) == (own.low, own.high)
    assert float(r0["low"]) < float(r0["estimate"]) < float(r0["high"])


@pytest.mark.parametrize("what", OF_SHELVES)
def test_every_table_has_every_form(what: str) -> None:
    table = shelf_table(what)
    cells = [shown(cell) for row in table.rows for cell in row.cells]
    for name, write in WRITERS.items():
        text = write(table)
        assert text.endswith("\n")
        if name in ("markdown", "html"):
            assert all(cell in text for cell in cells)
        if name == "latex":
            assert all(len(row) == len(table.heads) + 1 for row in latex_rows(text))
            for row in latex_rows(text):
                assert all(set_by_latex(cell.replace("R$^{2}$", "R")) for cell in row)


def test_a_measure_of_which_one_cohort_tells_nothing_has_an_empty_cell() -> None:
    """Of the eggs of one it was not looked up how many hatched."""
    log = log_of("other")
    looks = tuple(replace(each, hatched=None) for each in log.all_observations)
    both = [notebook_of(log_of()), notebook_of(replace(log, all_observations=looks))]
    row = row_of(journal_table("reproduction", both), CALLED[Measure.HATCH_SHARE])
    assert row.cells[1] == NOTHING
    assert row.cells[0].value == 0.5
