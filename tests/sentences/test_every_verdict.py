"""What is said of made-up results, every verdict that there is, as it is written down in
`verdicts/`; each line can be held beside the numbers in `invented_results.py`.

After a change that is meant, `python -m tests.sentences.test_every_verdict` writes them anew, and
what is different is looked at before it is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from rearlog.analysis.comparing.compare import Comparison
from rearlog.analysis.comparing.factorial import Factorial
from rearlog.analysis.comparing.heat_mortality import HeatMortality
from rearlog.analysis.comparing.survival_difference import SurvivalComparison
from rearlog.present.between import comparison_tables, factorial_tables
from rearlog.present.tables import Table
from rearlog.sentences import compare as comparison
from rearlog.sentences import factorial, heat_mortality, survival_difference
from tests.sentences.invented_results import comparisons, factorials, mortalities, survivals
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


def cells(tables: Sequence[Table]) -> Iterator[str]:
    """Tables without what is told below them."""
    return filter(None, drawn_tables(replace(each, words=()) for each in tables))


SAID: dict[str, Callable[[], Iterator[tuple[str, Iterator[str]]]]] = {
    "compare": lambda: (
        (title, of_comparison(each, full=title in IN_FULL)) for title, each in comparisons()
    ),
    "survival": lambda: ((title, of_survival(each)) for title, each in survivals()),
    "factorial": lambda: ((title, of_factorial(each)) for title, each in factorials()),
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
