"""The mortality of stages and the part that reaches the end, with losses and with some waiting."""

import numpy as np
import pytest
from lifelines import AalenJohansenFitter
from statsmodels.stats.proportion import proportion_confint

from rearlog.analysis.stages.events import event_history
from rearlog.analysis.survival.survival import StageSurvival, Survival, survival
from rearlog.sentences.survival import share_reached, title, words
from tests.builders import tiny_log
from tests.invented_histories import Floats, looked_at


def answer(lives: list[str], *span: str) -> Survival:
    log = tiny_log({str(n): line for n, line in enumerate(lives)})
    return survival("tiny", event_history(log), *span)


def row_of(result: Survival, stage: str) -> StageSurvival:
    return next(each for each in result.stage_table if each.stage == stage)


def invented(
    rng: np.random.Generator, n: int, losses: float, deaths: tuple[float, float, float]
) -> tuple[Floats, Floats, Floats]:
    """Passages through three stages and into the adult, deaths in each with the given chances, and
    losses at a steady rate of which `losses` is the part of those that would have lived on. Deaths
    are rare just after a molt: found dead before a look showed the new stage, they would count in
    the one before."""
    takes = rng.gamma(20, (0.2, 0.25, 0.4), (n, 3))
    passages = np.column_stack((np.zeros(n), takes.cumsum(axis=1)))
    dies = rng.random((n, 3)) < deaths
    which = np.where(dies.any(axis=1), dies.argmax(axis=1), 3)
    at = passages[np.arange(n), which] + np.where(
        which < 3, takes[np.arange(n), np.minimum(which, 2)] * rng.beta(4, 4, n), np.inf
    )
    rate = -np.log(1 - losses) / 17 if losses else 0.0
    lost = rng.exponential(1 / rate, n) if rate else np.full(n, np.inf)
    return passages, at, np.where(lost < passages[:, 3], lost, np.inf)


@pytest.mark.parametrize("seed", range(4))
def test_mortality_of_a_stage_is_that_of_a_reference_library(seed: int) -> None:
    """Reference: lifelines.AalenJohansenFitter. It takes no ties and so is asked twice, each time
    without rounding: looks so dense that no two events fall between the same two."""
    rng = np.random.default_rng(seed)
    passages, death, lost = invented(rng, 60, 0.3, (0.1, 0.2, 0.15))
    result = survival("a", looked_at(passages, death, lost, every=1e-5, last=60))
    end = np.minimum(death, lost)
    for place, stage in enumerate(("egg", "L1", "L2")):
        here = passages[:, place] < end
        until = np.minimum(passages[:, place + 1], end)[here]
        ended = np.where(passages[:, place + 1] < end, 2, np.where(death < lost, 1, 0))[here]
        fitted = AalenJohansenFitter().fit(until - passages[here, place], ended, 1)
        row = row_of(result, stage)
        share = float(fitted.cumulative_density_.iloc[-1, 0])
        assert row.q_least == pytest.approx(share, abs=1e-3)
        if row.q is not None:
            assert row.q == row.q_least == row.q_most
    reached = result.reached
    ended = np.where(passages[:, 3] < end, 1, np.where(death < lost, 2, 0))
    whole = AalenJohansenFitter().fit(np.minimum(passages[:, 3], end), ended, 1)
    assert reached.fraction == pytest.approx(float(whole.cumulative_density_.iloc[-1, 0]), abs=1e-3)


def test_three_dead_and_many_waiting_are_no_certain_death() -> None:
    """By hand: 3 of 24 died, 21 are still eggs: between 3/24 and all of them will have."""
    result = answer(["egg egg dead"] * 3 + ["egg egg egg egg"] * 21)
    row = row_of(result, "egg")
    assert (row.died, row.in_stage, row.q, row.k) == (3, 21, None, None)
    assert (row.q_least, row.q_most) == pytest.approx((3 / 24, 1))
    assert row.q_low == pytest.approx(proportion_confint(3, 24, method="wilson")[0])  # statsmodels
    assert (row.q_high, row.k_high) == (1, None)
    assert (result.K, result.K_high, result.reached.reached) == (None, None, 0)
    assert words(result)[0] == "Nobody has reached adulthood yet; 21 are alive."


def test_some_waiting_leave_a_range_and_limits_around_it() -> None:
    """By hand: of 10 pupae 6 became adult, 2 died, 2 are pupae: 60 to 80 % reach adulthood."""
    result = answer(["pupa adult"] * 6 + ["pupa dead"] * 2 + ["pupa pupa"] * 2)
    found, row = result.reached, row_of(result, "pupa")
    assert (row.q, row.q_least, row.q_most) == (None, pytest.approx(0.2), pytest.approx(0.4))
    assert (found.fraction, found.most) == (pytest.approx(0.6), pytest.approx(0.8))
    low, high = (proportion_confint(k, 10, method="wilson") for k in (6, 8))
    assert (found.low, found.high) == pytest.approx((low[0], high[1]))
    assert (result.K, result.K_low) == (None, pytest.approx(-np.log10(high[1])))
    assert words(result)[0] == (
        "So far 60 % reached adulthood, and up to 80 % may: 6 did, 2 died and 2 are alive "
        "(95 % interval 31 to 94 %)."
    )
    assert share_reached(found) == "60 to 80 %"


def test_losses_count_as_long_as_they_were_watched_everywhere_alike() -> None:
    """By hand: one of four is lost before the last two come to an end, so that one death of them
    stands for half of what is left: 3/4 × 1/2 live on, not the half of those whose end is known."""
    result = answer(["pupa dead", "pupa pupa lost", "pupa pupa dead", "pupa pupa adult"])
    assert row_of(result, "pupa").q == pytest.approx(1 - 3 / 8)
    assert result.reached.fraction == pytest.approx(3 / 8)
    assert pytest.approx(-np.log10(3 / 8)) == result.K
    said = "38 % reached adulthood: 1 did, 2 died and 1 was lost or taken out on the way"
    assert title([result]) == said
    assert words(result)[0].startswith(said)


def test_the_last_being_lost_leaves_the_end_open() -> None:
    result = answer(["pupa adult", "pupa adult", "pupa dead", "pupa pupa lost"])
    assert words(result)[0].startswith(
        "Between 50 and 75 % reached adulthood: 2 did, 1 died and 1 was lost or taken out"
    )
    assert result.K is None


def test_k_add_up_to_the_K_of_all_where_nobody_is_lost() -> None:
    rng = np.random.default_rng(5)
    result = survival("a", looked_at(*invented(rng, 200, 0.0, (0.1, 0.2, 0.15))))
    total = sum(row.k or 0.0 for row in result.stage_table)
    assert pytest.approx(total) == result.K
    assert (result.K_low or 9) < total < (result.K_high or 0)


def test_where_nobody_reaches_the_end_k_is_infinite_and_bounded_below() -> None:
    result = answer(["egg dead"] * 5)
    row = row_of(result, "egg")
    assert (row.q, row.k, result.K) == (1, None, None)
    lowest = proportion_confint(5, 5, method="wilson")[0]
    assert (row.k_low, result.K_low) == pytest.approx((-np.log10(1 - lowest),) * 2)


def middle(least: float | None, most: float | None) -> float:
    """The estimate, or the middle of what it lies between where the last was lost."""
    assert least is not None
    assert most is not None
    return (least + most) / 2


def trial(n: int, losses: float, runs: int, seed: int = 1) -> dict[str, tuple[float, float, float]]:
    """For L1, the whole and K: bias of the estimate, that of the share of known ends, and cover."""
    rng = np.random.default_rng(seed)
    deaths = (0.1, 0.3, 0.15)
    reach = float(np.prod(1 - np.array(deaths)))
    total = float(-np.log10(reach))
    found: dict[str, list[tuple[float, float, bool]]] = {"q of L1": [], "reached": [], "K": []}
    for _ in range(runs):
        result = survival("a", looked_at(*invented(rng, n, losses, deaths)))
        row, end = row_of(result, "L1"), result.reached
        naive = row.died / max(1, row.died + row.completed)
        inside = (row.q_low or 0) <= 0.3 <= (row.q_high or 0)
        found["q of L1"].append((middle(row.q_least, row.q_most) - 0.3, naive - 0.3, inside))
        known = end.reached / max(1, end.n)
        inside = (end.low or 0) <= reach <= (end.high or 0)
        found["reached"].append((middle(end.fraction, end.most) - reach, known - reach, inside))
        if result.K is not None:
            inside = (result.K_low or 0) <= total <= (result.K_high or np.inf)
            found["K"].append((result.K - total, -np.log10(known) - total, inside))
    return {
        what: tuple(np.array(rows, dtype=float).mean(axis=0).tolist())  # type: ignore[misc]
        for what, rows in found.items()
    }


def test_losses_do_not_bias_what_is_said_of_survival() -> None:
    """Of those whose end is known too many died, since deaths come first."""
    found = trial(60, 0.3, 120)
    assert abs(found["reached"][0]) < 0.015
    assert found["reached"][1] < -0.03


@pytest.mark.slow
@pytest.mark.parametrize("n", [24, 60, 200])
def test_bias_and_cover_of_mortality_with_thirty_percent_of_losses(n: int) -> None:
    found = trial(n, 0.3, 400)
    for what, (bias, naive, cover) in found.items():
        print(f"n = {n}, {what}: bias {bias:+.4f} (of known ends {naive:+.4f}), cover {cover:.3f}")
        if what != "K":
            assert abs(bias) < 0.01
        assert 0.925 < cover < 0.985
