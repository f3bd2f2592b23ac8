"""What windows hold of cohorts whose lives are drawn without any of rearlog's arithmetic."""

import os
from datetime import timedelta

import numpy as np
import pytest

from rearlog.analysis.forecasting.forecast import forecast
from rearlog.analysis.forecasting.forecast_model import forecast_model
from rearlog.species.catalogue import find
from tests.analysis.grown_apart import LAID, SETTINGS, grown, held, room

COHORTS = int(os.environ.get("REARLOG_COHORTS", "60"))
LADY = find("painted-lady")


@pytest.mark.slow
@pytest.mark.parametrize("name", SETTINGS)
def test_windows_hold_what_they_say(name: str) -> None:
    """85 to 95 %, with room for the chance of so few cohorts: they hold or miss together."""
    setting = SETTINGS[name]
    found = [held(grown(LADY, setting.room, seed, setting.own_cv)) for seed in range(COHORTS)]
    share = sum(each.inside for each in found) / sum(each.eclosions for each in found)
    wide = np.mean([each.days for each in found])
    print(f"{name}: {share:.1%} of eclosions in windows of {wide:.1f} days ({COHORTS} cohorts)")
    by_chance = 2 * np.std([each.inside / each.eclosions for each in found]) / COHORTS**0.5
    assert 0.85 - by_chance < share < 0.95 + by_chance
    assert wide < 2.2 * setting.knowing


@pytest.mark.slow
def test_a_window_of_eighty_percent_holds_less_and_is_narrower() -> None:
    shares, widths = [], []
    for seed in range(COHORTS // 2):
        made = grown(LADY, room(22.0), seed, 0.12)
        both = [held(made, window=part) for part in (0.8, 0.9)]
        shares.append([each.inside / each.eclosions for each in both])
        widths.append([each.days for each in both])
    eighty, ninety = np.mean(shares, axis=0)
    assert 0.74 < eighty < 0.88 < ninety + 0.03
    assert np.mean(widths, axis=0)[0] < np.mean(widths, axis=0)[1] - 0.5


@pytest.mark.slow
def test_past_cohorts_of_a_slow_place_make_early_forecasts_better() -> None:
    """Three past cohorts were 12 % slow and uneven; of the next one only eggs have been seen."""
    off = []
    for seed in range(12):
        past = [
            grown(LADY, room(22.0), 100 * seed + k, 0.15, at=1.12, laid=LAID - timedelta(200)).log
            for k in range(3)
        ]
        made = grown(LADY, room(22.0), seed, 0.15, at=1.12)
        as_of = LAID + timedelta(days=2, hours=10)
        came = float(np.median(made.into[:, -1]))
        likely = [
            forecast(forecast_model(made.log, as_of, past=each)).events[-1].likely
            for each in ((), past)
        ]
        off.append([abs((day - LAID.date()).days + 0.5 - came) for day in likely if day])
    without, experienced = np.mean(off, axis=0)
    print(f"off by {without:.1f} days without past cohorts, by {experienced:.1f} with three")
    assert experienced < 0.7 * without
