"""Days without a temperature: filled alike, and said alike, in every answer."""

import json
from datetime import date, timedelta

import pytest

from tests.cli.conftest import Run

FIRST, GAP = date(2026, 3, 9), date(2026, 3, 12)


@pytest.fixture
def gapped(run: Run, request: pytest.FixtureRequest) -> int:
    """Cohorts `a` and `b` at 22 °C, looked at until 2026-03-24, with so many days without it."""
    length: int = request.param
    on = GAP + timedelta(length)
    for name in ("a", "b"):
        run("start", name, "--species", "painted-lady", "--eggs", "3", "--on", "2026-03-09",
            "--laid", "2026-03-09", "--zone", "UTC")  # fmt: skip
        run("temps", name, "--constant", "22", "--from", f"{FIRST}", "--to", "2026-03-11")
        run("temps", name, "--constant", "22", "--from", f"{on}", "--to", "2026-03-24")
        for day, stage in ((10, "egg"), (11, "L1"), (20, "L1"), (21, "L2"), (24, "L3")):
            run("log", name, f"all {stage}", "--on", f"2026-03-{day}")
    return length


ANSWERS = {
    "heat": ("heat", "a"),
    "durations": ("durations", "a"),
    "individuals": ("durations", "a", "--individuals"),
    "compare": ("compare", "a", "b"),
    "today": ("today", "a", "--as-of", "2026-03-24"),
    "forecast": ("forecast", "a", "--as-of", "2026-03-24"),
    "by a day": ("forecast", "a", "--as-of", "2026-03-24", "--by", "2026-04-20"),
}


@pytest.mark.parametrize("gapped", [2, 3, 4, 6], indirect=True)
def test_every_answer_fills_the_same_gaps_and_says_so_once(run: Run, gapped: int) -> None:
    last = GAP + timedelta(gapped - 1)
    made = "taken from the days beside" if gapped <= 3 else "not known, since no more than 3 days"
    said = f"No temperature on record for {gapped} days ({GAP} to {last}): {made}"
    fill = f"to fill it: rearlog temps a --min MIN --max MAX --on {GAP}"
    for words in ANSWERS.values():
        shown = " ".join(run(*words).output.split())
        assert shown.count(said) == (2 if words[0] == "compare" else 1), words
        assert shown.count(fill) == 1, words


@pytest.mark.parametrize("gapped", [2, 3, 4, 6], indirect=True)
def test_no_answer_counts_heat_that_another_does_not_know(run: Run, gapped: int) -> None:
    """L1 lasted from 11 to 21 March, and the gap lies in it; L2 came after it."""

    def answer(*words: str):  # type: ignore[no-untyped-def]
        return json.loads(run(*words, "--format", "json", "--quiet").stdout)

    filled = gapped <= 3
    heat = answer("heat", "a")
    assert (heat["coverage"]["filled"], heat["coverage"]["missing"]) == (
        (gapped, 0) if filled else (0, gapped)
    )
    by_stage = {each["stage"]: each["n"] for each in heat["stages"]}
    assert (by_stage["L1"], by_stage["L2"]) == (3 if filled else 0, 3)
    rows = answer("durations", "a")["individuals"]
    amounts = {each["stage"]: each["degree_days"] for each in rows}
    assert (amounts["L1"] is not None, amounts["L2"] is not None) == (filled, True)
    compared = answer("compare", "a", "b")["stages"]
    sizes = {(row["stage"], row["unit"]): row["groups"][0]["n"] for row in compared}
    assert sizes["L2", "degree-days C"] == 3
    assert sizes.get(("L1", "degree-days C"), 0) == (3 if filled else 0)
    paces = {
        each["stage"]: each for each in answer("forecast", "a", "--as-of", "2026-03-24")["paces"]
    }
    assert (paces["L1"]["finished"], paces["L2"]["finished"]) == (3 if filled else 0, 3)
