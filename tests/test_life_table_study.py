"""The invented study of three temperatures, worked out anew from its files by other means."""

from __future__ import annotations

import json
import math
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas
import pytest
from lifelines import KaplanMeierFitter
from scipy import stats
from scipy.optimize import brentq

from rearlog.analysis.reproduction.estimates import Measure
from rearlog.analysis.reproduction.reproduction import Reproduction
from rearlog.notebook import Notebook, thermal

FOLDER = Path(__file__).parents[1] / "sample_cohorts" / "life_table"
NAMES = ("dock-19", "dock-22", "dock-25")


@cache
def answer(name: str) -> Reproduction:
    return Notebook(FOLDER / f"{name}.json").reproduction()


@cache
def histories(name: str) -> pandas.DataFrame:
    """A row an individual, from the file as it is: days since the egg was laid, its sex, counts of
    eggs as (after, by, number), eggs hatched."""
    tables = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    looks = pandas.DataFrame(tables["observations"].values())
    looks["at"] = pandas.to_datetime(looks["at"], utc=True)
    for column in ("eggs", "hatched", "sex", "fate"):
        looks[column] = looks.get(column)
    rows: list[dict[str, Any]] = []
    for each in tables["individuals"].values():
        bounds = [pandas.Timestamp(each[key]) for key in ("laid_after", "laid_by")]
        zero = bounds[0] + (bounds[1] - bounds[0]) / 2
        own = looks[looks["individual"] == each["code"]].sort_values("at")
        days = [(at - zero).total_seconds() / 86400 for at in own["at"]]
        days = [(pandas.Timestamp(each["entered_at"]) - zero).total_seconds() / 86400, *days]
        fates, stages = [None, *own["fate"]], ["egg", *own["stage"]]
        end = next(n for n, fate in enumerate(fates) if isinstance(fate, str))
        died = fates[end] == "dead"
        until = (days[end - 1] + days[end]) / 2 if died else days[end - 1]
        grown = next((n for n, stage in enumerate(stages) if stage == "adult"), None)
        adult = None if grown is None else (days[grown - 1] + days[grown]) / 2
        counts = [
            (max(days[n - 1], adult or 0), min(days[n], until), float(eggs))
            for n, eggs in enumerate([0, *own["eggs"].fillna(0)])
            if eggs
        ]
        told = own["sex"].dropna()
        rows.append(
            {
                "until": until,
                "died": died,
                "adult": adult,
                "sex": told.iloc[0] if len(told) else None,
                "counts": counts,
                "eggs": sum(number for *_, number in counts),
                "hatched": own["hatched"].fillna(0).sum(),
            }
        )
    return pandas.DataFrame(rows)


def schedule(found: pandas.DataFrame) -> tuple[list[float], list[float]]:
    """l_x by lifelines, and the eggs of each day for each egg at the start."""
    ends = np.where(found["died"], np.ceil(found["until"]), np.floor(found["until"]))
    curve = KaplanMeierFitter().fit(ends, found["died"])
    alive, born = [], []
    for x in range(math.ceil(found["until"].max())):
        watched = found[ends > x]
        eggs = sum(
            number * max(0.0, min(by, x + 1) - max(after, x)) / (by - after)
            for counts in watched["counts"]
            for after, by, number in counts
        )
        alive.append(float(curve.predict(x)))
        born.append(alive[-1] * eggs / len(watched) if len(watched) else 0.0)
    return alive, born


@pytest.mark.parametrize("name", NAMES)
def test_survival_eggs_and_growth_are_those_of_the_file(name: str) -> None:
    found, told = histories(name), answer(name)
    alive, born = schedule(found)
    assert [day.l for day in told.life_table] == pytest.approx(alive)
    assert [day.lm for day in told.life_table] == pytest.approx(born)
    r0 = math.fsum(born)
    r = brentq(
        lambda rate: math.fsum(e * math.exp(-rate * (x + 0.5)) for x, e in enumerate(born)) - 1,
        *(-1.0, 1.0),
    )
    ages = math.fsum(e * (x + 0.5) for x, e in enumerate(born)) / r0
    gross = math.fsum(e / part for e, part in zip(born, alive, strict=True) if part)
    for measure, value in {
        Measure.R0: r0,
        Measure.RATE: r,
        Measure.FINITE_RATE: math.exp(r),
        Measure.GENERATION: math.log(r0) / r,
        Measure.COHORT_GENERATION: ages,
        Measure.DOUBLING: math.log(2) / r,
        Measure.GROSS_RATE: gross,
    }.items():
        assert told.of(measure).estimate == pytest.approx(value), measure
    assert told.eggs == found["eggs"].sum()
    if found["died"].all():
        assert r0 == pytest.approx(found["eggs"].sum() / len(found))
        assert told.of(Measure.LIFE).estimate == pytest.approx(found["until"].mean())


@pytest.mark.parametrize("name", NAMES)
def test_means_of_adults_are_those_of_the_file(name: str) -> None:
    found, told = histories(name), answer(name)
    females, males = found[found["sex"] == "f"], found[found["sex"] == "m"]
    assert females["died"].all()
    laid = females[females["eggs"] > 0]
    first = pandas.Series([sum(counts[0][:2]) / 2 for counts in laid["counts"]], laid.index)
    days = pandas.Series(
        [sum(by - after for after, by, _ in counts) for counts in laid["counts"]], laid.index
    )
    expected = {
        Measure.PRE_LAYING: first - laid["adult"],
        Measure.TO_FIRST_EGGS: first,
        Measure.LAYING: days,
        Measure.EGGS: females["eggs"],
        Measure.FEMALE_DAYS: females["until"] - females["adult"],
        Measure.MALE_DAYS: males["until"] - males["adult"],
    }
    for measure, values in expected.items():
        one = told.of(measure)
        assert one.n == len(values), measure
        assert one.estimate == pytest.approx(values.astype(float).mean()), measure
        assert one.se == pytest.approx(values.astype(float).sem(), rel=0.12), measure
        assert one.low < one.estimate < one.high
    assert told.of(Measure.EGGS_A_DAY).estimate == pytest.approx(laid["eggs"].sum() / days.sum())
    hatch = told.of(Measure.HATCH_SHARE)
    assert hatch.estimate == pytest.approx(laid["hatched"].sum() / laid["eggs"].sum())
    share = told.of(Measure.FEMALE_SHARE)
    sexed = len(females) + len(males)
    limits = stats.binomtest(len(females), sexed).proportion_ci(method="wilson")
    assert (share.estimate, share.low, share.high) == pytest.approx(
        (len(females) / sexed, limits.low, limits.high)
    )


def test_errors_of_r_are_those_of_resampling_the_file() -> None:
    """500 resamples of whole lives, one after the other, with a root finder each."""
    found, told = histories("dock-25"), answer("dock-25")
    assert found["died"].all()
    days = math.ceil(found["until"].max())
    each = np.zeros((len(found), days))
    for row, counts in enumerate(found["counts"]):
        for after, by, number in counts:
            for x in range(int(after), math.ceil(by)):
                each[row, x] += number * (min(by, x + 1) - max(after, x)) / (by - after)
    rng = np.random.default_rng(5)
    middles = np.arange(days) + 0.5
    drawn = []
    for _ in range(500):
        born = each[rng.integers(0, len(found), len(found))].mean(axis=0)
        drawn.append(brentq(lambda r, b=born: (b * np.exp(-r * middles)).sum() - 1, -1, 1))
    rate = told.of(Measure.RATE)
    assert rate.se == pytest.approx(np.std(drawn, ddof=1), rel=0.12)
    low, high = np.quantile(drawn, [0.025, 0.975])
    assert (rate.low, rate.high) == pytest.approx((low, high), abs=0.004)


STAGES = ("egg", "L1", "L2", "L3", "pupa", "adult")


@cache
def courses(name: str) -> list[tuple[list[tuple[float, float] | None], str | None]]:
    """Of each individual between which two looks it came into each stage, in days since its egg was
    laid, as far as it came; and its last fate."""
    tables = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    looks = pandas.DataFrame(tables["observations"].values())
    looks["at"] = pandas.to_datetime(looks["at"], utc=True)
    found = []
    for each in tables["individuals"].values():
        after, by = (pandas.Timestamp(each[key]) for key in ("laid_after", "laid_by"))
        zero, before = after + (by - after) / 2, pandas.Timestamp(each["entered_at"])
        into: dict[str, tuple[float, float]] = {"egg": (0.0, 0.0)}
        fate = None
        for look in looks[looks["individual"] == each["code"]].sort_values("at").itertuples():
            if look.stage in STAGES and look.stage not in into:
                bounds = ((at - zero).total_seconds() / 86400 for at in (before, look.at))
                into[look.stage] = (*bounds,)
            fate = look.fate if isinstance(look.fate, str) and fate is None else fate
            before = look.at
        found.append(([into.get(stage) for stage in STAGES], fate))
    return found


@pytest.mark.parametrize("name", NAMES)
def test_days_and_deaths_in_each_stage_are_those_of_the_file(name: str) -> None:
    notebook = Notebook(FOLDER / f"{name}.json")
    days = {each.stage: each for each in notebook.durations().stages}
    deaths = {each.stage: each for each in notebook.survival().stage_table}
    for place, stage in enumerate(STAGES[:-1]):
        entered = [(into, fate) for into, fate in courses(name) if into[place]]
        passed = [
            np.mean(after) - np.mean(before)
            for before, after in (into[place : place + 2] for into, _ in entered)
            if before is not None and after is not None
        ]
        died = [fate for into, fate in entered if not into[place + 1] and fate == "dead"]
        assert days[stage].completed == len(passed)
        assert days[stage].mean == pytest.approx(np.mean(passed), abs=1e-6), stage
        assert (deaths[stage].entered, deaths[stage].died) == (len(entered), len(died))
        if len(passed) + len(died) == len(entered):
            assert deaths[stage].q == pytest.approx(len(died) / len(entered))
            limits = stats.binomtest(len(died), len(entered)).proportion_ci(method="wilson")
            assert (deaths[stage].q_low, deaths[stage].q_high) == pytest.approx(
                (limits.low, limits.high), abs=1e-9
            )
    grown = sum(into[-1] is not None for into, _ in courses(name))
    reached = notebook.survival().reached
    assert reached.reached == grown
    if all(fate == "dead" for _, fate in courses(name)):
        assert reached.fraction == pytest.approx(grown / len(courses(name)))


def test_the_threshold_is_that_of_a_straight_line_through_the_rates() -> None:
    """By scipy, from the mean days from egg to adult of the file: those of all, which the tool
    takes, lie close to those of the grown alone."""
    rates = []
    for name in NAMES:
        grown = [np.mean(into[-1]) for into, _ in courses(name) if into[-1]]
        rates.append(1 / np.mean(grown))
    line = stats.linregress([19.0, 22.0, 25.0], rates)
    whole = next(
        each
        for each in thermal([Notebook(FOLDER / f"{name}.json") for name in NAMES]).stages
        if each.stage == "egg to adult"
    )
    assert whole.linear is not None
    assert whole.linear.threshold == pytest.approx(-line.intercept / line.slope, abs=0.15)
    assert whole.linear.constant == pytest.approx(1 / line.slope, rel=0.02)
