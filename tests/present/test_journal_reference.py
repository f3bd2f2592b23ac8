"""The numbers of the tables for papers, worked out again from the files of the sample cohorts by
code that shares none with the project."""

import csv
import io
import json
from datetime import datetime
from functools import cache
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from lifelines import AalenJohansenFitter
from scipy import integrate, stats
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.proportion import proportion_confint

from rearlog.notebook import Notebook, compare, thermal
from rearlog.present.journal import journal_table
from rearlog.present.journal_forms import to_tidy_csv

SAMPLES = Path(__file__).parents[2] / "sample_cohorts"
NAMES = ("cool", "room", "warm")
CODES = ("egg", "L1", "L2", "L3", "L4", "L5", "pupa", "adult")
RANK = {code: place for place, code in enumerate(CODES)}
WHOLE = "whole development"

Cells = dict[tuple[str, str], dict[str, str]]


@pytest.fixture(scope="module")
def notebooks() -> list[Notebook]:
    return [Notebook(SAMPLES / f"{name}.json") for name in NAMES]


def cells_of(what: str, notebooks: list[Notebook]) -> Cells:
    """The lines of the CSV by row and column."""
    lines = csv.DictReader(io.StringIO(to_tidy_csv(journal_table(what, notebooks))))
    found: Cells = {}
    for line in lines:
        row, column, *_ = line.values()
        found[row, column] = line
    return found


def day(text: str) -> float:
    return datetime.fromisoformat(text).timestamp() / 86_400


def looks(name: str) -> dict[str, list[tuple[float, int, str | None]]]:
    """For each individual when it was looked at, the rank of its stage, and its fate."""
    file = json.loads((SAMPLES / f"{name}.json").read_text(encoding="utf-8"))
    found: dict[str, list[tuple[float, int, str | None]]] = {}
    for each in file["individuals"].values():
        found[each["code"]] = [(day(each["entered_at"]), RANK[each["stage"]], None)]
    for each in sorted(file["observations"].values(), key=lambda each: each["at"]):
        seen = found[each["individual"]]
        rank = RANK[each["stage"]] if "stage" in each else seen[-1][1]
        seen.append((day(each["at"]), rank, each.get("fate")))
    return found


def laid(name: str) -> dict[str, tuple[float, float]]:
    file = json.loads((SAMPLES / f"{name}.json").read_text(encoding="utf-8"))
    return {
        each["code"]: (day(each["laid_after"]), day(each["laid_by"]))
        for each in file["individuals"].values()
    }


def witnessed(name: str) -> set[tuple[str, float]]:
    """Whose passage was seen to happen, and when."""
    file = json.loads((SAMPLES / f"{name}.json").read_text(encoding="utf-8"))
    found = [each for each in file["observations"].values() if each.get("witnessed")]
    return {(each["individual"], day(each["at"])) for each in found}


def passage(seen: list[tuple[float, int, str | None]], rank: int) -> tuple[float, float] | None:
    """Between which two looks an individual came into a stage."""
    first = next((place for place, look in enumerate(seen) if look[1] >= rank), None)
    return None if not first else (seen[first - 1][0], seen[first][0])


def passages(name: str, stage: str) -> tuple[np.ndarray, np.ndarray]:
    """Both passages of those that completed a stage, each (n, 2)."""
    eggs, rows = laid(name), []
    happened = witnessed(name)
    begin, end = (0, len(CODES) - 1) if stage == WHOLE else (RANK[stage], RANK[stage] + 1)
    for code, seen in looks(name).items():
        into = eggs[code] if begin == 0 else passage(seen, begin)
        out = passage(seen, end)
        if into is not None and out is not None:
            seen_to = [(at, at) if (code, at) in happened else (low, at) for low, at in (into, out)]
            rows.append(seen_to)
    both = np.array(rows)
    return both[:, 0], both[:, 1]


def rounding(bounds: np.ndarray) -> float:
    """The mean square error of the mean of dates, by integration over where the mean may lie."""
    widths = bounds[:, 1] - bounds[:, 0]
    dates, square = bounds.mean(axis=1), (widths**2).mean()
    sd = max(dates.var(ddof=1) - square / 6, 1e-6 * widths.max() ** 2) ** 0.5
    checks = np.unique(bounds[widths > 0].round(6))
    beyond = square**0.5 * np.arange(1, int(5 * sd / square**0.5) + 3)
    checks = np.r_[checks[0] - beyond[::-1], checks, checks[-1] + beyond]

    def squared(mean: float) -> float:
        parts = np.diff(stats.norm.cdf(checks, mean, sd))
        return float((parts * (checks[1:] + checks[:-1]) / 2).sum() - mean) ** 2

    half = widths.max() / 2
    at = np.linspace(dates.mean() - half, dates.mean() + half, 401)
    mean_square = float(integrate.trapezoid([squared(each) for each in at], at) / (2 * half))
    return mean_square * float((widths > 0).mean()) ** 2


@cache
def reference(name: str, stage: str) -> tuple[float, float, float, int]:
    """The mean, its standard error with that of the looks, its degrees of freedom, and n."""
    into, out = passages(name, stage)
    days = out.mean(axis=1) - into.mean(axis=1)
    looked_for = [out] if stage in ("egg", WHOLE) else [into, out]
    n = len(days)
    grid = sum(((each[:, 1] - each[:, 0]) ** 2).mean() / 12 for each in looked_for)
    own, shared = max(days.var(ddof=1), grid) / n, sum(map(rounding, looked_for))
    return days.mean(), (own + shared) ** 0.5, (n - 1) * ((own + shared) / own) ** 2, n


def of_the_completed(cells: Cells) -> list[str]:
    """The rows of means of those that completed it: their estimates have standard errors."""
    return list(dict.fromkeys(row for (row, _), line in cells.items() if line["se"]))


def test_days_and_their_errors(notebooks: list[Notebook]) -> None:
    cells = cells_of("durations", notebooks)
    assert [row for row, _ in cells][::3] == [*CODES[:-1], WHOLE]
    assert of_the_completed(cells) == ["egg", "L1", "L2", "L4", "L5", "pupa"]
    for (row, name), line in cells.items():
        mean, se, _, n = reference(name, row)
        assert int(line["n"]) == n
        if line["se"]:
            assert float(line["estimate"]) == pytest.approx(mean, abs=1e-9)
            assert float(line["se"]) == pytest.approx(se, rel=0.01), (row, name)
        else:
            assert float(line["low"]) < float(line["estimate"]) < float(line["high"])
            assert float(line["estimate"]) == pytest.approx(mean, rel=0.11)


def test_letters_are_those_of_pairs_that_were_shown_to_differ(notebooks: list[Notebook]) -> None:
    """Of the rows of completed stages all tests are made anew: Welch, Holm, Games and Howell."""
    cells = cells_of("durations", notebooks)
    found = {row: [reference(name, row) for name in NAMES] for row in of_the_completed(cells)}
    stage_p = {row: welch(groups) for row, groups in found.items()}
    comparison = {each.stage: each for each in compare(notebooks).stages if each.unit == "days"}
    every = [comparison[code].p for code in CODES[:-1]]
    adjusted = dict(zip(CODES, multipletests(every, method="holm")[1], strict=False))
    for row, groups in found.items():
        assert stage_p[row] == pytest.approx(comparison[row].p, rel=0.2)
        for (one, a), (other, b) in combinations(zip(NAMES, groups, strict=True), 2):
            differ = adjusted[row] < 0.05 and games_howell(a, b, 3) < 0.05
            letters = (cells[row, one]["letters"], cells[row, other]["letters"])
            assert bool(set(letters[0]) & set(letters[1])) is not differ, (row, one, other)


def test_letters_of_every_row_are_shared_by_those_not_shown_to_differ(
    notebooks: list[Notebook],
) -> None:
    for what, unit in {"durations": "days", "heat": "degree-days C"}.items():
        cells = cells_of(what, notebooks)
        for row in compare(notebooks).stages:
            if row.unit == unit:
                for pair in row.pairs:
                    one, other = (
                        cells[row.stage, each]["letters"] for each in (pair.cohort, pair.other)
                    )
                    assert one
                    assert other
                    assert bool(set(one) & set(other)) is (str(pair.verdict) != "differ")


def welch(groups: list[tuple[float, float, float, int]]) -> float:
    """p of the analysis of variance for unequal variances, after the paper of 1951."""
    mean, se, freedom, _ = (np.array(each) for each in zip(*groups, strict=True))
    weight = se**-2.0
    k, grand = len(mean), (weight * mean).sum() / weight.sum()
    lack = ((1 - weight / weight.sum()) ** 2 / freedom).sum()
    f = (weight * (mean - grand) ** 2).sum() / (k - 1)
    f /= 1 + 2 * (k - 2) / (k**2 - 1) * lack
    return float(stats.f.sf(f, k - 1, (k**2 - 1) / (3 * lack)))


def games_howell(a: tuple[float, ...], b: tuple[float, ...], k: int) -> float:
    se2 = a[1] ** 2 + b[1] ** 2
    freedom = se2**2 / (a[1] ** 4 / a[2] + b[1] ** 4 / b[2])
    return float(stats.studentized_range.sf(abs(a[0] - b[0]) / (se2 / 2) ** 0.5, k, freedom))


def test_head_widths_and_the_ratio_from_instar_to_instar(notebooks: list[Notebook]) -> None:
    cells = cells_of("growth", notebooks)
    assert [row for row, _ in cells][::3] == ["L1", "L2", "L3", "L4", "L5", "Dyar’s ratio"]
    for name in NAMES:
        readings = widths(name)
        for stage in CODES[1:6]:
            values = [np.mean(each) for (_, at), each in readings.items() if at == stage]
            line = cells[stage, name]
            assert int(line["n"]) == len(values) >= 6
            assert float(line["estimate"]) == pytest.approx(np.mean(values))
            assert float(line["se"]) == pytest.approx(stats.sem(values))
            assert line["letters"] == ""


def widths(name: str) -> dict[tuple[str, str], list[float]]:
    """The head widths of each individual in each instar."""
    file = json.loads((SAMPLES / f"{name}.json").read_text(encoding="utf-8"))
    found: dict[tuple[str, str], list[float]] = {}
    at = {each["code"]: each["stage"] for each in file["individuals"].values()}
    for each in sorted(file["observations"].values(), key=lambda each: each["at"]):
        at[each["individual"]] = each.get("stage", at[each["individual"]])
        if "head_width_mm" in each:
            place = (each["individual"], at[each["individual"]])
            found.setdefault(place, []).append(each["head_width_mm"])
    return found


def test_dyars_ratio_is_the_mean_slope_of_those_followed_through_all_instars(
    notebooks: list[Notebook],
) -> None:
    """In cool the same eight were measured in all five instars: then it is a mean of slopes."""
    cells = cells_of("growth", notebooks)
    by_animal: dict[str, list[float]] = {}
    for (code, _), each in sorted(widths("cool").items(), key=lambda item: RANK[item[0][1]]):
        by_animal.setdefault(code, []).append(np.log(np.mean(each)))
    assert {len(each) for each in by_animal.values()} == {5}
    slopes = [stats.linregress(range(5), each).slope for each in by_animal.values()]
    ratio = np.exp(np.mean(slopes))
    line = cells["Dyar’s ratio", "cool"]
    assert float(line["estimate"]) == pytest.approx(ratio)
    assert float(line["se"]) == pytest.approx(ratio * stats.sem(slopes))
    assert line["n"] == "8"


def test_mortality_and_its_limits(notebooks: list[Notebook]) -> None:
    """In a stage that all left by dying or by going on, it is a share with Wilson's limits."""
    cells = cells_of("survival", notebooks)
    for name in NAMES:
        lives = looks(name).values()
        for rank, stage in enumerate(CODES[:-1]):
            inside = [seen for seen in lives if any(each[1] == rank for each in seen)]
            died = [seen for seen in inside if seen[-1][2] == "dead" and seen[-1][1] == rank]
            ended = {seen[-1][2] for seen in inside if seen[-1][1] == rank}
            line = cells[f"died as {stage}", name]
            assert int(line["n"]) == len(inside)
            if ended <= {"dead"}:
                low, high = proportion_confint(len(died), len(inside), method="wilson")
                assert float(line["estimate"]) == pytest.approx(100 * len(died) / len(inside))
                assert float(line["low"]) == pytest.approx(100 * low, abs=1e-6)
                assert float(line["high"]) == pytest.approx(100 * high, abs=1e-6)


def test_the_part_that_reached_adulthood_where_one_was_lost(notebooks: list[Notebook]) -> None:
    """In room one escaped: the estimate of Aalen and Johansen counts it while it was watched."""
    days, ends = [], []
    for seen in looks("room").values():
        adult = next((look[0] for look in seen if look[1] == RANK["adult"]), None)
        days.append((adult or seen[-1][0]) - seen[0][0])
        ends.append(1 if adult else 2 if seen[-1][2] == "dead" else 0)
    assert ends.count(0) == 1
    days_apart = np.array(days).round(6) + 1e-9 * np.arange(len(days))  # the library wants no ties
    order = np.array(ends)
    fitted = AalenJohansenFitter(jitter_level=0, seed=1).fit(days_apart, order, event_of_interest=1)
    line = cells_of("survival", notebooks)["reached adulthood", "room"]
    assert float(line["estimate"]) == pytest.approx(
        100 * fitted.cumulative_density_.iloc[-1, 0], abs=0.3
    )
    assert line["n"] == "24"


def test_thresholds_and_thermal_constants(notebooks: list[Notebook]) -> None:
    """The line of Campbell and others, from the points of the analysis, by scipy."""
    cells = cells_of("thermal", notebooks)
    for stage in thermal(notebooks).stages:
        x = np.array([point.temperature for point in stage.points])
        rates = 1 / np.array([point.days for point in stage.points])
        line = stats.linregress(x, rates)
        threshold, constant = -line.intercept / line.slope, 1 / line.slope
        residual = ((rates - line.intercept - line.slope * x) ** 2).sum() / (len(x) - 2)
        spread = residual / (len(x) * rates.mean() ** 2) + (line.stderr / line.slope) ** 2
        se = rates.mean() / line.slope * spread**0.5
        reach = stats.t.ppf(0.975, len(x) - 2)
        t0, k = cells[stage.stage, "T0 (°C)"], cells[stage.stage, "K (degree-days)"]
        assert float(t0["estimate"]) == pytest.approx(threshold)
        assert float(t0["se"]) == pytest.approx(se)
        assert float(t0["low"]) == pytest.approx(threshold - reach * se)
        assert float(t0["high"]) == pytest.approx(threshold + reach * se)
        assert float(k["estimate"]) == pytest.approx(constant)
        assert float(k["se"]) == pytest.approx(line.stderr / line.slope**2)
        assert float(k["high"]) == pytest.approx(constant + reach * line.stderr / line.slope**2)
        assert float(cells[stage.stage, "R²"]["estimate"]) == pytest.approx(line.rvalue**2)
        assert float(cells[stage.stage, "cohorts"]["estimate"]) == 3
