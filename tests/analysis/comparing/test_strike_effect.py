from rearlog.analysis.comparing.strike_effect import Change, strike_effect
from rearlog.analysis.stages.durations import durations
from rearlog.analysis.stages.events import event_history
from rearlog.analysis.survival.survival import survival
from rearlog.records.log import CohortLog
from tests.builders import tiny_log


def results(log: CohortLog):  # type: ignore[no-untyped-def]
    seen = event_history(log)
    return durations("tiny", log.cohort.species, seen, None), survival("tiny", seen)


def test_figures_that_differ_are_told_with_both_values() -> None:
    with_it = tiny_log({"1": "egg egg L1 L1 L2", "2": "egg L1 L1 dead"})
    without = tiny_log({"1": "egg egg L1 L1 L2", "2": "egg L1 L1 -"})
    changes = strike_effect(results(with_it), results(without)).changes
    assert Change("survival", "deaths", 1, 0) in changes
    assert Change("L1, 2", "outcome", "died", "in stage") in changes
    assert {each.of for each in changes} == {"L1, cohort", "L1, 2", "survival"}


def test_a_missed_look_widens_what_is_known_and_moves_the_mean() -> None:
    # hatched in (1, 2], molted in (3, 4]: 2 days; without the look on day 3, molted in (2, 4]: 1.5
    with_it = tiny_log({"1": "egg egg L1 L1 L2"})
    without = tiny_log({"1": "egg egg L1 - L2"})
    changes = strike_effect(results(with_it), results(without)).changes
    assert Change("L1, 1", "days", 2.0, 1.5) in changes
    assert Change("L1, cohort", "mean", 2.0, 1.5) in changes


def test_nothing_differs_from_itself() -> None:
    log = tiny_log({"1": "egg egg L1 L1 L2", "2": "egg L1 dead"})
    assert strike_effect(results(log), results(log)).changes == ()


def test_a_stage_that_is_no_longer_reached_has_no_figures_then() -> None:
    with_it, without = tiny_log({"1": "egg L1 pupa"}), tiny_log({"1": "egg L1 -"})
    changes = strike_effect(results(with_it), results(without)).changes
    assert Change("pupa, 1", "outcome", "in stage", None) in changes


def test_nobody_who_died_in_a_stage_that_nobody_came_to_are_none_then_too() -> None:
    with_it, without = tiny_log({"1": "egg L1 pupa"}), tiny_log({"1": "egg L1 -"})
    found = strike_effect(results(with_it), results(without))
    of_pupae = {
        each.figure: (each.before, each.after) for each in found.changes if "pupa" in each.of
    }
    assert of_pupae == {"entered": (1, 0), "in_stage": (1, 0), "outcome": ("in stage", None)}


def test_those_that_stay_are_counted_where_they_are_known() -> None:
    # all six counts of the egg, and how it ended; of L1 those but for the dead and those in it
    with_it, without = tiny_log({"1": "egg egg L1 dead"}), tiny_log({"1": "egg egg L1 -"})
    found = strike_effect(results(with_it), results(without))
    assert found.unchanged == 6 + 1 + 4
