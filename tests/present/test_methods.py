"""The paragraph of methods: it says what was done with the cohorts at hand, and nothing else."""

import re
import sys
from datetime import timedelta
from pathlib import Path
from typing import Any

import numpy
import pytest
import scipy
from msgspec.structs import replace

import rearlog
from rearlog.analysis.comparing.rate_curves import RateCurve, RateLaw
from rearlog.notebook import HeatOptions, Notebook
from rearlog.present.methods import bibtex, key, published_thresholds, study
from rearlog.records.errors import UsageError
from rearlog.records.log import ConstantTemperature, DayExtremes, Readings
from rearlog.records.profile import Source
from rearlog.sentences.methods import paragraphs
from rearlog.sentences.works import WORKS, Work, works_named
from tests.analysis.reproduction.laying_cohort import log_of, same
from tests.builders import START, notebook_of, seen, tiny_log
from tests.present.one_stage import l1, of

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
COOL, ROOM, WARM = (Notebook(SAMPLES / f"{name}.json") for name in ("cool", "room", "warm"))
DAY = START.date()


def told(*notebooks: Notebook) -> str:
    return "\n".join(paragraphs(study(notebooks)))


def cited(*notebooks: Notebook) -> set[str]:
    return {each.cited for each in works_named(told(*notebooks))}


FOUND = {"Peto 1973", "De Gruttola & Lagakos 1989", "Schneeweiss et al. 2010", "Satterthwaite 1946"}
LIVED = {
    "Kaplan & Meier 1958",
    "Kalbfleisch & Prentice 1980",
    "Aalen & Johansen 1978",
    "Wilson 1927",
    "Dorey & Korn 1987",
}
SINE = {"Baskerville & Emin 1969", "Allen 1976"}
GREW = {"Dyar 1890", "Liang & Zeger 1986"}
DIED_APART = {"Sun 1996", "Fay & Shih 1998", "Janssen 1997"}


def test_the_sample_cohorts_are_told_as_they_were_reared() -> None:
    text = told(COOL, ROOM, WARM)
    assert text.startswith(
        "72 individuals of Vanessa cardui were followed one by one in 3 cohorts of 24 eggs each: "
        "cool (18.0 °C on average), room (22.0 °C) and warm (27.0 °C). These data are invented. "
        "The stage of each was noted in 1,715 looks, as a rule 1.0 days apart (at most 3.0)."
    )
    records = [each for shelf in (COOL, ROOM, WARM) for each in shelf.log.all_observations]
    assert sum(each.struck is None for each in records) == 1715
    assert (
        ": in cool from daily extremes by single sine (Baskerville & Emin 1969; Allen 1976); in "
        "room from a temperature kept constant, times days; in warm from the readings of a logger, "
        "straight between them. 2 days without a temperature took that of the days beside."
    ) in text
    assert "Degree-days were counted above 6.9 °C (the lower threshold of the species" in text
    assert "(L3 and whole development)" in text
    assert text.count("\n") == 5
    assert text.endswith(
        f"rearlog {rearlog.__version__} with Python "
        f"{'.'.join(map(str, sys.version_info[:3]))}, numpy {numpy.__version__} and "
        f"scipy {scipy.__version__}."
    )


def test_thresholds_are_those_of_one_species() -> None:
    alike, other = (notebook_of(tiny_log({"1": "egg L1 L2"}, name=name)) for name in "ab")
    species = replace(other.log.cohort.species, scientific_name="Alter mothus")
    log = replace(other.log, cohort=replace(other.log.cohort, species=species))
    assert study([alike, other]).thermal is not None
    found = study([alike, other.with_log(log)])
    assert found.thermal is None
    assert [each.species for each in found.cohorts] == ["Moth test", "Alter mothus"]
    assert found.comparison is not None
    alone = study([alike])
    assert (alone.thermal, alone.comparison) == (None, None)


def test_three_cohorts_and_what_was_worked_out_of_them() -> None:
    assert cited(COOL, ROOM, WARM) == FOUND | LIVED | SINE | GREW | DIED_APART | {
        "Welch 1951",
        "Holm 1979",
        "Games & Howell 1976",
        "Piepho 2004",
        "Kalbfleisch & Prentice 2002",
        "Akaike 1974",
        "Campbell et al. 1974",
        "Ikemoto & Takai 2000",
        "Draper & Smith 1998",
        "Johansen 1980",
        "Yang et al. 1995",
        "McCullagh & Nelder 1989",
        "Wedderburn 1974",
    }


def test_two_cohorts_had_other_tests() -> None:
    found = cited(ROOM, WARM)
    assert {"Welch 1947", "Holm 1979"} <= found
    assert not {"Welch 1951", "Games & Howell 1976", "Piepho 2004", "Akaike 1974"} & found
    assert not SINE & found  # a constant temperature and a logger


def test_a_cohort_alone_is_compared_with_nothing() -> None:
    assert cited(ROOM) == FOUND | LIVED | GREW
    text = told(ROOM)
    assert text.startswith(
        "24 individuals of Vanessa cardui were followed one by one in the cohort room (24 eggs, "
        "22.0 °C on average)."
    )
    assert "compared" not in text
    assert "15.57 and 11.45 days): from a temperature kept constant, times days.\n" in text
    assert "logger" not in text
    assert "extremes" not in text
    assert "threshold of development" not in text


def test_what_is_not_known_is_not_told() -> None:
    text = told(of(l1([5, 6, 7])))
    assert cited(of(l1([5, 6, 7]))) == FOUND
    assert text.startswith("3 individuals of Moth test were followed one by one in the cohort tiny")
    for word in (
        "°C",
        "Degree-days",
        "degree-days",
        "invented",
        "Survival",
        "head",
        "contradict",
        "days without",
    ):
        assert word not in text, word


def test_nobody_looked_and_nobody_completed_anything() -> None:
    text = told(notebook_of(tiny_log({"a": "egg"})))
    start = "1 individual of Moth test was followed one by one in the cohort tiny (1 egg)."
    assert text.startswith(start)
    assert "look" not in text
    assert works_named(text) == ()


def test_constant_temperatures_have_no_method_of_a_day_and_no_swing() -> None:
    warm, hot = (
        of(l1(days), name, temperatures=(ConstantTemperature(celsius, DAY - timedelta(1)),))
        for name, celsius, days in (("warm", 20.0, [8, 9, 10]), ("hot", 25.0, [4, 5, 6]))
    )
    found = cited(warm, hot)
    assert "Campbell et al. 1974" in found
    assert not (SINE | {"Yang et al. 1995", "Lindsey & Newman 1956"}) & found
    assert (
        "above 10 °C (the lower threshold of the species profile, own: made for a test): from a "
        "temperature kept constant, times days."
    ) in told(warm, hot)
    assert not any("Burnham" in each for each in found)


def at(celsius: float, days: list[int]) -> Notebook:
    kept = (ConstantTemperature(celsius, DAY - timedelta(1)),)
    return of(l1(days), f"t{celsius:g}", temperatures=kept)


def test_lack_of_fit_is_told_where_it_was_tested() -> None:
    """Two temperatures lie on any line, and two individuals give no weight."""
    assert "Johansen 1980" not in cited(at(18, [8, 9, 10]), at(25, [4, 5, 6]))
    few = cited(at(18, [8, 9]), at(21, [6, 7]), at(25, [4, 5]))
    assert "Campbell et al. 1974" in few
    assert "Johansen 1980" not in few
    assert "Johansen 1980" in cited(at(18, [8, 9, 10]), at(21, [6, 7, 8]), at(25, [4, 5, 6]))


def test_curves_of_the_rate_are_named_with_their_works() -> None:
    made = study([at(18, [8, 9, 10]), at(25, [4, 5, 6])])
    assert made.thermal is not None
    laws = (RateLaw.BRIERE_1, RateLaw.LINE, RateLaw.LOGAN_6)
    nothing = (None,) * 6
    curves = tuple(RateCurve(law, (), (), *nothing, 1.0, 0.0, 0.5, 7) for law in laws)
    stages = tuple(replace(each, curves=curves) for each in made.thermal.stages)
    text = "\n".join(paragraphs(replace(made, thermal=replace(made.thermal, stages=stages))))
    assert (
        "Curves of the rate were compared with the line by AICc (Burnham & Anderson 2002): "
        "Brière's first curve (Brière et al. 1999) and Logan's sixth curve (Logan et al. 1976)."
    ) in text
    straight = tuple(replace(each, curves=curves[1:2]) for each in made.thermal.stages)
    line = paragraphs(replace(made, thermal=replace(made.thermal, stages=straight)))
    assert "AICc" not in "\n".join(line)


def test_a_chosen_method_is_named_and_no_other() -> None:
    extremes = tuple(DayExtremes(DAY + timedelta(n), 15.0, 25.0) for n in range(-1, 12))
    notebook = of(l1([5, 6, 7]), temperatures=extremes)
    assert cited(notebook) >= SINE
    log = notebook.log
    by_triangle = Notebook(
        Path("x.json"), HeatOptions(method="single-triangle", upper=30.0)
    ).with_log(log)
    assert "Lindsey & Newman 1956" in cited(by_triangle)
    assert not SINE & cited(by_triangle)
    assert "and below 30 °C (horizontal cutoff): from daily extremes by single triangle" in told(
        by_triangle
    )


def test_days_that_are_filled_or_not_known_are_counted() -> None:
    known = [n for n in range(-1, 14) if n not in (2, 3, 6, 7, 8, 9)]
    extremes = tuple(DayExtremes(DAY + timedelta(n), 15.0, 25.0) for n in known)
    text = told(of(l1([9, 10, 11]), temperatures=extremes))
    assert "2 days without a temperature took that of the days beside." in text
    assert "Of 4 days neither temperature nor degree-days are known." in text


def test_a_logger_and_extremes_in_one_cohort_are_both_told() -> None:
    extremes = tuple(DayExtremes(DAY + timedelta(n), 15.0, 25.0) for n in range(5, 12))
    hours = tuple(3600 * n for n in range(24 * 7))
    readings = Readings(START - timedelta(1), hours, tuple(20.0 for _ in hours))
    text = told(of(l1([9, 10]), temperatures=(readings, *extremes)))
    assert (
        "from the readings of a logger, straight between them and from daily extremes by single "
        "sine"
    ) in text


def test_those_without_degree_days_are_named() -> None:
    kept = (ConstantTemperature(20.0, DAY - timedelta(1)),)
    text = told(of(l1([5, 6, 7]), "x", temperatures=kept), of(l1([5, 6, 8]), "y"))
    assert "No degree-days were counted in y." in text
    assert "Mean days were compared by" in text
    assert "lower threshold of development and" not in text


def test_looks_that_contradict_each_other_are_told() -> None:
    text = told(of(l1([5, 6, 7], b="egg L1 egg L1 L1 L2")))
    assert "Looks at 1 individual that contradicted each other were settled by the" in text


def test_one_stage_alone_needs_no_correction_and_few_no_test() -> None:
    """All eggs took the same time, so that L1 alone is tested."""
    found = cited(of(l1([8, 9, 10]), "x"), of(l1([3, 4, 5]), "y"))
    assert "Welch 1947" in found
    assert "Holm 1979" not in found
    few = told(of(l1([5, 6]), "x"), of(l1([7, 8]), "y"))
    assert "compared" not in few
    assert "p <" not in few


def test_cages_are_told_where_they_are_what_is_compared() -> None:
    def caged(name: str, days: list[int]) -> Notebook:
        log = of(l1(days), name).log
        cages = tuple(
            replace(each, container=f"{name}{n // 2}") for n, each in enumerate(log.individuals)
        )
        return notebook_of(replace(log, individuals=cages))

    one, other = caged("x", [8, 9, 10, 11, 9, 12, 8, 10]), caged("y", [3, 4, 5, 6, 4, 5, 3, 6])
    text = told(one, other)
    assert "Errors and degrees of freedom are those of containers (Cochran 1977)." in text
    assert "Cochran" not in told(of(l1([8, 9, 10]), "x"), of(l1([3, 4, 5]), "y"))


def test_masses_have_a_rate_of_growth_only_where_there_are_some() -> None:
    log = of(l1([5, 6, 7])).log
    weighed = tuple(replace(each, mass_mg=10.0 + n) for n, each in enumerate(log.all_observations))
    notebook = notebook_of(replace(log, all_observations=weighed))
    assert "is ln(m2/m1) a day (Fisher 1921)." in told(notebook)


def test_the_same_cohort_twice_is_refused() -> None:
    with pytest.raises(UsageError, match="given twice"):
        study([ROOM, ROOM])


# --- life tables ----------------------------------------------------------------------------------

COUNTED = {"Chi & Liu 1985", "Chi 1988", "Lotka 1907", "Birch 1948", "May 1976"}
DRAWN = {"Efron & Tibshirani 1993", "Efron 1987"}


def test_life_tables_are_told_where_eggs_were_counted() -> None:
    dock = [Notebook(SAMPLES / "life_table" / f"dock-{each}.json") for each in (22, 25)]
    text = told(*dock)
    assert COUNTED | DRAWN | {"Holm 1979"} <= cited(*dock)
    assert "x to x + 1 counting as laid at x + 0.5;" in text
    assert "come from 10,000 resamples of whole lives (Efron & Tibshirani 1993)," in text
    assert "Life tables of two cohorts were compared by paired resamples" in text
    alone = told(dock[0])
    assert "resamples of whole lives" in alone
    assert "paired" not in alone
    one_lays = told(dock[0], of(l1([5, 6, 7]), "x"))
    assert "resamples of whole lives" in one_lays
    assert "paired" not in one_lays
    assert "less error than the binomial one, it has that one, with its limits (Wilson" in alone


def test_of_hatching_nothing_is_told_where_it_has_no_error() -> None:
    text = told(notebook_of(log_of()))  # of one mother alone it was counted
    assert "resamples of whole lives" in text
    assert "hatched" not in text


def test_without_eggs_or_their_ages_there_is_no_life_table() -> None:
    assert not COUNTED & cited(ROOM)
    log = log_of()
    grown = tuple(replace(each, stage="L1") for each in log.individuals)
    late = notebook_of(replace(log, individuals=grown))
    assert not COUNTED & cited(late)
    assert cited(notebook_of(log)) >= COUNTED


def test_few_to_draw_from_have_no_errors_and_are_not_compared() -> None:
    def few(name: str) -> Notebook:
        lives = {"1": "egg L1 L2 pupa adult", "2": "egg dead", "3": "egg dead"}
        looks = [same("1", 5, sex="f"), same("1", 6, eggs=9), seen("1", 7, "dead")]
        log = tiny_log(lives, laid=(-1, 0), name=name).with_checks(looks)
        return notebook_of(log)

    text = told(few("x"), few("y"))
    assert "Life tables by age and stage" in text
    assert "resamples" not in text


def test_mortality_by_temperature_is_told_where_there_is_a_curve() -> None:
    dock = [Notebook(SAMPLES / "life_table" / f"dock-{each}.json") for each in (19, 22, 25)]
    found = study(dock)
    assert found.thermal is not None
    fitted = any(each.curve is not None for each in found.thermal.mortality)
    text = "\n".join(paragraphs(found))
    assert ("logistic regression" in text) is fitted is True
    assert "logistic" not in told(*dock[:2])


# --- the works ------------------------------------------------------------------------------------

CITATION = re.compile(r"[A-ZÀ-Þ][\w’-]+(?: & [A-Z][\w’-]+| et al\.)? (?:18|19|20)\d\d")


@pytest.mark.parametrize("notebooks", [(COOL, ROOM, WARM), (ROOM, WARM), (COOL,)], ids=len)
def test_what_is_cited_is_in_the_bibliography_and_nothing_else(
    notebooks: tuple[Notebook, ...],
) -> None:
    text = told(*notebooks)
    named = {"De " * each.startswith("Gruttola") + each for each in CITATION.findall(text)}
    works = works_named(text)
    assert named == {each.cited for each in works}
    keys = re.findall(r"^@\w+\{(\w+),$", bibtex(works), flags=re.M)
    assert keys == [key(each) for each in works]
    assert len(set(keys)) == len(keys)


def test_thresholds_that_are_published_are_cited_once() -> None:
    """Not those of one's own, nor of a cohort without degree-days or without a threshold."""
    kept = (ConstantTemperature(20.0, DAY - timedelta(1)),)
    book, trials = Source("published", "A Book 1990"), Source("own", "trials")

    def cohort(name: str, source: Source, **more: Any) -> Notebook:
        made = of(l1([5, 6, 7]), name, **more)
        header = made.log.cohort
        species = replace(header.species, sources=header.species.sources | {"test": source})
        return made.with_log(replace(made.log, cohort=replace(header, species=species)))

    found = study(
        [
            cohort("a", book, temperatures=kept),
            cohort("b", book, temperatures=kept),
            cohort("c", trials, temperatures=kept),
            cohort("d", Source("published", "Another 1991")),
        ]
    )
    assert published_thresholds(found) == (book,)
    assert bibtex([], (book, replace(book, citation="B & C"))) == (
        "@misc{Threshold1,\n  note = {A Book 1990},\n}\n\n"
        "@misc{Threshold2,\n  note = {B \\& C},\n}\n"
    )


def test_entries_are_bibtex() -> None:
    assert bibtex([WORKS["Brière et al. 1999"]]) == (
        "@article{BriereEtAl1999,\n"
        "  author = {Brière, J.-F. and Pracros, P. and Le Roux, A.-Y. and Pierre, J.-S.},\n"
        "  year = {1999},\n"
        "  title = {{A novel rate model of temperature-dependent development for arthropods}},\n"
        "  journal = {Environ. Entomol.},\n"
        "  volume = {28},\n"
        "  pages = {22--29},\n"
        "}\n"
    )
    assert bibtex([WORKS["Burnham & Anderson 2002"]]) == (
        "@book{BurnhamAnderson2002,\n"
        "  author = {Burnham, K. P. and Anderson, D. R.},\n"
        "  year = {2002},\n"
        "  title = {{Model Selection and Multimodel Inference}},\n"
        "  edition = {2},\n"
        "}\n"
    )
    assert "title" not in bibtex([WORKS["Dyar 1890"]])


def test_every_work_has_a_key_of_its_own_and_balanced_braces() -> None:
    works = list(WORKS.values())
    keys = [key(each) for each in works]
    assert len(set(keys)) == len(keys)
    assert all(re.fullmatch(r"[A-Za-z]+\d{4}", each) for each in keys)
    assert key(Work(("Weiß, A.", "O’Néill, B."), 1999, "T")) == "WeiONeill1999"
    for each in works:
        text = bibtex([each])
        assert text.count("{") == text.count("}")
        assert "–" not in text
