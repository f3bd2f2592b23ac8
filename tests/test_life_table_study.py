"""A life-table study at three temperatures: every number that its results section has, worked out
again from the cohort files alone, by code that shares none with the project.

The files are read as plain JSON; ages, eggs and deaths are laid on days by loops over individuals,
roots are found by scipy, growth by the largest eigenvalue of a matrix of Leslie (1945).
"""

import json
import math
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from scipy.optimize import brentq
from statsmodels.stats.proportion import proportion_confint

from rearlog.cli.main import main

SAMPLES = Path(__file__).parents[1] / "sample_cohorts" / "life_table"
NAMES = ("dock-19", "dock-22", "dock-25")
ROWS = {"R0", "r", "lambda", "T", "Tc", "doubling_days", "gross_rate", "life_expectancy"}


@dataclass
class Life:
    """One beetle: ages in days since the middle of the time in which its egg was laid."""

    died: bool = False
    end: float = 0.0
    adult: float | None = None
    sex: str | None = None
    followed: int = 0
    hatched: int = 0
    laid: list[tuple[float, float, int]] = field(default_factory=list)
    """Between which ages how many eggs were laid."""

    def eggs_on(self, x: int) -> float:
        """The eggs of the day from age x to x + 1."""
        found = 0.0
        for after, by, eggs in self.laid:
            within = min(by, x + 1) - max(after, x)
            if within > 0:
                found += eggs * within / (by - after)
        return found

    def watched_on(self, x: int) -> bool:
        """Whether it was alive at age x, and it is known how it fared until x + 1."""
        return x < self.end if self.died else x + 1 <= self.end

    def dies_on(self, x: int) -> bool:
        return self.died and x < self.end <= x + 1


def days(text: str) -> float:
    return datetime.fromisoformat(text).timestamp() / 86_400


def lives(name: str) -> list[Life]:
    file = json.loads((SAMPLES / f"{name}.json").read_text(encoding="utf-8"))
    looks: dict[str, list[dict[str, Any]]] = {}
    for each in file["observations"].values():
        looks.setdefault(each["individual"], []).append(each)
    found = []
    for beetle in file["individuals"].values():
        zero = (days(beetle["laid_after"]) + days(beetle["laid_by"])) / 2
        life, before, stage = Life(), days(beetle["entered_at"]), "egg"
        for look in sorted(looks[beetle["code"]], key=lambda look: look["at"]):
            at = days(look["at"])
            life.sex = look.get("sex", life.sex)
            life.hatched += look.get("hatched", 0)
            life.followed += look.get("eggs", 0)
            since = before
            if look.get("stage") == "adult" and stage != "adult":
                life.adult = round((before + at) / 2 - zero, 6)
            fate = look.get("fate")
            until = at
            if fate == "dead" and not life.died:
                until = (before + at) / 2
                life.died, life.end = True, round(until - zero, 6)
            elif fate is None:
                life.end = round(at - zero, 6)
            if look.get("eggs") and life.adult is not None:
                since = max(since, life.adult + zero)
                life.laid.append((round(since - zero, 6), round(until - zero, 6), look["eggs"]))
            stage, before = look.get("stage", stage), at
        found.append(life)
    return found


@dataclass
class Days:
    """What became of each beetle on each day of age, (n, X): was it watched, did it die, which part
    of the day did it live, and how many eggs did it lay."""

    watched: np.ndarray
    dies: np.ndarray
    lived: np.ndarray
    eggs: np.ndarray


def laid_on_days(beetles: list[Life]) -> Days:
    last = math.ceil(max(life.end for life in beetles))
    seen = [[life.watched_on(x) for x in range(last)] for life in beetles]
    return Days(
        np.array(seen, dtype=float),
        np.array([[life.dies_on(x) for x in range(last)] for life in beetles], dtype=float),
        np.array([[min(1.0, max(0.0, life.end - x)) for x in range(last)] for life in beetles]),
        np.array([[life.eggs_on(x) for x in range(last)] for life in beetles]),
    )


def table(days_of: Days, weights: np.ndarray | None = None) -> dict[str, float]:
    """The measures of a population, of both sexes together, by days of age."""
    weights = np.ones(len(days_of.watched)) if weights is None else weights
    alive, l_x, m_x, lived = 1.0, [], [], 0.0
    for x in range(days_of.watched.shape[1]):
        here = weights * days_of.watched[:, x]
        n = here.sum()
        l_x.append(alive)
        m_x.append(here @ days_of.eggs[:, x] / n if n else 0.0)
        if n:
            lived += alive * (here @ days_of.lived[:, x]) / n
            alive *= 1 - here @ days_of.dies[:, x] / n
    ages = np.arange(len(l_x)) + 0.5
    born = np.array(l_x) * np.array(m_x)
    r0 = float(born.sum())
    r = brentq(lambda r: float((np.exp(-r * ages) * born).sum()) - 1, -2, 2)
    return {
        "R0": r0,
        "r": r,
        "lambda": math.exp(r),
        "T": math.log(r0) / r,
        "Tc": float((ages * born).sum()) / r0,
        "doubling_days": math.log(2) / r,
        "gross_rate": float(sum(m_x)),
        "life_expectancy": float(lived),
        "growth": largest_eigenvalue(np.array(l_x), np.array(m_x)),
    }


def largest_eigenvalue(l_x: np.ndarray, m_x: np.ndarray) -> float:
    """Of the matrix of Leslie for the ages 1, 2 …, counted just before eggs are laid: the root λ of
    Σ λ^−x·l_x·m_x = 1."""
    size = int((l_x > 0).sum()) - 1
    matrix = np.zeros((size, size))
    matrix[0] = l_x[1] * m_x[1 : size + 1]
    for place in range(size - 1):
        matrix[place + 1, place] = l_x[place + 2] / l_x[place + 1]
    return float(np.abs(np.linalg.eigvals(matrix)).max())


def answer(*words: str) -> Any:
    environment = {"REARLOG_DIR": str(SAMPLES)}
    done = CliRunner().invoke(main, [*words, "--format", "json"], env=environment)
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


@pytest.fixture(scope="module")
def told() -> dict[str, Any]:
    return {each["cohort"]: each for each in answer("reproduction", *NAMES)["cohorts"]}


def figures(cohort: Any, of: str = "estimates") -> dict[str, dict[str, Any]]:
    return {each["measure"]: each for each in cohort[of]}


@pytest.mark.parametrize("name", NAMES)
def test_the_population_figures(name: str, told: dict[str, Any]) -> None:
    again = table(laid_on_days(lives(name)))
    shown = figures(told[name])
    for measure in ROWS:
        assert shown[measure]["estimate"] == pytest.approx(again[measure], rel=1e-7), measure
    # where nobody is lost, that is what every egg was followed by: the mean over all eggs
    beetles = lives(name)
    if all(life.died for life in beetles):
        mean = sum(eggs for life in beetles for *_, eggs in life.laid) / len(beetles)
        assert shown["R0"]["estimate"] == pytest.approx(mean)
        ends = [life.end for life in beetles]
        assert shown["life_expectancy"]["estimate"] == pytest.approx(np.mean(ends))


@pytest.mark.parametrize("name", NAMES)
def test_growth_is_the_largest_eigenvalue_of_a_leslie_matrix(name: str) -> None:
    cohort = answer("reproduction", name, "--eggs-at", "x")
    assert figures(cohort)["lambda"]["estimate"] == pytest.approx(
        table(laid_on_days(lives(name)))["growth"]
    )


@pytest.mark.parametrize("name", NAMES)
def test_mothers_adults_and_eggs(name: str, told: dict[str, Any]) -> None:
    beetles, shown = lives(name), figures(told[name])
    females = [life for life in beetles if life.sex == "f" and life.adult is not None]
    males = [life for life in beetles if life.sex == "m" and life.adult is not None]
    layers = [life for life in females if life.laid]
    assert (told[name]["females"], told[name]["males"]) == (len(females), len(males))
    assert told[name]["layers"] == len(layers)
    assert told[name]["eggs"] == sum(eggs for life in beetles for *_, eggs in life.laid)
    until_first = [(min(life.laid)[0] + min(life.laid)[1]) / 2 for life in layers]
    adult = [life.adult or 0.0 for life in layers]
    assert shown["total_preoviposition_days"]["estimate"] == pytest.approx(np.mean(until_first))
    gap = np.mean(np.array(until_first) - adult)
    assert shown["preoviposition_days"]["estimate"] == pytest.approx(gap)
    laying = [sum(by - after for after, by, _ in life.laid) for life in layers]
    assert shown["oviposition_days"]["estimate"] == pytest.approx(np.mean(laying))
    if all(life.died for life in beetles):
        per_female = np.mean([sum(eggs for *_, eggs in life.laid) for life in females])
        assert shown["eggs_per_female"]["estimate"] == pytest.approx(per_female)
        for sex, row in ((females, "female_adult_days"), (males, "male_adult_days")):
            lived = np.mean([life.end - (life.adult or 0.0) for life in sex])
            assert shown[row]["estimate"] == pytest.approx(lived)
    share = shown["female_share"]
    limits = proportion_confint(len(females), len(females) + len(males), method="wilson")
    assert share["estimate"] == pytest.approx(len(females) / (len(females) + len(males)))
    assert (share["low"], share["high"]) == pytest.approx(limits)
    followed = [life for life in beetles if life.hatched]
    hatched = sum(life.hatched for life in followed) / sum(life.followed for life in followed)
    assert shown["hatch_share"]["estimate"] == pytest.approx(hatched)


@pytest.mark.parametrize("name", NAMES)
def test_standard_errors_and_limits_are_those_of_a_plain_bootstrap(
    name: str, told: dict[str, Any]
) -> None:
    """400 resamples have an error of a standard error of 1/√800, 3.5 %; four times that is held."""
    days_of, rng = laid_on_days(lives(name)), np.random.default_rng(7)
    n = len(days_of.watched)
    drawn = [table(days_of, np.bincount(rng.integers(0, n, n), minlength=n)) for _ in range(400)]
    shown = figures(told[name])
    for measure in ("R0", "r", "lambda", "T", "Tc", "life_expectancy"):
        spread = np.std([each[measure] for each in drawn], ddof=1)
        assert shown[measure]["se"] == pytest.approx(spread, rel=0.15), measure
        middle = np.percentile([each[measure] for each in drawn], [2.5, 97.5])
        # bias-corrected limits are not percentiles, but here they lie close by
        low, high = shown[measure]["low"], shown[measure]["high"]
        assert abs(low - middle[0]) < spread
        assert abs(high - middle[1]) < spread
