"""What is told of a name: golden explanations, and what they rest on."""

import re

import pytest
from msgspec.structs import replace

from rearlog.analysis.forecasting.due import NextEvents
from rearlog.analysis.stages.durations import StageDuration
from rearlog.analysis.stages.left_open import LeftOpen
from rearlog.analysis.statistics.life_table import LifeTableRow
from rearlog.analysis.survival.survival import StageSurvival
from rearlog.present.explaining import (
    ANSWERS,
    Explained,
    charts,
    explain,
    how_made,
    names,
    names_of,
    notes_on,
    places,
)
from rearlog.present.explanations import explained_tables, name_tables
from rearlog.present.glossary import GLOSSARY
from rearlog.records.errors import UsageError
from rearlog.sentences.meanings.every import WORDS
from rearlog.sentences.works import WORKS


def test_a_number_is_told_with_its_formula_source_assumption_and_check() -> None:
    (k,) = explain("survival k").meanings
    assert (k.says, k.formula) == ("−log10 of the part that survives a stage", "−log10(1 − q)")
    assert k.where == ("survival",)
    assert "k_low" in k.names
    assert "k" not in k.names
    (made,) = k.made
    assert made.function == "statistics.life_table.k_value"
    assert made.does.startswith("The killing power k = −log10(1 − q) of a mortality q")
    assert made.sources == (WORKS["Varley & Gradwell 1960"].reference,)
    assert made.assumes == "The mortality is known."
    assert made.checked == ("tests/analysis/statistics/test_life_table.py",)
    assert k.notes == (
        "k = −log10(1 − q), None where q is, or where it is 1 and k infinite; its limits are those "
        "of q, transformed.",
    )


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("λ", "finite rate: how many times as many, a day later"),
        ("R²", "the part of the scatter that the line takes up, from 0 to 1"),
        ("killing power", "−log10 of the part that survives a stage"),
        ("log-rank", "whether groups died alike: deaths counted beside"),
        ("T0 (RMA)", "threshold and constant of the reduced major axis"),
        ("χ²", "the log-rank test of deaths that lie between two looks: χ²; df, its degrees"),
        (
            "compare df",
            "the log-rank test of deaths that lie between two looks: χ²; df, its degrees",
        ),
        ("±", "beside a mean or an estimate in one cell: its standard error"),
        ("letters", "cohorts that share a letter were not shown to differ"),
        ("Tc", "cohort generation time"),
        ("forecast expected", "how many should be in the last stage by the end of the day"),
        ("childless", "in how many of the resamples no egg was laid"),
    ],
)
def test_words_and_signs_that_are_printed_are_known(name: str, says: str) -> None:
    assert any(each.says.startswith(says) for each in explain(name).meanings)


def test_what_is_possible_is_what_the_column_shows() -> None:
    told = explain("thermal possible").meanings
    assert [each.says.partition(":")[0] for each in told] == [
        "how far off the threshold may be", "how far off the thermal constant may be",
    ]  # fmt: skip
    assert "possible" not in explain("thermal K").meanings[0].names


def test_limits_of_wilson_cite_him() -> None:
    (share,) = explain("females, part").meanings
    assert "Wilson" in share.says
    assert [each.function for each in share.made] == ["statistics.life_table.wilson"]
    assert share.made[0].sources == (WORKS["Wilson 1927"].reference,)


def test_every_note_is_of_whole_sentences_about_its_own_key() -> None:
    """Each begins with a capital, or with the key itself or several keys that it is one of."""
    notes = {(each.kind, each.key): notes_on(each.kind, each.key) for each in places()}
    told = {of: note for of, note in notes.items() if note is not None}
    assert len(told) > 250
    for (kind, key), note in told.items():
        first = re.match(r"\w+(?:(?:, and |, | and )\w+)*", note)
        subjects = re.split(r", and |, | and ", first[0]) if first else []
        assert note[0].isupper() or key in subjects, (kind.__name__, key, note)
        assert note.endswith("."), (kind.__name__, key, note)
        assert "`" not in note


def test_a_note_leaves_out_what_is_said_of_other_keys() -> None:
    outside = "outside are the individuals that cannot have been in their own range."
    assert notes_on(StageDuration, "outside") == outside
    assert notes_on(StageDuration, "expected") is None
    by = notes_on(NextEvents, "by") or ""
    assert by.startswith("What is to come next, “events” and how many")
    assert "first. It is likely “by” a day" in by
    assert notes_on(LifeTableRow, "q") == "q: the chance of dying in it."
    assert notes_on(StageSurvival, "q_high") == "q_low and q_high are 95 % limits in either case."


def test_a_number_is_made_by_what_makes_it_in_that_answer() -> None:
    """Degree-days are added up for the heat, and stand beside durations and lengths as these made
    them; headings that are no keys are of the function that makes their kind of result."""
    made = {each.where: [one.function for one in each.made] for each in explain("DD").meanings}
    assert made == {
        (): ["heat.degree_days.degree_days"],  # what the letters stand for, anywhere
        ("durations",): ["stages.durations.durations"],
        ("heat",): ["heat.degree_days.degree_days"],
        ("growth",): ["growth.growth.growth"],
    }
    for name, function in (
        ("survival quartiles", "statistics.interval_median.interval_median"),
        ("season tau_sites", "pooling.random_effects.site_effects"),
        ("heat recorded", "stages.stage_heat.coverage"),
        ("forecast days_ahead", "forecasting.review.review"),
        ("lineage r0", "reproduction.reproduction.reproduction"),
    ):
        (meaning,) = explain(name).meanings
        assert [each.function for each in meaning.made] == [function], name
    (left,) = explain("went on").meanings
    both = ["stages.durations.durations", "survival.survival.survival"]
    assert [each.function for each in left.made] == both


def test_sources_follow_where_a_docstring_refers_to_another() -> None:
    mortality = how_made("statistics.cumulative_incidence.stage_mortality").sources
    assert WORKS["Aalen & Johansen 1978"].reference in mortality
    assert WORKS["Dorey & Korn 1987"].reference in mortality
    pace = how_made("forecasting.cohort_pace.cohort_pace")
    assert pace.checked == ("tests/analysis/forecasting/test_cohort_pace.py",)
    # these say it of their whole module
    assert WORKS["Kalman 1960"].reference in pace.sources
    # what it raises is for those who call it
    assert how_made("survival.survival.reached_end").does.endswith("where these are one stage.")
    rate = how_made("reproduction.euler_lotka.intrinsic_rate").sources
    assert WORKS["Lotka 1907"].reference in rate


def test_names_mean_what_they_mean_where_they_stand() -> None:
    assert explain("survival expected").meanings[0].says.startswith("how many deaths there would")
    assert explain("durations expected").meanings[0].says.startswith("the range that the species")
    where = {place for each in explain("expected").meanings for place in each.where}
    assert {"survival", "durations", "growth"} <= where
    assert explain("linear.threshold").meanings[0].formula == "T0 = −intercept / slope"
    assert explain("linear_threshold_se") == replace(
        explain("linear.threshold_se"), name="linear_threshold_se"
    )
    assert "reduced major axis" in explain("ikemoto_takai_threshold").meanings[0].says
    assert explain("stages.linear.slope").meanings[0].names == ("slope_se", "intercept")
    assert explain("means_low").meanings[0].says == "the lower end of the interval"
    assert explain("quartile_bounds_low").meanings[0].name == "quartile_bounds"
    assert explain("chart rate band").meanings[0].where == ("chart rate",)
    assert len(explain("band").meanings) == 4


def test_a_name_may_begin_as_an_answer_is_called() -> None:
    (constant, *_) = explain("thermal constant K").meanings
    assert constant.says == "the degree-days that a stage needs"
    assert explain("growth a day (r)").meanings[0].says.startswith("intrinsic rate of increase")
    assert explain("check").meanings[0].where == ()
    with pytest.raises(UsageError, match="nothing is called “durations check”"):
        explain("durations check")


def test_what_only_a_docstring_says_of_a_path_is_said_once() -> None:
    (known,) = explain("left_open.known").meanings
    assert known.says == notes_on(LeftOpen, "known")
    assert known.says.startswith("Of the “known” whose start in a stage is known, those that")
    assert (known.name, known.names, known.where) == ("known", (), ("durations",))
    assert known.notes == ()
    (made,) = known.made
    assert (made.function, made.assumes) == ("stages.left_open.left_open", None)
    assert made.checked == ("tests/analysis/stages/test_durations.py",)  # it is part of these


def test_letters_count_unless_nothing_is_called_so() -> None:
    low, high = (explain(f"survival {each}").meanings[0].says for each in ("l", "L"))
    assert low == "part that lives to x"
    assert high == "life table: mean part alive from x to x + 1"
    assert explain("KAPPA").meanings[0].name == "kappa"
    assert explain("  days   on average ").name == "days on average"


def test_a_name_that_nothing_has() -> None:
    with pytest.raises(UsageError) as told:
        explain("medain")
    assert "did you mean median" in str(told.value.problems[0])
    with pytest.raises(UsageError, match="nothing is called “survival nonsense”"):
        explain("survival nonsense")
    with pytest.raises(UsageError, match="nothing is called “linear_nonsense”"):
        explain("linear_nonsense")


def test_an_answer_tells_all_of_its_names_once() -> None:
    told = explain("thermal")
    assert told.whole
    lines = [(each.says, {each.name, *each.names}) for each in told.meanings]
    assert all(lines.count(each) == 1 for each in lines)
    (table,) = explained_tables(told)
    assert table.columns == ["name", "is", "formula"]
    threshold = next(row for row in table.rows if row[2] == "T0 = −intercept / slope")
    assert threshold[0] == "threshold, T0, °C"
    marks = explain("chart rate")
    assert [each.name for each in marks.meanings] == ["bars", "line", "band", "dotted", "hollow"]


def test_all_names_are_listed_by_answer() -> None:
    found = {each.answer: each.names for each in names().answers}
    assert [*found] == [*ANSWERS, *charts()]
    assert found["heat"][:3] == ("cohort", "lower", "upper")
    assert "mean DD" in found["heat"]
    assert "band" in found["chart survival"]
    (table,) = name_tables(names())
    assert [row[0] for row in table.rows] == [*found]
    assert table.rows[0][1].startswith("cohort, species, unit, ")


def rows_of(told: Explained) -> dict[str, str]:
    (table, *_) = explained_tables(told)
    return {str(label): str(text) for label, text in table.rows}


def test_many_meanings_take_a_line_each_and_few_a_table_each() -> None:
    (short,) = explained_tables(explain("expected"))
    assert short.columns == ["in", "is", "formula"]
    assert len(short.rows) > 3
    assert short.words == ["All of one: rearlog explain ANSWER expected"]
    three = explained_tables(explain("line"))
    assert [each.title for each in three] == [
        f"line, in chart {name}" for name in ("growth", "rate", "mortality")
    ]
    kappa = explained_tables(explain("kappa"))[0]
    assert kappa.title == "kappa, in agreement"
    assert kappa.columns[1].startswith("agreement beyond chance")
    labels = [row[0] for row in kappa.rows]
    assert labels[:3] == ["formula", "made by", "source"]
    assert ["checked in", "tests/published/test_kappa.py"] in kappa.rows
    assert ["also", "linear, quadratic"] in kappa.rows


def test_of_many_ways_to_make_it_the_names_are_told() -> None:
    rows = rows_of(explain("survival sex"))
    assert set(rows) >= {"made by", "checked in"}
    many = next(each for each in explain("n").meanings if len(each.made) > 2)
    assert many.where == ("survival", "compare") or many.where
    made = rows_of(replace(explain("n"), meanings=(many,)))["made by"]
    assert made.count(";") == len(many.made) - 1


def test_the_glossary_is_of_the_same_entries() -> None:
    assert GLOSSARY["SD, SE"] == (
        "standard deviation: how far individuals lie apart; standard error: how far off a mean may "
        "be"
    )
    assert GLOSSARY["k, K"].startswith("−log10 of the part that survives a stage; −log10 of the")
    assert len(GLOSSARY) == 25
    for heading, text in GLOSSARY.items():
        of = [each.says for each in WORDS if each.glossary == heading]
        assert text == "; ".join(of)


def test_a_word_stands_where_its_key_does_and_nowhere_else() -> None:
    (censored,) = explain("censored").meanings
    assert censored.where == ("survival",)
    (check,) = explain("check").meanings
    assert (check.where, check.made, check.notes) == ((), (), ())
    assert explain("durations species").meanings[0].notes == ()
    assert "kappa" not in names_of("growth")
    assert "band" not in names_of("growth")
    assert names_of("chart rate") == ("bars", "line", "band", "dotted", "hollow")
    assert explain("survival") == replace(explain("survival"), name="survival", whole=True)


def test_what_only_the_docstring_says_is_said_once() -> None:
    (fold,) = explain("mass_fold").meanings
    assert fold.says.startswith("mass_fold is the largest mass of an individual over its first")
    assert (fold.names, fold.notes, fold.where) == ((), (), ("growth",))
    assert [each.function for each in fold.made] == ["growth.growth.growth"]
