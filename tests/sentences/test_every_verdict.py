"""What is said of made-up results, every verdict that there is, as it is written down in
`verdicts/`; each line can be held beside the numbers in `invented_results.py`.

After a change that is meant, `python -m tests.sentences.test_every_verdict` writes them anew, and
what is different is looked at before it is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from rearlog.analysis.comparing.compare import Comparison
from rearlog.analysis.comparing.factorial import Factorial
from rearlog.analysis.comparing.heat_mortality import HeatMortality
from rearlog.analysis.comparing.survival_difference import SurvivalComparison
from rearlog.notebook import Notebook
from rearlog.present.answers import durations_tables
from rearlog.present.between import comparison_tables, factorial_tables
from rearlog.present.tables import Table
from rearlog.sentences import compare as comparison
from rearlog.sentences import (
    durations,
    everyone,
    factorial,
    forecast,
    heat_mortality,
    progress,
    stage_counts,
    stage_heat,
    survival,
    survival_difference,
)
from tests.builders import START, moment
from tests.sentences.invented_results import comparisons, factorials, mortalities, survivals
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
        yield from cells(factorial_tables(found)[:2])


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
    coming = [each.forecast(as_of=moment(12.5)) for each in cohorts]
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


def cells(tables: Sequence[Table]) -> Iterator[str]:
    """Tables without what is told below them."""
    return filter(None, drawn_tables(replace(each, words=()) for each in tables))


SAID: dict[str, Callable[[], Iterator[tuple[str, Iterator[str]]]]] = {
    "compare": lambda: (
        (title, of_comparison(each, full=title in IN_FULL)) for title, each in comparisons()
    ),
    "survival": lambda: ((title, of_survival(each)) for title, each in survivals()),
    "factorial": lambda: ((title, of_factorial(each)) for title, each in factorials()),
    "lives": lambda: ((title, of_lives(small("tiny", each))) for title, each in SHAPES.items()),
    "many-lives": lambda: ((title, of_several(each)) for title, each in several()),
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
