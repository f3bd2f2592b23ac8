"""The page of methods: every function whose numbers are shown, from what `explain` knows."""

from __future__ import annotations

from collections.abc import Iterator

from rearlog.present.anchors import anchor
from rearlog.present.explaining import ANSWERS, HowMade, Meaning, charts, explain

ROOMS = {
    "statistics": "Estimators, intervals and tests",
    "heat": "Temperatures and degree-days",
    "stages": "Stages",
    "survival": "Survival",
    "growth": "Growth",
    "reproduction": "Eggs and generations",
    "agreement": "Whether observers agree",
    "pooling": "Many cohorts together",
    "comparing": "Cohorts and temperatures compared",
    "simulation": "Invented cohorts",
    "forecasting": "What is to come",
}
"""The rooms of the analysis, and what their methods are about."""


def methods_document() -> str:
    """The Markdown of the page: a heading for each room, a section for each function."""
    made, formulas = _gathered()
    lines = [
        "# Methods",
        "",
        "What is computed and how: formulas, what each method assumes, where it comes from, and "
        "the tests that check it.",
        "",
        "`rearlog explain NAME` tells the same of one number (`rearlog explain survival k`), and "
        "`rearlog methods` writes the paragraph for a paper from what was done with your cohorts. "
        "The tests are in the source of this version.",
        "",
    ]
    rooms = {
        title: [made[each] for each in sorted(made) if each.split(".")[0] == room]
        for room, title in ROOMS.items()
    }
    for title, mine in rooms.items():
        links = (f"[{name}](#{anchor(name)})" for each in mine if (name := heading(each.function)))
        lines += [f"- [{title}](#{anchor(title)}): {', '.join(links)}"]
    for title, mine in rooms.items():
        lines += ["", f"## {title}", ""]
        for each in mine:
            lines += _section(each, formulas.get(each.function, {}))
    return "\n".join(lines)


def heading(function: str) -> str:
    """What the section of a function is called: `statistics.kaplan_meier.k_value`, K value."""
    return function.rpartition(".")[2].replace("_", " ").capitalize()


def _gathered() -> tuple[dict[str, HowMade], dict[str, dict[str, str]]]:
    """Every function that works a number out, and the formulas of its numbers by their names."""
    made: dict[str, HowMade] = {}
    formulas: dict[str, dict[str, str]] = {}
    for answer in (*ANSWERS, *charts()):
        for meaning in explain(answer).meanings:
            for each in meaning.made:
                made.setdefault(each.function, each)
                if meaning.formula is not None and len(meaning.made) == 1:
                    formulas.setdefault(each.function, {})[_called(meaning)] = meaning.formula
    return made, formulas


def _called(meaning: Meaning) -> str:
    return f"{meaning.name}, {meaning.says}"


def _section(made: HowMade, formulas: dict[str, str]) -> Iterator[str]:
    yield from (f"### {heading(made.function)}", "", made.does, "")
    for name, formula in formulas.items():
        yield f"- {name}: `{formula}`"
    if made.assumes:
        yield f"- Assumes: {made.assumes}"
    for source in made.sources:
        yield f"- Source: {source}"
    yield f"- Checked in {', '.join(f'`{each}`' for each in made.checked)}"
    yield ""
