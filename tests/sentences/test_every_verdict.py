"""What is said of made-up results, every verdict that there is, as it is written down in
`verdicts/`; each line can be held beside the numbers in `invented_results.py`.

After a change that is meant, `python -m tests.sentences.test_every_verdict` writes them anew, and
what is different is looked at before it is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from rearlog.analysis.agreement.agreement import Agreement
from rearlog.analysis.comparing.compare import Comparison
from rearlog.analysis.comparing.factorial import Factorial
from rearlog.analysis.comparing.growth_by_heat import GrowthByHeat
from rearlog.analysis.comparing.heat_mortality import HeatMortality
from rearlog.analysis.comparing.lineage import Lineage
from rearlog.analysis.comparing.survival_difference import SurvivalComparison
from rearlog.analysis.comparing.thermal import Thermal
from rearlog.analysis.forecasting.deadline import Deadline
from rearlog.analysis.forecasting.due import Due
from rearlog.analysis.forecasting.forecast import Forecast
from rearlog.analysis.growth.growth import Growth
from rearlog.analysis.growth.identify import Identification
from rearlog.analysis.pooling.season import Copy, PassedOver, Season, season
from rearlog.analysis.stages.durations import Durations
from rearlog.analysis.stages.stage_heat import Heat
from rearlog.notebook import Notebook
from rearlog.present.answers import durations_tables
from rearlog.present.between import (
    comparison_tables,
    factorial_tables,
    growth_by_heat_tables,
    thermal_tables,
)
from rearlog.present.due import Today, due_tables
from rearlog.present.flat import flat_factorial
from rearlog.present.lineage import flat_lineage, lineage_tables
from rearlog.present.season import season_tables
from rearlog.present.tables import Table
from rearlog.sentences import (
    agreement,
    deadline,
    due,
    durations,
    everyone,
    factorial,
    forecast,
    growth,
    growth_by_heat,
    heat_mortality,
    identify,
    in_doubt,
    lineage,
    methods,
    progress,
    stage_counts,
    stage_heat,
    survival,
    survival_difference,
    thermal,
)
from rearlog.sentences import compare as comparison
from rearlog.sentences import season as season_words
from rearlog.sentences import stage_comparison as stage_words
from rearlog.sentences.methods import Study
from rearlog.sentences.phrases import MOST_NAMED
from tests.builders import START, moment
from tests.made_summaries import many, stage, summary
from tests.sentences.invented_curves import agreements, growths, thermals
from tests.sentences.invented_finds import doubts, identified
from tests.sentences.invented_forecasts import deadlines, dues, forecasts
from tests.sentences.invented_heat import heats
from tests.sentences.invented_results import (
    comparisons,
    factorials,
    lineages,
    mortalities,
    survivals,
)
from tests.sentences.invented_stages import durations_made_up, grown
from tests.sentences.invented_studies import of_cohorts, studies
from tests.sentences.small_lives import SHAPES, small
from tests.written_lines import Written, drawn_tables

WRITTEN = Written(Path(__file__).with_name("verdicts"))


IN_FULL = ("two apart", "three apart", "too few", "everybody, 1.25 times", "some still in it")
"""Comparisons whose tables are told in full."""


def of_comparison(found: Comparison, *, full: bool) -> Iterator[str]:
    yield comparison.lead(found)
    yield comparison.alt_text(found)
    yield f"heat: {comparison.heat_title(found)}"
    yield from comparison.notices(found)
    yield from comparison.beside(found)
    if found.overall:
        yield from comparison.notes(found.overall)
        yield from comparison.notes(found.overall, brief=True)
    if len(found.cohorts) > MOST_NAMED:  # else the notes have it
        yield from map(stage_words.words, found.overall)
    yield from (f"plainly: {each}" for each in comparison.plainly(found))
    yield comparison.made_tests(found)
    yield from cells([each for each in comparison_tables(found) if full or not each.full])


def of_survival(found: SurvivalComparison) -> Iterator[str]:
    yield survival_difference.lead(found)
    yield survival_difference.words(found)
    yield survival_difference.end_reached(found)


def of_factorial(found: Factorial) -> Iterator[str]:
    yield factorial.lead(found)
    yield from factorial.words(found)
    yield from factorial.notices(found)
    if found.overall is not None:
        yield from cells([*factorial_tables(found)[:2], flat_factorial(found)])


def of_mortality(found: HeatMortality) -> Iterator[str]:
    yield heat_mortality.title(found)
    yield from heat_mortality.words(found)
    yield from heat_mortality.notes(found)


def of_lives(cohort: Notebook) -> Iterator[str]:
    """What every answer opens with, and what titles and plain words claim, of one small cohort."""
    lived, courses = cohort.survival(), [cohort.progress()]
    yield from (survival.lead(lived), *survival.words(lived), survival.plainly(lived))
    yield from (survival.alt_text([lived]), f"K {survival.total_k(lived)}")
    if lived.reached.reached:
        adults = cohort.survival("adult")
        yield from (survival.lead(adults), *survival.words(adults))
    yield everyone.others(lived, "moths")
    took = cohort.durations()
    yield from (durations.lead(took), durations.title([took]), *durations.words(took))
    yield from cells(durations_tables(took)[:1])
    yield from (progress.title(courses), stage_counts.alt_text([cohort.stage_counts()]))
    had = cohort.heat()
    yield from (stage_heat.lead(had), stage_heat.title([had]))
    last = max((each.at for each in cohort.log.all_observations), default=START)
    coming = cohort.forecast(as_of=last + timedelta(hours=12))
    yield from (forecast.lead(coming), forecast.title([coming]), *forecast.words(coming)[:1])
    yield everyone.lead(courses, [coming] if coming.last_event else [], "moths")


def several() -> Iterator[tuple[str, list[Notebook]]]:
    """Some of the small cohorts beside each other."""
    for names in (
        ("one grown", "slow"),
        ("one young", "one that nobody looked at"),
        ("quick", "slow", "grown and young"),
        ("one grown", "quick", "slow", "two grown", "grown, dead, lost"),
        (
            "one young",
            "two dead of three",
            "all dead as eggs",
            "one dead",
            "two young, one in doubt",
        ),
    ):
        yield (
            ", ".join(names),
            [small(each.replace(", ", " ").replace(" ", "-"), SHAPES[each]) for each in names],
        )


def of_several(cohorts: Sequence[Notebook]) -> Iterator[str]:
    """The titles and notes of charts of several."""
    coming = [each.forecast(as_of=moment(12.5 - day)) for day, each in enumerate(cohorts)]
    for say, found in (
        (survival, [each.survival() for each in cohorts]),
        (durations, [each.durations() for each in cohorts]),
        (stage_counts, [each.stage_counts() for each in cohorts]),
        (stage_heat, [each.heat() for each in cohorts]),
        (forecast, coming),
    ):
        yield from (say.title(found), *(say.notes(found) if say is not stage_heat else ()))
    courses = [each.progress() for each in cohorts]
    yield from (progress.title(courses), *progress.notes(courses))


def of_lineage(found: Lineage) -> Iterator[str]:
    yield lineage.lead(found)
    yield from lineage.words(found)
    yield from lineage.notices(found)
    tables = lineage_tables(found)
    yield from cells([each for each in tables if not each.full])
    yield " / ".join(["below the last", *(word for each in tables for word in each.words)][:2])
    yield ", ".join(each.title for each in tables if each.full)
    yield from cells([flat_lineage(found)])


def of_thermal(found: Thermal, *, points: bool) -> Iterator[str]:
    yield thermal.lead(found)
    yield thermal.alt_text(found)
    for each in found.stages:
        yield from thermal.words(each)
        yield from thermal.notes(found, each)
        yield thermal.remark(each)
    tables = thermal_tables(found)
    yield from tables[0].words[1:]
    yield from tables[2].words[2 + len(found.stages) :]
    yield from cells([each for each in tables if points or each is not tables[1]])


def of_growth_by_heat(found: GrowthByHeat) -> Iterator[str]:
    yield growth_by_heat.lead(found)
    yield from growth_by_heat.words(found)
    yield from cells(growth_by_heat_tables(found))


def of_agreement(found: Agreement) -> Iterator[str]:
    yield agreement.lead(found)
    yield from agreement.words(found)
    yield agreement.title([found])
    yield agreement.title([found, replace(found, cohort="other")])
    yield agreement.alt_text([found])
    yield from agreement.notes([found, replace(found, within_minutes=30.0)])


def seasons() -> Iterator[tuple[str, Season]]:
    """Many cohorts and few, at one site and at several, with files that were met twice."""
    days = (28.0, 30.0, 31.0, 29.0, 30.0, 32.0, 30.5, 29.5)
    alike = [summary(f"c{n}", stage(each)) for n, each in enumerate(days)]
    yield "many", season(many())
    yield "eight alike", season(alike)
    odd = summary("odd", stage(60.0), reached=2, missed=200)
    yield "eight and one that stands out", season([*alike, odd])
    yield "at one site", season([replace(each, site="School") for each in alike])
    warmth = [*(22 + n / 10 for n in range(20)), 14.0]
    line = [
        summary(f"t{celsius:g}", stage(300 / (celsius - 10), 0.3, celsius=celsius))
        for celsius in warmth
    ]
    yield "one that is cold", season(line)
    at = [replace(each, site=f"School {n // 2}") for n, each in enumerate(alike)]
    yield "at four sites", season(at)
    yield "two", season(alike[:2])
    yield "one", season(alike[:1])
    yield "one of which nobody came through", season([summary("new", reached=0, known=0)])
    going_on = summary("new", reached=1, known=3, waiting=3)
    yield "one of which somebody came through that entered later", season([going_on])
    copies = [Copy("c0", "c0", "a.json", ("b.json",)), Copy("c1", "c1", "a.json", ("b", "c"))]
    yield "with files twice", season(alike[:3], copies, [PassedOver("x.json", "x.json is empty")])


def of_season(found: Season) -> Iterator[str]:
    yield season_words.lead(found)
    yield from season_words.words(found)
    yield from season_words.notices(found)
    for each in found.species:
        shown = each.stage()
        yield season_words.title(each, shown)
        yield season_words.funnel_title(each)
        yield from season_words.funnel_notes(each)
        if shown is not None:
            yield from season_words.notes(shown, season_words.rows_shown("cohort", 8, 8))
    yield season_words.rows_shown("cohort", 8, 8, red=True)
    yield season_words.rows_shown("site", 3, 8)
    yield season_words.rows_shown("out", 1, 8)
    yield season_words.rows_shown("out", 0, 8)
    yield from cells(season_tables(found, full=True))
    yield from cells(season_tables(found, by_site=True)[:2])


def what_is_due() -> Iterator[tuple[str, list[Due]]]:
    """Cohorts on days since the start: what is due in them."""
    for names, day in (
        (("one young",), 4),
        (("one young",), 5),
        (("one young",), 7),
        (("two young, one in doubt",), 9),
        (("overdue",), 29),
        (("overdue",), 40),
        (("one grown",), 13),
        (("one dead", "one lost"), 3),
        (("dead when grown",), 7),
        (("taken out, one and two",), 6),
        (("one young", "two young, one in doubt", "quick"), 6),
        (("one young", "overdue", "slow"), 5),
    ):
        cohorts = [small(each.replace(", ", " ").replace(" ", "-"), SHAPES[each]) for each in names]
        found = [each.with_log(each.log.as_of(moment(day))) for each in cohorts]
        yield f"{', '.join(names)}, day {day}", [each.due(moment(day)) for each in found]

    eleven = small("eleven", SHAPES["one young"] * 11)
    yield "eleven, day 5", [eleven.due(moment(5))]


def of_deadline(found: Deadline) -> Iterator[str]:
    yield deadline.lead(found)
    yield from deadline.words(found)


def of_forecasts(found: Sequence[Forecast]) -> Iterator[str]:
    for each in found[:1]:
        yield forecast.lead(each)
        yield from forecast.words(each)
        yield forecast.not_seen(each)
    yield forecast.title(found)
    yield from forecast.notes(found)


def of_made_up_due(found: Sequence[Due]) -> Iterator[str]:
    yield due.lead(found)
    for each in found[:1]:
        yield due.summary(each)
        yield from due.waits(each)


def of_durations(found: Sequence[Durations]) -> Iterator[str]:
    for each in found[:1]:
        yield durations.lead(each)
        yield from durations.words(each)
        yield ", ".join(filter(None, map(durations.compared, each.stages)))
        yield from durations.bases(each.stages)
    yield durations.title(found)
    yield from durations.notes(found)


def of_growth(found: Sequence[Growth]) -> Iterator[str]:
    for each in found[:1]:
        yield growth.lead(each)
        yield from growth.words(each)
    yield growth.alt_text(found)
    yield from growth.notes(found)


def of_due(found: Sequence[Due]) -> Iterator[str]:
    yield due.lead(found)
    for each in found:
        yield due.summary(each)
        yield due.ended(each)
    codes = [f"m{n}" for n in range(1, 12)]
    yield from cells(due_tables(Today(tuple(found)), [codes] * len(found)))


def of_heat(found: Sequence[Heat]) -> Iterator[str]:
    for each in found[:1]:
        yield stage_heat.lead(each)
        yield ", ".join(filter(None, map(stage_heat.compared, each.stages)))
        yield stage_heat.label(each)
        yield f"no range: {stage_heat.no_expected(each)}"
    yield stage_heat.alt_text(found)
    yield from stage_heat.notes(found, stages_marked=True)
    if found[0].expected_totals:
        yield from stage_heat.notes(found, stages_marked=True, expected_marked=False)
        yield from stage_heat.notes(found, stages_marked=False)


def of_identification(found: Identification) -> Iterator[str]:
    yield identify.lead(found)
    yield identify.verdict(found)
    yield from identify.warnings(found)


def of_methods(found: Study) -> Iterator[str]:
    """What is told of no cohort of which next to nothing is known, unless that is the one."""
    usual = methods.paragraphs(of_cohorts())
    told = methods.paragraphs(found)
    return iter(told if told == usual else [each for each in told if each not in usual])


def cells(tables: Iterable[Table]) -> Iterator[str]:
    """Tables without what is told below them."""
    return filter(None, drawn_tables(replace(each, words=()) for each in tables))


SAID: dict[str, Callable[[], Iterator[tuple[str, Iterator[str]]]]] = {
    "agreement": lambda: ((title, of_agreement(each)) for title, each in agreements()),
    "compare": lambda: (
        (title, of_comparison(each, full=title in IN_FULL)) for title, each in comparisons()
    ),
    "survival": lambda: ((title, of_survival(each)) for title, each in survivals()),
    "factorial": lambda: ((title, of_factorial(each)) for title, each in factorials()),
    "deadline": lambda: ((title, of_deadline(each)) for title, each in deadlines()),
    "due-made-up": lambda: ((title, of_made_up_due(each)) for title, each in dues()),
    "forecast": lambda: ((title, of_forecasts(each)) for title, each in forecasts()),
    "growth": lambda: ((title, of_growth(each)) for title, each in grown()),
    "durations": lambda: ((title, of_durations(each)) for title, each in durations_made_up()),
    "due": lambda: ((title, of_due(each)) for title, each in what_is_due()),
    "growth-by-heat": lambda: ((title, of_growth_by_heat(each)) for title, each in growths()),
    "doubts": lambda: ((title, iter([in_doubt.words(each)])) for title, each in doubts()),
    "heat": lambda: ((title, of_heat(each)) for title, each in heats()),
    "identify": lambda: ((title, of_identification(each)) for title, each in identified()),
    "lineage": lambda: ((title, of_lineage(each)) for title, each in lineages()),
    "lives": lambda: ((title, of_lives(small("tiny", each))) for title, each in SHAPES.items()),
    "many-lives": lambda: ((title, of_several(each)) for title, each in several()),
    "methods": lambda: ((title, of_methods(each)) for title, each in studies()),
    "season": lambda: ((title, of_season(each)) for title, each in seasons()),
    "thermal": lambda: (
        (title, of_thermal(each, points=title in ("a line", "still in it")))
        for title, each in thermals()
    ),
    "mortality": lambda: ((title, of_mortality(each)) for title, each in mortalities()),
}


def lines(name: str) -> list[str]:
    return [line for title, said in SAID[name]() for line in ("", f"== {title}", *said)]


@pytest.mark.parametrize("name", SAID)
def test_what_is_said_of_every_verdict_is_what_was_written_down(name: str) -> None:
    assert lines(name) == WRITTEN.read(name)


if __name__ == "__main__":
    for each in SAID:
        WRITTEN.write(each, lines(each))
