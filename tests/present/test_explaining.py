"""Every name that an answer shows is explained, and what is said of it is so."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from importlib import import_module
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from msgspec import Struct
from msgspec.structs import replace

import rearlog
from rearlog.analysis.comparing.compare import compare as compare_cohorts
from rearlog.analysis.comparing.factorial import Factorial
from rearlog.analysis.comparing.growth_by_heat import GrowthByHeat, GrowthPoint, growth_by_heat
from rearlog.analysis.forecasting.found_animal import found_animal
from rearlog.analysis.growth.evidence import Measured
from rearlog.analysis.growth.identify import identify
from rearlog.analysis.pooling.season import Copy, PassedOver, season
from rearlog.analysis.reproduction.estimates import Measure
from rearlog.analysis.reproduction.reproduction import reproduction
from rearlog.analysis.stages.events import event_history
from rearlog.notebook import (
    Notebook,
    compare,
    compare_reproduction,
    factorial,
    lineage,
    survival_by,
    thermal,
)
from rearlog.present import forecast as forecast_tables
from rearlog.present.agreement import agreement_tables, flat_differences
from rearlog.present.answers import (
    by_group_tables,
    durations_tables,
    growth_tables,
    heat_tables,
    individuals_table,
    stage_count_tables,
    survival_tables,
)
from rearlog.present.between import (
    comparison_tables,
    factorial_tables,
    growth_by_heat_tables,
    thermal_tables,
)
from rearlog.present.explaining import (
    ANSWERS,
    ROOT,
    all_names,
    charts,
    explain,
    how_made,
    mirror,
    names_of,
    notes_on,
    places,
    word_of,
)
from rearlog.present.flat import (
    flat,
    flat_by_group,
    flat_comparison,
    flat_durations,
    flat_factorial,
    flat_thermal,
)
from rearlog.present.identify import found_animal_tables, identification_tables
from rearlog.present.json import plain
from rearlog.present.lineage import flat_lineage, lineage_tables
from rearlog.present.pictures import KINDS
from rearlog.present.reproduction import (
    compared_tables,
    flat_reproduction,
    reproduction_tables,
)
from rearlog.present.season import flat_season, flat_sites, season_tables
from rearlog.present.tables import Table
from rearlog.records.errors import UsageError
from rearlog.records.log import CohortLog
from rearlog.records.times import now, read_moment
from rearlog.sentences import agreement as agreement_words
from rearlog.sentences import compare as compare_words
from rearlog.sentences import durations as durations_words
from rearlog.sentences import forecast as forecast_words
from rearlog.sentences import growth as growth_words
from rearlog.sentences import heat_mortality as mortality_words
from rearlog.sentences import progress as progress_words
from rearlog.sentences import reproduction as reproduction_words
from rearlog.sentences import season as season_words
from rearlog.sentences import stage_counts as stage_counts_words
from rearlog.sentences import stage_heat as stage_heat_words
from rearlog.sentences import survival as survival_words
from rearlog.sentences import thermal as thermal_words
from rearlog.sentences.meanings.every import WORDS
from rearlog.sentences.meanings.methods import METHODS, Method
from rearlog.sentences.reproduction import CALLED
from rearlog.species.catalogue import find
from tests.analysis.invented_calls import ROUND, called, log_of
from tests.analysis.invented_comparisons import FAST, cohort, kept_at
from tests.builders import notebook_of, seen, tiny_log
from tests.made_summaries import many

TESTS = Path(__file__).parents[1]
SAMPLES = TESTS.parent / "sample_cohorts"
THEN = read_moment("2026-03-20", "UTC", "09:00", now("UTC"))


@cache
def samples() -> tuple[Notebook, ...]:
    return tuple(Notebook(SAMPLES / f"{name}.json") for name in ("cool", "room", "warm"))


@cache
def of_both_sexes() -> Notebook:
    """Adults of both sexes, most of which died."""
    log = tiny_log({f"{sex}{n}": "L1 pupa adult adult dead" for sex in "fm" for n in range(4)})
    looks = tuple(
        replace(each, sex=each.individual[0]) if each.stage == "adult" else each
        for each in log.all_observations
    )
    return notebook_of(replace(log, all_observations=looks))


def come_from(notebook: Notebook, *origins: str) -> CohortLog:
    """The log of a cohort that says that it comes from others."""
    return replace(notebook.log, cohort=replace(notebook.log.cohort, origins=origins))


@cache
def designed() -> Factorial:
    """Invented cohorts of two foods at two temperatures, three of each."""
    days = {"a": (3, 4, 5, 4), "b": (4, 5, 6, 7)}
    notebooks = []
    for food, warmth, shift in product("ab", (20.0, 25.0), range(3)):
        lives = {
            str(n): "egg " + "L1 " * (day + shift + (warmth < 22)) + "L2"
            for n, day in enumerate(days[food])
        }
        log = tiny_log(lives, name=f"{food}{warmth:g}-{shift}")
        header = replace(log.cohort, food=food, planned_celsius=warmth)
        notebooks.append(notebook_of(replace(log, cohort=header)))
    return factorial(notebooks, ["food", "temperature"])


@cache
def two_observers() -> Notebook:
    calls = [
        call
        for code, stage, other in ROUND
        for call in (called(code, 1.0, stage, "KT"), called(code, 1.01, other, "MB"))
    ]
    return notebook_of(log_of(*calls))


def found_growth() -> GrowthByHeat:
    """A cohort at 20 °C in which eggs were counted, and one at 25 °C."""
    log = tiny_log(dict.fromkeys("12", "egg L1 L2 pupa adult"), laid=(-1, 0))
    log = log.with_checks([seen("1", 6, "adult", sex="f", eggs=9)])
    history = event_history(log)
    cohorts = [kept_at(20, 3), kept_at(25, 3)]
    return growth_by_heat(cohorts, lambda place: None if place else reproduction(log, history))


@cache
def results() -> dict[str, list[Any]]:
    """Results of every answer, as the commands find them."""
    cool, room, warm = samples()
    of_three = compare([cool, room, warm])
    two, three = (Notebook(SAMPLES / "life_table" / f"dock-{each}.json") for each in (22, 25))
    return {
        "durations": [room.durations()],
        "heat": [room.heat()],
        "survival": [room.survival(), survival_by([of_both_sexes()], "sex")],
        "growth": [room.growth()],
        "stages": [room.stage_counts()],
        "progress": [room.progress()],
        "compare": [compare([cool, warm]), of_three, designed()],
        "lineage": [lineage([warm, cool.with_log(come_from(cool, "warm", "gone"))])],
        "season": [season(many(), [Copy("a", "b", "c", ("d",))], [PassedOver("a", "b")])],
        "reproduction": [two.reproduction(), compare_reproduction([two, three])],
        "thermal": [thermal([cool, room, warm]), found_growth()],
        "forecast": [
            cool.forecast(as_of=THEN),
            cool.forecast_review(THEN),
            cool.deadline(THEN.date().replace(month=5), None, THEN),
        ],
        "today": [room.due(THEN)],
        "identify": [
            identify(find("monarch"), Measured(head_mm=(1.5,), length_mm=9.0), {}),
            found_animal(find("monarch"), "L3", 22.0, THEN.date()),
        ],
        "agreement": [two_observers().agreement()],
    }


WITHOUT_TABLES = {"progress", "today", "plan", "species learn", "strike"}
"""Answers whose tables are those of others, have a word or two, or are made of invented cohorts."""


@cache
def tables() -> dict[str, list[Table]]:
    """The tables of every answer, those of the CSV among them."""
    found = results()
    (durations,), (heat,), (growth,) = (found[each] for each in ("durations", "heat", "growth"))
    survival, by_sex = found["survival"]
    two, three, design = found["compare"]
    forecast, review, deadline = found["forecast"]
    identified, animal = found["identify"]
    many = compare_cohorts([cohort(f"c{n}", FAST) for n in range(7)])
    return {
        "durations": [
            *durations_tables(durations),
            *individuals_table(durations),
            flat_durations(durations.stages),
            flat(type(durations.individuals[0]), durations.individuals),
        ],
        "heat": [*heat_tables(heat), flat(type(heat.daily[0]), heat.daily)],
        "survival": [
            *survival_tables(survival),
            *by_group_tables(by_sex),
            *(flat_by_group(by_sex, kaplan_meier=each) for each in (False, True)),
        ],
        "growth": [*growth_tables(growth), flat(type(growth.series[0]), growth.series)],
        "stages": stage_count_tables(found["stages"][0]),
        "lineage": [*lineage_tables(found["lineage"][0]), flat_lineage(found["lineage"][0])],
        "season": [
            *season_tables(found["season"][0]),
            *season_tables(found["season"][0], by_site=True),
            flat_season(found["season"][0]),
            flat_sites(found["season"][0]),
        ],
        "compare": [
            *factorial_tables(design),
            flat_factorial(design),
            *comparison_tables(two),
            *comparison_tables(three),
            *comparison_tables(many),
            flat_comparison(two),
        ],
        "reproduction": [
            *reproduction_tables(found["reproduction"][0], ages=True, stages=True),
            *compared_tables(found["reproduction"][1], ages=True, stages=True),
            *(
                flat_reproduction([found["reproduction"][0]], **which)
                for which in ({}, {"ages": True}, {"stages": True})
            ),
        ],
        "thermal": [
            *thermal_tables(found["thermal"][0]),
            flat_thermal(found["thermal"][0]),
            *growth_by_heat_tables(found["thermal"][1]),
            flat(GrowthPoint, found["thermal"][1].points),
        ],
        "forecast": [
            *forecast_tables.forecast_tables(forecast),
            *forecast_tables.individual_forecast_table(forecast),
            *forecast_tables.review_tables(review),
            *forecast_tables.deadline_tables(deadline),
            flat(type(forecast.events[0]), forecast.events),
        ],
        "identify": [*identification_tables(identified), *found_animal_tables(animal)],
        "agreement": [
            *agreement_tables(found["agreement"][0]),
            flat_differences(found["agreement"][0]),
        ],
    }


def keys(value: Any) -> Iterator[str]:
    """Every key of a result as JSON shows it; the names in a mapping are values, not keys."""
    if isinstance(value, Struct):
        yield from plain(value)
        for name in value.__struct_fields__:
            yield from keys(getattr(value, name))
    elif isinstance(value, dict):
        for inner in value.values():
            yield from keys(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from keys(inner)


@pytest.mark.parametrize("answer", ANSWERS)
def test_every_key_of_every_answer_is_explained(answer: str) -> None:
    shown = {key for result in results().get(answer, []) for key in keys(result)}
    known = {place.key for place in places() if place.answer == answer}
    assert shown <= known
    unknown = [
        f"{place.kind.__name__}.{place.key}"
        for place in places()
        if place.answer == answer
        and word_of(place.kind, place.key) is None
        and notes_on(place.kind, place.key) is None
    ]
    assert unknown == []
    for key in known:
        (first, *_) = explain(f"{answer} {key}").meanings
        assert first.says
        assert answer in first.where


@pytest.mark.parametrize("answer", sorted({*ANSWERS} - WITHOUT_TABLES))
def test_every_heading_of_every_table_is_explained(answer: str) -> None:
    cohorts = {
        "cool",
        "room",
        "warm",
        "dock-22",
        "dock-25",
        "food",
        "temperature",
        "generation 0",
        "generation 1",
    }  # and groups
    stages = {*samples()[0].log.cohort.species.codes, *find("monarch").codes}
    found = {title for table in tables()[answer] for title in table.columns}
    assert len(found) > 3
    general = {name for word in WORDS if not word.kinds for name in word.names}
    unknown = []
    for title in sorted(found - cohorts - stages - {""}):
        try:
            explain(f"{answer} {title}")
        except UsageError:
            if title not in general:
                unknown.append(title)
    assert unknown == []


def test_every_measure_of_a_life_table_is_explained_by_both_of_its_names() -> None:
    for measure in Measure:
        both = [explain(f"reproduction {each}") for each in (measure, CALLED[measure])]
        (one, other) = (each.meanings[0] for each in both)
        assert one.says == other.says
        assert one.where == ("reproduction",)
        wilson = measure is Measure.FEMALE_SHARE
        assert one.made[0].function.startswith("statistics." if wilson else "reproduction.")


NOTES = {
    "progress": lambda: progress_words.notes([each.progress() for each in samples()]),
    "stages": lambda: stage_counts_words.notes([each.stage_counts() for each in samples()]),
    "durations": lambda: durations_words.notes([each.durations() for each in samples()]),
    "heat": lambda: stage_heat_words.notes([each.heat() for each in samples()], stages_marked=True),
    "survival": lambda: survival_words.notes([each.survival() for each in samples()]),
    "growth": lambda: growth_words.notes([each.growth() for each in samples()]),
    "reproduction": lambda: reproduction_words.notes(results()["reproduction"][:1]),
    "forecast": lambda: forecast_words.notes([samples()[0].forecast(as_of=THEN)]),
    "agreement": lambda: agreement_words.notes([two_observers().agreement()]),
    "pace": lambda: compare_words.notes(compare(samples()).overall),
    "means": lambda: season_words.notes(season(many()).species[0].stages[-1], "Rows: 3 cohorts."),
    "funnel": lambda: season_words.funnel_notes(season(many()).species[0]),
    "mortality": lambda: mortality_words.notes(thermal(samples()).mortality[-1]),
    "rate": lambda: thermal_words.notes(thermal(samples()), thermal(samples()).stages[-1]),
}
NO_MARK = {
    "pairs",
    "temperature to come",
    "in brackets",
    "clocks changed",
    "whole development",
    "the means in the table are of the others",
}
"""What notes say before a colon, or of a cohort, that is no mark."""


@pytest.mark.parametrize("chart", KINDS)
def test_every_mark_that_a_chart_names_is_explained(chart: str) -> None:
    words = " ".join(NOTES[chart]())
    named = {each.casefold() for each in re.findall(r"(?:^|[.;] )([A-Z×?▷][\w ]*?):", words)}
    assert named or chart == "stages", words
    marks = {name.casefold() for name in names_of(f"chart {chart}")}
    assert {each.split(" on ")[0] for each in named} - marks - NO_MARK == set()


def test_every_chart_has_marks_and_each_is_named_where_it_is_drawn() -> None:
    assert {*charts()} == {f"chart {each}" for each in KINDS}
    for chart in charts():
        for mark in names_of(chart):
            assert chart in explain(f"{chart} {mark}").meanings[0].where


# --- the registry holds nothing that is not so ---------------------------------------------------


def literals() -> set[str]:
    """Every text that a table or a sentence of the program has."""
    home = Path(rearlog.__file__).parent
    files = [*(home / "present").glob("*.py"), *(home / "sentences").glob("*.py")]
    return {
        node.value
        for file in files
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }


def test_every_name_of_the_registry_stands_somewhere() -> None:
    kinds = {place.kind.__name__ for place in places()}
    shown = {title for every in tables().values() for table in every for title in table.columns}
    written = shown | literals() | {str(each) for each in Measure}
    for word in WORDS:
        assert {*word.kinds} <= kinds, word
        for name in word.names if word.kinds and not word.glossary else ():
            its = any(place.key == name and place.kind.__name__ in word.kinds for place in places())
            symbol = any(each.endswith(f"({name})") for each in CALLED.values())
            assert its or symbol or {name, f"{name}_low"} & written, (name, word.kinds)


def test_no_two_entries_claim_the_same_key_of_a_kind() -> None:
    claims = [(kind, name) for word in WORDS for kind in word.kinds for name in word.names]
    own = {(place.kind.__name__, place.key) for place in places()}
    twice = {each for each in claims if claims.count(each) > 1} & own
    # the heading p is of the corrected one, and pairs are a number and a list
    assert twice == {("StageComparison", "p"), ("Agreement", "pairs")}
    general = [name for word in WORDS if not word.kinds and not word.charts for name in word.names]
    assert sorted(general) == sorted({*general})


@cache
def functions() -> list[str]:
    """Every function that an explanation names."""
    told = [
        made.function
        for name in all_names()
        for meaning in explain(name).meanings
        for made in meaning.made
    ]
    return sorted({*told, *METHODS, *(word.by for word in WORDS if word.by)})


@cache
def called_in(file: Path) -> frozenset[str]:
    """What a test module calls, itself or through what tests share."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    found = {
        node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("tests."):
            shared = TESTS.parent.joinpath(*str(node.module).split(".")).with_suffix(".py")
            found |= called_in(shared) if shared.exists() else set()
    return frozenset(found)


def test_what_is_said_to_be_checked_is_called_there() -> None:
    for function in functions():
        module, _, name = function.rpartition(".")
        assert callable(getattr(import_module(f"{ROOT}{module}"), name))
        method = METHODS.get(function, Method())
        checked = how_made(function).checked
        called = method.part_of.split(".")[-1] if method.part_of else name
        for each in checked:
            assert called in called_in(TESTS.parent / each), (function, each)
        # where its mirror says all that there is to say, nobody has to
        assert method.checked != (mirror(method, function),), function


def test_every_check_against_published_values_is_named() -> None:
    named = {each for function in functions() for each in how_made(function).checked}
    for file in sorted((TESTS / "published").glob("test_*.py")):
        imported = {
            f"{node.module}.{alias.name}".removeprefix(ROOT)
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
            if isinstance(node, ast.ImportFrom) and str(node.module).startswith(ROOT)
            for alias in node.names
        }
        for function in imported & {*functions()}:
            path = f"tests/published/{file.name}"
            assert path in how_made(function).checked, function
    assert len([each for each in named if each.startswith("tests/published/")]) >= 6


def test_works_are_those_of_functions_that_a_docstring_names_across_its_lines_too() -> None:
    """Of the test of the means, which the comparison names over a break of its lines."""
    whole = how_made("comparing.compare.compare").sources
    for part in ("statistics.differences.mean_test", "statistics.pairs.pairs_of_means"):
        sources = how_made(part).sources
        assert sources
        assert {*sources} <= {*whole}, part
