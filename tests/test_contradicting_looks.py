"""Every answer about logs in which anything was said: an answer, with sound bounds and no NaN."""

from datetime import timedelta
from random import Random

import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.present.json import plain
from rearlog.records.log import CohortLog, ConstantTemperature
from tests.analysis.stages.invented_looks import anything_said, numbered
from tests.builders import START, moment, notebook_of, small_profile, tiny_log

PROFILE = small_profile(heat={"egg": 30.0, "L1": 30.0, "L2": 30.0, "L3": 20.0, "pupa": 60.0})
KEPT = (ConstantTemperature(20.0, START.date() - timedelta(1)),)
ANSWERS = (
    *("durations", "heat", "survival", "growth", "progress", "stage_counts", "completeness"),
    "agreement",
)


def a_log(seed: int) -> CohortLog:
    chance = Random(seed)
    lives = {str(row): chance.choice(PROFILE.codes[:4]) for row in range(12)}
    log = tiny_log(lives, profile=PROFILE, laid=(-1.0, 0.0))
    looks = tuple(
        replace(look, entered=look.at)
        for code in lives
        for look in anything_said(chance, code, chance.randint(1, 14), PROFILE)
    )
    log = numbered(replace(log, all_observations=looks))
    return replace(log, all_temperatures=KEPT)


@pytest.mark.parametrize("seed", range(6))
def test_there_is_an_answer(seed: int) -> None:
    notebook = notebook_of(a_log(seed))
    history = notebook.event_history
    assert len(history.doubts) > 5
    passed = ~np.isnan(history.into_high)
    assert (history.into_low[passed] <= history.into_high[passed]).all()
    assert (history.last_in_stage <= history.last_alive).all()
    for answer in ANSWERS:
        plain(getattr(notebook, answer)())
    for answer in ("forecast", "due", "forecast_review"):
        plain(getattr(notebook, answer)(as_of=moment(15)))
