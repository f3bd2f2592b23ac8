"""The numbers that people look at, on the page: of a cohort small enough to reckon by hand.

Laid in the day before the start (so at half past), looked at once a day, kept at 20 °C, which is 10
degree-days a day above 10 °C. By hand, from the middles of the intervals: eggs of 1, 2 and 3 days,
one of four died as an egg; L1 of 2 and 2 days, the third died in it.
"""

import re
from collections.abc import Iterator
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from rearlog.cli.pictures import contents
from rearlog.notebook import Notebook
from rearlog.present.page import page
from rearlog.records.log import CohortLog, ConstantTemperature
from tests.builders import START, moment, small_profile, tiny_log

LIVES = {
    "1": "egg L1 L1 L2 L2 L2",
    "2": "egg egg L1 L1 L2 L2",
    "3": "egg egg egg L1 dead:mould",
    "4": "egg egg dead:mould",
}
WIDTHS = {("1", 1): 0.4, ("1", 3): 0.6, ("2", 2): 0.5, ("2", 4): 0.75}
"""Head widths (mm) by individual and day: L1 of 0.4 and 0.5, L2 of 0.6 and 0.75."""


def log() -> CohortLog:
    found = tiny_log(
        LIVES,
        profile=small_profile(heat={"egg": 25.0, "L1": 15.0, "L2": 15.0, "L3": 10.0, "pupa": 40.0}),
        laid=(-1.0, 0.0),
        temperatures=(ConstantTemperature(20.0, moment(-1).date(), moment(5).date()),),
    )
    measured = (
        replace(each, head_width_mm=WIDTHS.get((each.individual, (each.at - START).days)))
        for each in found.all_observations
    )
    return replace(found, all_observations=tuple(measured))


class _Tables(HTMLParser):
    """The tables of a page by their captions, as rows of texts, the headings first."""

    def __init__(self) -> None:
        super().__init__()
        self.found: dict[str, list[list[str]]] = {}
        self._rows: list[list[str]] = []
        self._inside = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "caption":
            self._rows, self._inside = [], "caption"
        elif tag == "tr":
            self._rows.append([])
        elif tag in ("th", "td"):
            self._rows[-1].append("")
            self._inside = "cell"

    def handle_endtag(self, tag: str) -> None:
        if tag in ("caption", "th", "td"):
            self._inside = ""

    def handle_data(self, data: str) -> None:
        if self._inside == "caption":
            self.found[data] = self._rows
        elif self._inside == "cell":
            self._rows[-1][-1] += data


@pytest.fixture(scope="module")
def text() -> str:
    notebook = Notebook("tiny.json", as_of=moment(12.5))
    notebook.log = log()
    return page(contents([notebook]))


@pytest.fixture(scope="module")
def tables(text: str) -> dict[str, list[list[str]]]:
    reader = _Tables()
    reader.feed(text)
    return reader.found


def rows(tables: dict[str, list[list[str]]], caption: str) -> dict[str, list[str]]:
    """The rows of the table whose caption begins so, by their first cell."""
    (found,) = (rows for name, rows in tables.items() if name.startswith(caption))
    return {row[0]: row[1:] for row in found}


def sentences(text: str) -> Iterator[str]:
    for line in re.findall(r"<(?:li|p)[^>]*>([^<]*)<", text):
        yield line.replace("&#39;", "'")


def test_days_in_each_stage(tables: dict[str, list[list[str]]]) -> None:
    found = rows(tables, "Days in the stage")
    assert found["stage"] == ["n", "mean", "SE", "SD", "median", "range", "±", "expected", "out"]
    n, mean, _, sd, median, spread, off, expected, out = found["egg"]
    # each is certain within a day on both sides; 20.1 to 29.9 degree-days at 10 a day are
    # expected, and the first had hatched after 2.0 days at most
    assert (n, mean, sd, median) == ("3", "2.00", "1.00", "2.00")
    assert (spread, off, expected, out) == ("1.0–3.0", "1.0", "2.0–3.0", "1")
    assert found["L1"][:2] == ["2", "2.00"]


def test_fates_in_each_stage(tables: dict[str, list[list[str]]]) -> None:
    found = rows(tables, "tiny (Moth test): what became")
    assert found["egg"] == ["4", "3", "1", "0", "0", "0", "0"]
    assert found["L1"] == ["3", "2", "1", "0", "0", "0", "0"]
    assert found["L2"] == ["2", "0", "0", "0", "0", "2", "0"]


def test_survival_by_stage_and_by_age(tables: dict[str, list[list[str]]]) -> None:
    """Of 4 eggs 1 died: Wilson's limits are 0.0456 and 0.6994 (by his formula, with z = 1.96);
    k = −log10(3/4) = 0.125."""
    egg = rows(tables, "tiny: survival by stage")["egg"]
    assert egg == ["4", "1", "0", "0", "3", "0.25", "0.05–0.70", "0.12"]
    curve = rows(tables, "Survival by age")
    # deaths were found on days 2 (of 4) and 4 (of 3): 3/4, then 3/4 · 2/3; Greenwood by hand
    assert curve["2"][:5] == ["4", "1", "0", "0.75", "0.22"]
    assert curve["4"][:5] == ["3", "1", "0", "0.50", "0.25"]
    assert curve["5"][:4] == ["2", "0", "2", "0.50"]


def test_degree_days(tables: dict[str, list[list[str]]]) -> None:
    caption = "tiny: degree-days above 10 °C"
    assert rows(tables, caption)["egg"][:2] == ["3", "20.00"]
    assert rows(tables, caption)["egg"][4:] == ["10.0–30.0", "20.1–29.9"]
    days = rows(tables, "Day by day")
    assert days["2026-03-09"] == ["10.00", "20.00", ""]
    assert days["2026-03-14"] == ["10.00", "70.00", ""]


def test_growth_of_the_head(tables: dict[str, list[list[str]]]) -> None:
    """Means of 0.45 and 0.675 mm: by 1.5, and so does each of the two."""
    found = rows(tables, "tiny: head capsule width")
    assert found["L1"] == ["2", "0.45", "0.07", "–", "–"]
    assert found["L2"] == ["2", "0.68", "0.11", "1.50", "–"]


def test_every_individual(tables: dict[str, list[list[str]]]) -> None:
    (found,) = (rows for name, rows in tables.items() if "days of each" in name)
    assert ["1", "egg", "1.00", "0.0–2.0", "completed", "10.00", "2.0–3.0", "shorter"] in found
    assert ["2", "egg", "2.00", "1.0–3.0", "completed", "20.00", "2.0–3.0", ""] in found
    assert ["4", "egg", "–", ">1.0", "died", "–", "2.0–3.0", ""] in found


def test_cells_are_those_of_the_terminal(tables: dict[str, list[list[str]]]) -> None:
    cells = {cell for found in tables.values() for row in found for cell in row}
    assert not cells & {"True", "False", "None", "nan"}
    assert rows(tables, "tiny (Moth test): what is to come")["pupation"][-1] == "yes"


def test_the_words_beside_the_numbers(text: str) -> None:
    said = set(sentences(text))
    assert "Deaths: 2 mould." in said
    assert "Nobody has reached adulthood yet; 2 are alive." in said
    assert "16 of 16 daily looks were made." in said
    # by hand: ln 1.5, with four residuals of ln(1.25)/2 on two degrees of freedom
    assert (
        "From instar to instar the head grows 1.50 times as wide (standard error 0.237); 4 widths."
        in said
    )
