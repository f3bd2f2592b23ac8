"""The answers of `answers_here.py` as one would write them with pandas and lifelines.

Run it with a cohort file; it prints JSON. It takes the shortcuts that a made log allows: all began
as eggs, no stage is optional, nothing is struck out, nobody was lost, the logger never stopped.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from lifelines import KaplanMeierFitter

OPEN = 1e-6
"""Days. lifelines takes intervals to be closed; the check before an event is not in them."""
DAY = pd.Timedelta(days=1)


def main() -> None:
    tables = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
    cohort = tables["cohort"]["1"]
    stages = [stage["code"] for stage in cohort["species"]["stages"]]
    zero = pd.Timestamp(cohort["started"])
    individuals = pd.DataFrame(tables["individuals"].values()).set_index("code")
    checks = pd.DataFrame(tables["observations"].values())
    checks["day"] = (pd.to_datetime(checks["at"]) - zero) / DAY
    checks["rank"] = checks["stage"].map({stage: rank for rank, stage in enumerate(stages)})
    checks = checks.sort_values(["individual", "day"])
    alive, dead = checks[checks["fate"].isna()], checks[checks["fate"] == "dead"]
    last_alive = alive.groupby("individual")["day"].last().reindex(individuals.index).fillna(0.0)
    died = dead.set_index("individual")["day"].reindex(individuals.index)
    low, high = passages(alive, individuals, stages, zero)
    heat = running_heat(tables["temperatures"]["1"], cohort["species"], zero)
    print(
        json.dumps(
            {
                "durations": {
                    stage: duration(low, high, last_alive, rank, heat)
                    for rank, stage in enumerate(stages[:-1])
                },
                "kaplan_meier": kaplan_meier(died, last_alive),
                "deaths": deaths(dead, alive, stages),
            }
        )
    )


def passages(
    alive: pd.DataFrame, individuals: pd.DataFrame, stages: list[str], zero: pd.Timestamp
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Between which days each individual passed into each stage."""
    low, high = {}, {}
    low[0] = (pd.to_datetime(individuals["laid_after"]) - zero) / DAY
    high[0] = (pd.to_datetime(individuals["laid_by"]) - zero) / DAY
    for rank in range(1, len(stages)):
        there = alive["rank"] >= rank
        high[rank] = alive[there].groupby("individual")["day"].first()
        before = alive[~there].groupby("individual")["day"].last()
        low[rank] = before.reindex(high[rank].index).fillna(0.0)
    return pd.DataFrame(low, index=individuals.index), pd.DataFrame(high, index=individuals.index)


def duration(
    low: pd.DataFrame,
    high: pd.DataFrame,
    last_alive: pd.Series,
    rank: int,
    heat: tuple[np.ndarray, np.ndarray],
) -> dict[str, Any]:
    """The days in one stage: of those who completed it, and by the NPMLE of all who entered."""
    entered = high[rank].notna()
    begin, end = (low[rank] + high[rank]) / 2, (low[rank + 1] + high[rank + 1]) / 2
    days = (end - begin)[entered].dropna()
    least = (low[rank + 1].fillna(last_alive) - high[rank]).clip(lower=0)[entered]
    most = (high[rank + 1] - low[rank])[entered].fillna(np.inf)
    fitter = KaplanMeierFitter().fit_interval_censoring(least + OPEN, most)
    upper = fitter.survival_function_.iloc[:, -1]
    warmth = np.interp(end.dropna(), *heat) - np.interp(begin[end.notna()], *heat)
    return {
        "n": len(days),
        "mean": days.mean(),
        "sd": days.std(),
        "median": days.median(),
        "half_by": float(upper.index[(upper <= 0.5 + 1e-6).argmax()]),
        "degree_days": warmth.mean(),
        "degree_days_sd": warmth.std(ddof=1),
    }


def running_heat(
    readings: dict[str, Any], species: dict[str, Any], zero: pd.Timestamp
) -> tuple[np.ndarray, np.ndarray]:
    """Days, and the degree-days until then; no reading of a made log is beyond a threshold."""
    lower = species["lower"]["value"]
    begin = (pd.Timestamp(readings["at"]) - zero) / DAY
    day = begin + np.array(readings["seconds"]) / 86_400
    above = np.array(readings["celsius"]) - lower
    steps = (above[1:] + above[:-1]) / 2 * np.diff(day)
    return day, np.append(0.0, np.cumsum(steps))


def kaplan_meier(died: pd.Series, last_alive: pd.Series) -> list[list[float]]:
    """By day: how many were at risk, the survival, and Greenwood's standard error."""
    days = died.fillna(last_alive)
    fitter = KaplanMeierFitter().fit(days, died.notna())
    survival = fitter.survival_function_.iloc[:, 0]
    at_risk, deaths = fitter.event_table["at_risk"], fitter.event_table["observed"]
    spread = np.sqrt((deaths / (at_risk * (at_risk - deaths))).cumsum())
    rows = zip(survival.index, at_risk, survival, survival * spread, strict=True)
    return [[float(value) for value in row] for row in rows]


def deaths(dead: pd.DataFrame, alive: pd.DataFrame, stages: list[str]) -> dict[str, int]:
    """How many died in each stage."""
    last = alive.groupby("individual")["rank"].max().reindex(dead["individual"]).fillna(0)
    counts = last.astype(int).value_counts()
    return {stage: int(counts.get(rank, 0)) for rank, stage in enumerate(stages)}


if __name__ == "__main__":
    main()
