"""What forecasts are worth: the emergence of simulated cohorts beside what was forecast of it.

Run it with: python -m tests.benchmarks.forecast [COHORTS]
The contract: over 500 simulated cohorts, forecasts made when the median individual is in the
middle of the larva hold 85 to 95 % of the eclosions in their windows of 90 %, and the likely day
is within 10 % of the time still to go on average; a forecast for 1000 takes well under a second.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from rearlog.analysis.forecasting.forecast import forecast
from rearlog.analysis.forecasting.forecast_model import forecast_model
from rearlog.species.catalogue import find
from tests.analysis.forecast_trials import (
    EGGS,
    Weather,
    middle_of_the_larva,
    simulated,
    steady,
    trial,
    window_sill,
)
from tests.analysis.grown_apart import SETTINGS, grown


def main() -> None:
    cohorts = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    kinds: dict[str, tuple[str, Weather, bool]] = {
        "painted lady, 22 °C": ("painted-lady", steady(22.0), False),
        "painted lady, 22 °C, cohorts differ": ("painted-lady", steady(22.0), True),
        "painted lady, window sill, cohorts differ": ("painted-lady", window_sill(22.0), True),
        "silkworm, 24 °C": ("silkworm", steady(24.0), False),
        "silkworm, 24 °C, cohorts differ": ("silkworm", steady(24.0), True),
        "monarch, window sill": ("monarch", window_sill(24.0), False),
    }
    print(f"{cohorts} cohorts of {EGGS} eggs; windows of 90 %, forecast in the middle of the larva")
    for name, (species, weather, differs) in kinds.items():
        profile, begin = find(species), time.perf_counter()
        outcomes = [
            trial(simulated(profile, weather, seed, differs=differs)) for seed in range(cohorts)
        ]
        held = sum(each.inside for each in outcomes) / sum(each.eclosions for each in outcomes)
        off = np.mean([each.off for each in outcomes])
        median_off = np.mean([each.median_off for each in outcomes])
        print(
            f"{name:42} in the window {held:.1%}; likely day off by {off:.1%} of the time to go, "
            f"the cohort's median by {median_off:.1%}  ({time.perf_counter() - begin:.0f} s)"
        )
    for name, setting in SETTINGS.items():
        found = [
            held(grown(find("painted-lady"), setting.room, seed, setting.own_cv))
            for seed in range(cohorts)
        ]
        share = sum(each.inside for each in found) / sum(each.eclosions for each in found)
        wide = np.mean([each.days for each in found])
        print(f"{name:42} in the window {share:.1%}, {wide:.1f} days wide")
    for eggs in (EGGS, 1000):
        made = simulated(find("painted-lady"), steady(22.0), 0, eggs=eggs)
        begin = time.perf_counter()
        forecast(forecast_model(made.log, middle_of_the_larva(made)))
        print(f"a forecast for {eggs} individuals takes {time.perf_counter() - begin:.3f} s")


if __name__ == "__main__":
    main()
