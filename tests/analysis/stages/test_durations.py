import numpy as np
import pytest
from msgspec.structs import replace

from rearlog.analysis.heat.daily_temperatures import lay_out
from rearlog.analysis.heat.heat_curve import heat_curve, settings
from rearlog.analysis.stages.durations import Durations, StageDuration, _pair, durations
from rearlog.analysis.stages.events import event_history
from rearlog.analysis.stages.expected import Timing
from rearlog.analysis.stages.left_open import LeftOpen, MeanOf
from rearlog.records.errors import UsageError
from rearlog.records.log import CohortLog, ConstantTemperature
from rearlog.sentences.durations import words
from rearlog.sentences.expected import basis_words
from tests.builders import START, small_profile, tiny_log


def answer(log: CohortLog, first: str | None = None, until: str | None = None) -> Durations:
    return durations("tiny", log.cohort.species, event_history(log), None, first, until)


def row(result: Durations, stage: str) -> StageDuration:
    return next(each for each in result.stages if each.stage == stage)


def test_bounds_and_midpoint_of_one_duration() -> None:
    """Into L1 in (1, 2], into L2 in (3, 5]: at least 1 day, at most 4, by midpoints 2.5."""
    result = answer(tiny_log({"1": "egg egg L1 L1 - L2"}))
    one = next(each for each in result.individuals if each.stage == "L1")
    assert (one.low, one.days, one.high, one.outcome) == (1, 2.5, 4, "completed")


def test_a_duration_is_never_below_zero() -> None:
    result = answer(tiny_log({"1": "egg - - L2 pupa"}))
    one = next(each for each in result.individuals if each.stage == "L1")
    assert (one.low, one.days, one.high) == (0, 0, 3)


def test_every_outcome_is_counted_once() -> None:
    log = tiny_log(
        {
            "1": "L1 L2 L2 pupa",
            "2": "L1 L2 L2 dead",
            "3": "L1 L2 L2 lost",
            "4": "L1 L2 L2 removed",
            "5": "L1 L2 L2 L2",
            "6": "L2 L2 L2 pupa",
            "7": "L1 L1 dead",
        }
    )
    found = row(answer(log), "L2")
    counts = (
        found.completed,
        found.died,
        found.lost,
        found.removed,
        found.in_stage,
        found.start_unknown,
    )
    assert counts == (1, 1, 1, 1, 1, 1)
    assert found.entered == 6


def test_an_optional_instar_belongs_only_to_those_that_had_it() -> None:
    result = answer(tiny_log({"1": "L2 L3 L3 pupa", "2": "L1 L2 pupa pupa"}))
    assert row(result, "L3").entered == 1
    assert row(result, "L2").completed == 1  # the other one's start is unknown
    assert row(result, "L2").mean == pytest.approx(1.0)


def test_the_median_of_the_npmle_counts_those_that_died_waiting() -> None:
    """Three complete in (1, 3] days; two are censored before: mass stays where events can be."""
    log = tiny_log({str(n): "egg L1 L1 L2" for n in range(3)} | {"d": "egg L1 dead"})
    found = row(answer(log), "L1")
    assert found.npmle_median == found.median_bounds == (1.0, 3.0)
    assert found.median == 2.0


def test_a_span_of_stages() -> None:
    result = answer(tiny_log({"1": "egg L1 L1 L2 L2 pupa"}), "L1", "pupa")
    assert [each.stage for each in result.stages] == ["L1 to pupa"]
    assert words(result)[0].startswith("L1 to pupa: 4.0 days")
    assert result.stages[0].mean == 4.0


@pytest.mark.parametrize(("first", "until"), [("L9", "pupa"), ("pupa", "L1"), ("egg", "egg")])
def test_spans_that_are_none(first: str, until: str) -> None:
    with pytest.raises(UsageError):
        answer(tiny_log({"1": "egg L1"}), first, until)


def test_standard_error_needs_two() -> None:
    found = row(answer(tiny_log({"1": "egg L1 L2"})), "L1")
    assert (found.completed, found.mean, found.sd, found.se) == (1, 1.0, None, None)


def test_figures_agree_with_numpy() -> None:
    lives = {str(n): "egg " + "L1 " * n + "L2" for n in (1, 2, 2, 3, 5)}
    found = row(answer(tiny_log(lives)), "L1")
    days = np.array([1, 2, 3, 5])  # the second "2" overwrote the first
    assert found.mean == pytest.approx(days.mean())
    assert found.sd == pytest.approx(days.std(ddof=1))


def test_without_a_threshold_the_days_of_the_profile_are_expected() -> None:
    log = tiny_log({"1": "egg L1 L2"}, profile=small_profile(lower=None))
    assert basis_words(row(answer(log), "L1").rests_on) == "the profile has no value"


# --- how sure the average is, and what is said of it ----------------------------------------------


def together(n: int, line: str) -> CohortLog:
    return tiny_log({str(code): line for code in range(n)})


def test_the_error_of_the_checks_is_in_the_standard_error() -> None:
    """All entered and left L1 between the same checks, a day apart: each end may be ± half a day,
    whose SD is √(1/12), and the same for all."""
    result = answer(together(400, "egg L1 L1 L1 L2"))
    found = row(result, "L1")
    assert (found.mean, found.sd) == (3, 0)
    assert found.check_error == pytest.approx((2 / 12) ** 0.5, rel=0.01)
    assert found.se == pytest.approx((2 / 12 + 2 / 12 / 400) ** 0.5, rel=0.01)
    assert found.in_step
    assert (found.mean_low, found.mean_high) == pytest.approx((2.2, 3.8), abs=0.02)
    assert words(result)[-1].startswith("In step (L1): most passed between the same two checks")


def test_the_limits_of_a_mean_of_days_begin_at_0() -> None:
    lives = {"1": "egg L1! L2!", "2": "egg L1! " + "L1 " * 9 + "L2!"}
    found = row(answer(tiny_log(lives)), "L1")
    assert found.mean == 5.5
    assert found.mean_low == 0  # 5.5 less 12.7 × 4.5 by Student's t
    assert found.mean_high == pytest.approx(5.5 + 12.706 * 4.5, rel=1e-3)


def test_individuals_that_pass_on_different_days_are_not_in_step() -> None:
    lives = {str(n): "egg " * (1 + n % 7) + "L1 " * (2 + n % 2) + "L2" for n in range(20)}
    result = answer(tiny_log(lives))
    found = row(result, "L1")
    assert not found.in_step
    assert found.sd is not None
    assert found.se == pytest.approx(found.sd / 20**0.5, rel=0.05)
    assert not any("In step" in line for line in words(result))


def test_the_quartiles_of_passages_that_were_seen_are_single_times() -> None:
    """Four that took 1, 2, 3 and 4 days: a quarter, half and three quarters are over by then."""
    lives = {str(n): "egg L1! " + "L1 " * (n - 1) + "L2!" for n in (1, 2, 3, 4)}
    found = row(answer(tiny_log(lives)), "L1")
    assert found.npmle_quartiles == ((1.0, 1.0), (2.0, 2.0), (3.0, 3.0))
    assert found.npmle_median == (2.0, 2.0)
    assert found.quartile_bounds == ((1.0, 1.0), (2.0, 2.0), (3.0, 3.0))
    assert (found.median_bounds, found.median_limits) == ((2.0, 2.0), None)  # four are too few


def test_eggs_laid_within_half_an_hour_have_a_median_between_two_looks() -> None:
    """By hand: laid in the half hour before the start, of nine eggs three are seen to have hatched
    on each of days 3, 4 and 5: the fifth took more than 3 days and less than 4 and half an hour.
    The estimate's innermost interval is that half hour; by the sign test the second and the eighth
    are limits of all such."""
    lives = {str(n): "egg " * (3 + n % 3) + "L1" for n in range(9)}
    found = row(answer(tiny_log(lives, laid=(-0.5 / 24, 0))), "egg")
    assert found.median_bounds == pytest.approx((3, 4 + 0.5 / 24))
    assert found.median_limits == pytest.approx((2, 5 + 0.5 / 24))
    assert found.npmle_median is not None
    low, high = found.npmle_median
    assert high is not None
    assert high - low == pytest.approx(0.5 / 24)


@pytest.mark.parametrize(
    ("line", "outside"),
    [
        ("egg L1 L1 L1 L2", 0),  # 2 to 4 days
        ("egg L1 L1 L1 L1 L2", 2),  # 3 to 5 days
        ("egg L1! L2!", 2),  # a day
        ("egg L1 L1", 0),  # not over
    ],
)
def test_individuals_that_cannot_have_been_in_their_range_are_counted(
    line: str, outside: int
) -> None:
    """20 degree-days at 20 °C are 2 days, and ± 1.96 × 0.2 for 95 % of individuals."""
    profile = small_profile(heat={"L1": 20.0})
    kept = (ConstantTemperature(20.0, START.date()),)
    log = tiny_log({"1": line, "2": line}, profile=profile, temperatures=kept)
    temperatures = lay_out(log)
    curve = heat_curve(temperatures, settings(profile, temperatures))
    found = row(durations("tiny", profile, event_history(log), curve), "L1")
    assert found.outside == outside


def test_the_words_have_their_interval_and_say_who_is_still_in_the_stage() -> None:
    one = answer(tiny_log({"1": "egg L1 L1 L2", "2": "egg L1 L1 L1"}))
    assert words(one) == (
        "L1: 2.0 days in the one that completed it; nothing to compare with. "
        "1 of 2 is still in it: the average is of the early ones, and may yet rise.",
    )
    lives = {"1": "egg L1 L1 L2", "2": "egg egg L1 L1 L1 L2", "3": "egg L1 L1", "4": "egg L1 L1"}
    (said,) = [each for each in words(answer(tiny_log(lives))) if each.startswith("L1:")]
    assert said.startswith("L1: 2.5 days on average (95 % interval ")
    # they were in it for less than the quickest may have taken: who is new tells nothing
    assert said.endswith("nothing to compare with.")


def test_a_mean_that_leaves_out_who_might_have_taken_longer_says_of_whom_it_is() -> None:
    """L1 took 2 days or 3; of the others one was lost too early to tell."""
    lives = {"1": "egg L1! L1 L2!", "2": "egg L1! L1 L1 L2!", "3": "egg L1! L1 lost"}
    early = {"4": "egg L1! L1 L1 L1", "5": "egg L1! L1 L1 L1"}
    gone = {"4": "egg L1! L1 L1 L1 dead", "5": "egg L1! L1 L1 L1 lost", "6": "egg L1! L1 L1 L1"}
    found = [answer(tiny_log(lives | more)) for more in ({}, early, gone)]
    rows = [row(each, "L1") for each in found]
    assert [each.mean_of for each in rows] == [
        MeanOf.EVERYBODY,
        MeanOf.EARLY,
        MeanOf.SURVIVORS,
    ]
    assert [each.left_open for each in rows] == [
        LeftOpen(3, 0, 0),
        LeftOpen(5, 2, 0),
        LeftOpen(6, 1, 2),
    ]
    nobody = row(answer(tiny_log(early)), "L1")
    assert (nobody.left_open, nobody.mean_of) == (LeftOpen(2, 0, 0), MeanOf.EVERYBODY)
    said = [next(line for line in words(each) if line.startswith("L1:")) for each in found]
    assert said[0].endswith("nothing to compare with.")
    assert said[1].endswith(
        "2 of 5 are still in it: the average is of the early ones, and may yet rise."
    )
    assert said[2].endswith(
        "1 of 6 is still in it and 2 died or left when others were through: the "
        "average is of the others, and may be too short."
    )


def test_the_difference_said_is_that_of_the_figures_shown() -> None:
    """3.35 and 2.54 are shown as 3.4 and 2.5: 0.9 days apart, as they are not to two decimals."""
    found = row(answer(tiny_log({"1": "egg L1 L2"})), "L1")
    shown = replace(found, mean=3.352, expected=(1.0, 2.541), verdict=Timing.LONGER, off_days=0.811)
    result = answer(tiny_log({"1": "egg L1 L2"}))

    def said(each: StageDuration) -> str:
        return words(replace(result, stages=(each,)))[0]

    assert said(shown).endswith(
        "1.0 to 2.5 are expected: 0.9 days more than that, as it may be by chance."
    )
    near = replace(shown, mean=2.548, expected=(1.0, 2.541))
    assert said(near).endswith("less than 0.1 days more than that, as it may be by chance.")
    unsure = replace(shown, mean_low=2.4, mean_high=4.3)
    assert said(unsure).endswith("0.9 days more than that, as it may be by chance.")
    sure = replace(shown, mean_low=2.6, mean_high=4.1)
    assert said(sure).endswith("0.9 days more than that.")


def test_the_words_say_how_far_off_what_was_expected() -> None:
    """20 degree-days above 10 °C are 2 days at 20 °C, and 1.6 to 2.4 for 95 % of individuals."""
    profile = small_profile(heat={"L1": 20.0})
    kept = (ConstantTemperature(20.0, START.date()),)
    said: list[str] = []
    for days in (1, 2, 5):
        log = tiny_log({"1": "egg " + "L1 " * days + "L2"}, profile=profile, temperatures=kept)
        temperatures = lay_out(log)
        curve = heat_curve(temperatures, settings(profile, temperatures))
        said += words(durations("tiny", profile, event_history(log), curve))
    assert [line.partition("are expected: ")[2] for line in said] == [
        "0.6 days less than that, as it may be by chance.",
        "as expected.",
        "2.6 days more than that, as it may be by chance.",
    ]


def test_a_range_of_which_an_end_is_not_known_is_none() -> None:
    assert _pair(1.0, 2.0) == (1.0, 2.0)
    for low, high in ((np.nan, 2.0), (1.0, np.nan), (1.0, np.inf), (np.nan, np.nan)):
        assert _pair(low, high) is None
