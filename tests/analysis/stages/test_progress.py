"""The course of individuals, from tiny logs whose dates are worked out by hand."""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from rearlog.analysis.heat.daily_temperatures import lay_out
from rearlog.analysis.heat.heat_curve import heat_curve, settings
from rearlog.analysis.stages.durations import durations
from rearlog.analysis.stages.events import event_history, event_names
from rearlog.analysis.stages.expected import Timing
from rearlog.analysis.stages.progress import Progress, StageSpan, progress, watched_celsius
from rearlog.records.log import CohortLog, ConstantTemperature
from rearlog.records.profile import Profile, Quantity, Source, Span, StageProfile
from tests.builders import START, seen, tiny_log


def course(log: CohortLog) -> Progress:
    history = event_history(log)
    took = durations("tiny", log.cohort.species, history, None)
    return progress(log.cohort, history, took, None)


def spans(line: str, laid: tuple[float, float] | None = None) -> tuple[StageSpan, ...]:
    return course(tiny_log({"1": line}, laid=laid)).individuals[0].spans


def test_a_span_reaches_from_bracket_to_bracket() -> None:
    egg, first = spans("egg egg L1 L1")
    assert (egg.stage, egg.begin_low, egg.begin_high) == ("egg", 0, 0)
    assert (egg.end_low, egg.end_high) == (1, 2)
    assert (first.begin_low, first.begin_high) == (1, 2)
    assert (first.end_low, first.end_high) == (3, 3)  # it lives: up to its last check


def test_eggs_begin_when_they_were_laid() -> None:
    egg = spans("egg egg", laid=(-2.0, -1.0))[0]
    assert (egg.begin_low, egg.begin_high) == (-2, -1)


def test_a_stage_that_nobody_saw_stands_between_the_same_two_checks() -> None:
    egg, first, second = spans("egg - L2")
    assert (egg.end_low, egg.end_high) == (0, 2)
    assert (first.stage, first.begin_low, first.end_high) == ("L1", 0, 2)
    assert second.stage == "L2"


def test_an_optional_stage_that_was_passed_over_has_no_span() -> None:
    assert [each.stage for each in spans("L2 L2 pupa")] == ["L2", "pupa"]


@pytest.mark.parametrize(
    ("line", "end"),
    [
        ("egg egg dead", (1, 2)),  # some time since it was seen alive
        ("egg egg - lost", (1, 3)),
        ("egg egg removed", (2, 2)),  # whoever took it out knows when
    ],
)
def test_the_last_span_ends_with_the_fate(line: str, end: tuple[float, float]) -> None:
    last = spans(line)[-1]
    assert (last.end_low, last.end_high) == end


def test_groups_tell_outcomes_and_order_the_course() -> None:
    log = tiny_log(
        {
            "slow": "pupa pupa pupa adult",
            "fast": "pupa adult removed",
            "killed": "egg dead",
            "later": "L2 L2 dead",
            "gone": "L1 lost",
            "here": "L1 L2 L2",
        }
    )
    groups = {each.name: each.individuals for each in course(log).groups}
    assert groups == {
        "reached": ("fast", "slow"),
        "developing": ("here",),
        "died": ("later", "killed"),
        "lost": ("gone",),
    }


def test_counts_of_those_who_arrived_and_of_the_living() -> None:
    result = course(tiny_log({"1": "pupa - adult", "2": "egg L1", "3": "L1 L1", "4": "pupa dead"}))
    assert (result.reached, result.first_reached) == (1, 2)
    assert [(each.stage, each.n) for each in result.alive] == [("L1", 2), ("adult", 1)]
    assert result.last_check == 2


def test_an_empty_cohort_has_an_empty_course() -> None:
    result = course(tiny_log({}))
    assert result.individuals == ()
    assert (result.reached, result.last_check, result.expected) == (0, 0, ())


def test_the_mean_temperature_is_that_until_all_had_grown_up() -> None:
    """At 14 °C for 4 days from the start of the first, then at 26; how adults were kept counts for
    nothing, nor does what came in as one."""
    line, grown = "egg egg L1 L2 pupa pupa adult adult adult", "adult adult adult"
    records = (
        ConstantTemperature(14, START.date(), START.date() + timedelta(3)),
        ConstantTemperature(26, START.date() + timedelta(4)),
    )
    log = tiny_log({"1": line, "2": grown}, temperatures=records)
    laid_out = lay_out(log)
    curve = heat_curve(laid_out, settings(log.cohort.species, laid_out))
    cool = 4 - 9 / 24  # from the start, at nine in the morning, to the fourth midnight
    mean = (14 * cool + 26 * (6 - cool)) / 6
    assert watched_celsius(event_history(log), curve) == pytest.approx(mean)
    assert watched_celsius(event_history(log), None) is None


def test_the_mean_temperature_of_a_short_time_is_that_of_this_time_and_of_none_there_is_none() -> (
    None
):
    """Half a day at 20 °C, before it gets warmer at midnight; and those that came in grown up."""
    records = (
        ConstantTemperature(20, START.date(), START.date()),
        ConstantTemperature(30, START.date() + timedelta(1)),
    )
    log = tiny_log({"1": "egg"}, temperatures=records)
    log = replace(log, all_observations=(seen("1", 0.5, "egg"),))
    grown = tiny_log({"1": "adult adult adult"}, temperatures=records)
    for each, expected in ((log, 20.0), (grown, None)):
        laid_out = lay_out(each)
        curve = heat_curve(laid_out, settings(each.cohort.species, laid_out))
        assert watched_celsius(event_history(each), curve) == expected


def days(low: float, high: float) -> Quantity:
    return Quantity("test", low=low, high=high)


def timed_profile() -> Profile:
    stages = (
        StageProfile("egg", "egg", days=days(3, 5)),
        StageProfile("L1", "L1", days=days(2, 4)),
        StageProfile("L2", "L2", days=days(2, 4)),
        StageProfile("pupa", "pupa", days=days(7, 10)),
        StageProfile("adult", "adult"),
    )
    larva = Span("L1", "pupa", "larva", days=days(5, 6))
    return Profile("m", "moth", "Moth", stages, {"test": Source("own", "test")}, spans=(larva,))


def test_expected_events_count_from_the_laying_where_it_is_known() -> None:
    log = tiny_log({"1": "egg egg", "2": "egg egg"}, profile=timed_profile(), laid=(-1.0, 0.0))
    expected = {each.event: (each.earliest, each.latest) for each in course(log).expected}
    # laid half a day before the start; egg 3–5, then L1 and L2 2–4 each, then pupa 7–10 days
    assert expected["hatch"] == (-0.5 + 3, -0.5 + 5)
    assert expected["pupation"] == (-0.5 + 7, -0.5 + 13)
    assert expected["eclosion"] == (-0.5 + 14, -0.5 + 23)


def test_expected_events_count_from_the_hatch_where_the_laying_is_unknown() -> None:
    log = tiny_log({"1": "egg L1", "2": "egg egg L1", "3": "egg egg"}, profile=timed_profile())
    events = course(log).expected
    assert [each.event for each in events] == ["pupation", "eclosion"]
    # median hatch on day 1; the profile knows the larva as a whole: 5–6 days
    assert (events[0].earliest, events[0].latest) == (1 + 5, 1 + 6)


def test_a_start_that_is_known_of_half_of_them_is_enough() -> None:
    half = tiny_log({"1": "egg L1", "2": "egg egg"}, profile=timed_profile())
    assert [each.event for each in course(half).expected] == ["pupation", "eclosion"]
    less = tiny_log({"1": "egg L1", "2": "egg egg", "3": "egg egg"}, profile=timed_profile())
    assert course(less).expected == ()


def test_nothing_is_expected_without_a_known_start_or_without_values() -> None:
    assert (
        course(tiny_log({"1": "egg egg", "2": "egg egg"}, profile=timed_profile())).expected == ()
    )
    assert course(tiny_log({"1": "egg L1"}, laid=(-1.0, 0.0))).expected == ()


def test_a_stage_that_was_certainly_too_long_is_marked() -> None:
    line = "egg egg egg L1 L1 L1 L1 L1 L1 L1 L1 L2"  # L1 for 7 to 9 days, 2 to 4 are expected
    result = course(tiny_log({"1": line}, profile=timed_profile(), laid=(-1.0, 0.0)))
    assert [each.outside for each in result.individuals[0].spans] == [None, "longer", None]
    assert result.outside == 1


def test_events_bear_the_names_of_the_trade() -> None:
    names = event_names(("egg", "N1", "N2", "adult"))
    assert names == {"N1": "hatch", "N2": "molt", "adult": "eclosion"}
    assert event_names(("L1", "pupa")) == {"pupa": "pupation"}
    assert event_names(("egg",)) == {}
    assert event_names(("egg", "adult")) == {"adult": "hatch"}


def test_the_last_day_by_which_somebody_came_into_the_last_stage_and_who_was_outside() -> None:
    """Of three that were in L1, for which 2 to 4 days are expected, one stayed for 6 to 8."""
    lives = {
        "1": "egg egg L1 L1 L1 L2 pupa adult",
        "2": "egg egg L1 L1 L1 L1 L1 L1 L1 L2",
        "3": "egg egg L1 L1 L1 L2 pupa pupa adult",
    }
    found = course(tiny_log(lives, profile=timed_profile(), laid=(-1.0, 0.0)))
    assert found.last_reached == 8
    longer = [
        [each.outside for each in one.spans].count(Timing.LONGER) for one in found.individuals
    ]
    assert longer == [0, 1, 0]
    shorter = {one.individual for one in found.individuals if any(s.outside for s in one.spans)}
    assert found.outside == len(shorter) == 3  # the pupa was too short in the others
    assert course(tiny_log({"1": "egg egg"}, profile=timed_profile())).last_reached is None
