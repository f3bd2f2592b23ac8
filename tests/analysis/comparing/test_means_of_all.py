"""Comparisons that count those who are still in a stage, by cohorts invented with numpy."""

from datetime import timedelta
from functools import partial

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.stats import t as student_t

import rearlog.analysis.comparing.compare_pairs as comparing
from rearlog.analysis.comparing.compare import compare
from rearlog.analysis.comparing.means_of_all import (
    WatchedCohort,
    _jackknife,
    means_of_all,
    times_of,
)
from rearlog.analysis.comparing.stage_comparison import Counted
from rearlog.analysis.heat.daily_temperatures import lay_out
from rearlog.analysis.heat.heat_curve import HeatSettings, heat_curve
from rearlog.analysis.stages.events import event_history
from rearlog.analysis.stages.left_open import LeftOpen, MeanOf
from rearlog.analysis.stages.stage_times import stage_times
from rearlog.analysis.statistics.accelerated_life import Times, accelerated_life
from rearlog.analysis.statistics.checked_mean import checked_mean
from rearlog.analysis.statistics.differences import Verdict, resampled_medians
from rearlog.records.log import ConstantTemperature
from rearlog.sentences.stage_comparison import words
from tests.analysis.invented_cohorts import finished, lasting, looked_at
from tests.builders import START, tiny_log


def l1(cohorts):
    (row,) = compare(cohorts, "L1", "L2").stages
    return row


@pytest.fixture
def no_bootstrap(monkeypatch):
    """It decides nothing here."""
    monkeypatch.setattr(comparing, "resampled_medians", partial(resampled_medians, resamples=2))


LIVES = {"1": "egg L1 L1 L1 L2", "2": "egg L1! L1 L2!", "3": "egg L1 L1 dead", "4": "egg - L1 L1"}


def test_times_count_from_the_middle_of_the_start():
    """By hand, in days: 1 entered between day 0 and 1 and left between 3 and 4; 2 was seen to enter
    and to leave; 3 was last seen on day 2; 4 entered between 0 and 2 and is in it on day 3."""
    times, who = times_of(stage_times(event_history(tiny_log(LIVES)), "L1"))
    assert who.tolist() == [True] * 4
    assert times.low.tolist() == [2.5, 2.0, 1.5, 2.0]
    assert times.high.tolist() == [3.5, 2.0, np.inf, np.inf]
    assert times.start_width.tolist() == [1.0, 0.0, 1.0, 2.0]


def test_degree_days_are_so_many_times_the_days():
    """At 15 °C above 10 °C a day has 5 degree-days; of later days nothing is known."""
    how = HeatSettings(10.0, None, "single-sine", "horizontal")
    kept = ConstantTemperature(15.0, START.date())
    log = tiny_log(LIVES, temperatures=(kept,))
    spans = stage_times(event_history(log), "L1")
    days, _ = times_of(spans)
    heat, who = times_of(spans, heat_curve(lay_out(log), how))
    assert who.all()
    for of_days, of_heat in ((days.low, heat.low), (days.high, heat.high)):
        assert of_heat == pytest.approx(5 * of_days)
    assert heat.start_width == pytest.approx(5 * days.start_width)
    short = tiny_log(LIVES, temperatures=(replace(kept, last=START.date()),))
    assert not times_of(spans, heat_curve(lay_out(short), how))[1].all()


def test_who_is_still_in_the_stage_counts():
    """A cohort of which half are through: its early ones are quick, all of it is like the other."""
    rng = np.random.default_rng(3)
    done = looked_at(rng, lasting(rng, 60, cv=0.2), name="done")
    half = finished(rng, lasting(rng, 60, cv=0.2), 0.5, name="half")
    row = l1([done, half])
    groups = {each.cohort: each for each in row.groups}
    assert row.counted is Counted.EVERYBODY
    assert (groups["half"].mean_of, groups["done"].mean_of) == (MeanOf.EARLY, MeanOf.EVERYBODY)
    assert groups["half"].mean < groups["done"].mean - 0.4
    assert groups["half"].mean_of_all == pytest.approx(groups["done"].mean_of_all, rel=0.1)
    (pair,) = row.pairs
    assert pair.ratio.low < 1 < pair.ratio.high
    assert (pair.verdict, pair.longer) == (Verdict.NOT_SHOWN, None)
    assert (pair.means.low, pair.medians.low) == (None, None)
    assert pair.means.estimate == pytest.approx(groups["done"].mean - groups["half"].mean)
    assert pair.medians.estimate == pytest.approx(groups["done"].median - groups["half"].median)
    assert pair.turned.means.estimate == -pair.means.estimate
    said = words(row)
    assert "no difference shown; " in said
    assert f" times as long as {pair.longer_first.other}, 95 % interval " in said
    assert "those counted that were not seen to complete it" in said
    assert "The means in the table are of the others: in half " in said


def test_a_ratio_and_its_interval_are_the_other_way_round_for_the_other_cohort():
    rng = np.random.default_rng(4)
    slow = finished(rng, lasting(rng, 30, mean=12.0), 0.6, name="slow")
    fast = looked_at(rng, lasting(rng, 30, mean=8.0), name="fast")
    (one,), (other,) = l1([slow, fast]).pairs, l1([fast, slow]).pairs
    assert (one.longer, one.verdict) == ("slow", Verdict.DIFFER)
    assert other.ratio.turned.estimate == pytest.approx(one.ratio.estimate)
    assert other.ratio.turned.low == pytest.approx(one.ratio.low)
    assert 1.3 < one.ratio.low < one.ratio.estimate < one.ratio.high < 1.75
    assert other.longer_first.ratio == other.ratio.turned
    assert "slow took 1." in words(l1([fast, slow]))


def test_who_came_too_late_to_tell_does_not_count():
    """Those who entered a day or two before the last look were in it for less than the quickest."""
    rng = np.random.default_rng(5)
    days, begun = lasting(rng, 20), rng.uniform(10, 15, 20)
    late = looked_at(
        rng, np.r_[days, np.full(5, 8.0)], begun=np.r_[begun, np.full(5, 24.0)], now=26.0, name="a"
    )
    row = l1([late, looked_at(rng, lasting(rng, 20), name="b")])
    assert row.counted is Counted.COMPLETED
    assert row.groups[0].left_open == LeftOpen(25, 0, 0)


# --- false alarms ---------------------------------------------------------------------------------


def waiting(rng, part, cvs=(0.1, 0.1), sizes=(20, 20)):
    (a, b), (n, m) = cvs, sizes
    return [
        looked_at(rng, lasting(rng, n, cv=a), name="done"),
        finished(rng, lasting(rng, m, cv=b), part, name="waiting"),
    ]


def dying(rng):
    """Some of one cohort and half of the other die on the way, at any time."""
    found = []
    for name, part in (("few", 0.1), ("many", 0.5)):
        dies = np.where(rng.random(20) < part, rng.uniform(0, 10, 20), np.inf)
        found.append(looked_at(rng, lasting(rng, 20), dies=dies, name=name))
    return found


def three(rng):
    return [*waiting(rng, 0.6), looked_at(rng, lasting(rng, 20), name="third")]


FALSE = {
    "half are through": partial(waiting, part=0.5),
    "three in four are through": partial(waiting, part=0.75),
    "they spread by a quarter": partial(waiting, part=0.5, cvs=(0.25, 0.25)),
    "who waits spreads more": partial(waiting, part=0.5, cvs=(0.05, 0.2)),
    "who waits spreads less": partial(waiting, part=0.5, cvs=(0.2, 0.05)),
    "few wait": partial(waiting, part=0.6, sizes=(40, 10)),
    "some die": dying,
    "three cohorts": three,
}


def alarms(make, runs, seed=1):
    rng = np.random.default_rng(seed)
    ps = [row.p for row in (l1(make(rng)) for _ in range(runs)) if row.p is not None]
    return np.mean(np.array(ps) < 0.05)


@pytest.mark.slow
@pytest.mark.parametrize("name", FALSE)
def test_cohorts_that_do_not_differ_are_called_different_no_more_than_the_level_says(
    no_bootstrap, name
):
    """Means of those that are through would call most cohorts of which half are different."""
    found = alarms(FALSE[name], 200)
    print(f"{name}: {found:.1%}")
    assert 0.01 <= found <= 0.07


@pytest.mark.slow
def test_a_difference_is_found_although_some_wait(no_bootstrap):
    def longer(rng):
        return [
            looked_at(rng, lasting(rng, 20), name="done"),
            finished(rng, lasting(rng, 20, mean=9.6), 0.6, name="waiting"),
        ]

    assert alarms(longer, 200) > 0.9


def test_with_cages_the_error_is_the_jackknife_and_its_freedom_is_theirs():
    """By hand: the mean of each three of four cages, and (4 − 1)/4 of the squares about their mean;
    twelve that share four cages alike have three degrees of freedom, and not eleven."""
    days = np.array([4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 5.5, 6.5, 7.5, 8.5, 9.5, 10.5])
    cages = np.repeat(np.arange(4), 3)
    times = Times(days, days, np.zeros(12))
    mean = checked_mean(days, [np.column_stack((days, days))])
    assert mean is not None
    (alone,) = means_of_all([WatchedCohort(times, (), mean)]) or ()
    (caged,) = means_of_all([WatchedCohort(times, (cages,), mean)]) or ()
    assert caged.mean == alone.mean
    assert (alone.logarithm.freedom, caged.logarithm.freedom) == (11, 3)
    family = accelerated_life([times]).family
    logs = np.log(
        [accelerated_life([times.of(cages != cage)], family).groups[0].mean for cage in range(4)]
    )
    error = np.sqrt(3 / 4 * np.sum((logs - logs.mean()) ** 2))
    assert caged.logarithm.se == pytest.approx(error)
    low, high = caged.interval
    assert np.log([low, high]) == pytest.approx(
        np.log(caged.mean) + student_t.ppf([0.025, 0.975], 3) * error, rel=1e-4
    )


def test_who_spent_unknown_days_or_no_degree_days_in_a_stage_is_not_counted():
    how = HeatSettings(10.0, None, "single-sine", "horizontal")
    lives = {"1": "egg L1! L1 L1 L2!", "2": f"egg L1! {'L1 ' * 9}L2!", "3": "L1 L1 L1 L2!"}
    kept = ConstantTemperature(15.0, START.date(), START.date() + timedelta(4))
    log = tiny_log(lives, temperatures=(kept,))
    spans = stage_times(event_history(log), "L1")
    _, who = times_of(spans, heat_curve(lay_out(log), how))
    assert who.tolist() == [True, False, False]
    cold = tiny_log(lives, temperatures=(ConstantTemperature(8.0, START.date()),))
    times, who = times_of(spans, heat_curve(lay_out(cold), how))
    assert (times.low.size, who.any()) == (0, False)


def test_degree_days_are_of_those_alone_whose_temperatures_are_known_all_the_time() -> None:
    """Known are the days 0 to 2 and 9 to 11: nobody measured in between, nor later. 1 was in L1
    before that, 2 after it, 3 over it, and 4 until long after the end; of 5 no start is known."""
    how = HeatSettings(10.0, None, "single-sine", "horizontal")
    day = START.date()
    kept = (
        ConstantTemperature(15.0, day, day + timedelta(2)),
        ConstantTemperature(20.0, day + timedelta(9), day + timedelta(11)),
    )
    lives = {
        "1": "egg L1! L2!",
        "2": f"egg {'- ' * 8} L1! L1 L2!",
        "3": f"egg L1! {'- ' * 8} L2!",
        "4": f"egg {'- ' * 8} L1! {'- ' * 7} L2!",
        "5": "L1 L1 L2",
        "6": f"egg {'- ' * 8} L1!",
    }
    log = tiny_log(lives, temperatures=kept)
    times, who = times_of(stage_times(event_history(log), "L1"), heat_curve(lay_out(log), how))
    assert who.tolist() == [True, True, False, False, False, True]
    assert times.low.tolist() == pytest.approx([5.0, 20.0, 0.0])
    assert times.high.tolist() == pytest.approx([5.0, 20.0, np.inf])


def test_a_jackknife_takes_what_leaves_three_that_completed_it():
    """Of two, half the square of what they differ by, halved; of one nothing is known."""
    days = np.array([4.0, 5.0, 6.5, 7.0, 9.0, 9.5])
    times = Times(days, days, np.zeros(6))
    halves = [accelerated_life([times.of(rows)], "gamma").groups[0].mean
              for rows in (np.arange(6) < 3, np.arange(6) >= 3)]  # fmt: skip
    even = _jackknife(times, np.array([0, 0, 0, 1, 1, 1]), "gamma")
    assert even == pytest.approx((np.log(halves[0]) - np.log(halves[1])) ** 2 / 4)
    assert _jackknife(times, np.array([0, 0, 0, 0, 1, 1]), "gamma") == np.inf
    assert _jackknife(times, np.zeros(6, dtype=np.int64), "gamma") == np.inf
