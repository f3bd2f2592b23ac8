"""Pairs of calls, and what is made of them; the figures by hand from the few calls given."""

from datetime import timedelta

import pytest
from msgspec.structs import replace
from sklearn.metrics import cohen_kappa_score, confusion_matrix
from statsmodels.stats.inter_rater import cohens_kappa
from statsmodels.stats.proportion import proportion_confint

from rearlog.analysis.agreement.agreement import Confused, Taken
from tests.analysis.invented_calls import QUARTER, ROUND, a_round, called, found_in, log_of
from tests.builders import moment, tiny_log


def test_the_pairs_of_a_round() -> None:
    result = found_in(a_round())
    assert (result.n, result.agreed) == (18, 15)
    (pair,) = result.pairs
    assert pair.observers == ("KT", "MB")
    assert pair.stages == ("L1", "L2", "L3", "pupa")
    assert pair.table == ((8, 0, 0, 0), (0, 6, 0, 0), (1, 2, 0, 0), (0, 0, 0, 1))
    assert pair.confused == (Confused(("L2", "L3"), 2), Confused(("L1", "L3"), 1))
    assert [(each.stage, each.called, each.both) for each in result.stages] == [
        ("L1", 9, 8),
        ("L2", 8, 6),
        ("L3", 3, 0),
        ("pupa", 1, 1),
    ]
    assert result.stages[0].agreement == pytest.approx(16 / 17)  # 8 of 9 and 8 of 8 calls
    assert {each.individual for each in result.differences} == {"c0", "c1", "d"}


def test_kappa_is_weighted_by_the_stages_of_the_profile() -> None:
    """Reference: sklearn.metrics.cohen_kappa_score, with all stages as labels."""
    (pair,) = found_in(a_round()).pairs
    judged = [stage for _, stage, _ in ROUND], [other for _, _, other in ROUND]
    labels = ["egg", "L1", "L2", "L3", "pupa", "adult"]
    for ours, weights in (
        (pair.kappa, None),
        (pair.linear, "linear"),
        (pair.quadratic, "quadratic"),
    ):
        assert ours is not None
        reference = cohen_kappa_score(*judged, labels=labels, weights=weights)
        assert ours.kappa == pytest.approx(reference)


def test_only_calls_of_two_people_near_each_other_are_pairs() -> None:
    log = log_of(
        called("1", 1, "L1", "MB"),
        called("1", 1, "L1", "KT"),
        called("1", 2, "L1", "MB"),
        called("1", 2.5, "L2", "KT"),  # half a day later
        called("1", 3, "L2", "MB"),
        called("1", 3, "L2", None),  # nobody signed it
        called("1", 3 + QUARTER, "L2", "MB"),  # the same person again
        replace(called("1", 3, "L2", "KT"), stage=None, same=True),
        replace(called("1", 4, "L2", "MB"), fate="dead"),
        called("1", 4, "L2", "KT"),
        called("2", 1, "L1", "KT"),
    )
    assert found_in(log).n == 1
    assert found_in(log, within=timedelta(hours=12)).n == 2
    assert found_in(log, within=timedelta(0)).n == 1


def test_each_call_is_in_one_pair_with_another_observer() -> None:
    log = log_of(
        called("1", 1, "L1", "MB"),
        called("1", 1 + QUARTER, "L1", "KT"),
        called("1", 1 + 2 * QUARTER, "L2", "MB"),
        called("1", 1 + 3 * QUARTER, "L2", "LS"),
    )
    result = found_in(log)
    assert [(each.observers, each.n, each.agreed) for each in result.pairs] == [
        (("KT", "LS"), 1, 0),
        (("KT", "MB"), 1, 1),
        (("LS", "MB"), 1, 0),
    ]


def test_observers_against_what_was_settled() -> None:
    days = [*range(1, 7)]
    right = ["L1", "L1", "L1", "L2", "L2", "L2"]
    log = log_of(
        *(called("1", day, stage, "MB") for day, stage in zip(days, right, strict=True)),
        called("1", 1.5, "L3", "KT"),  # a mistake
        called("1", 5.5, "L2", "KT"),
        called("2", 1, "L1", "MB"),
        called("2", 2, "L2", "KT"),  # this
        called("2", 3, "L1", "MB"),  # or that
        called("2", 4, "L2", "KT"),
    )
    kt, mb = found_in(log).observers
    assert (kt.observer, kt.calls, kt.open, kt.agreed) == ("KT", 4, 1, 2)
    assert kt.taken == (Taken("L3", "L1", 1),)
    assert kt.share == pytest.approx(2 / 3)
    assert (mb.calls, mb.open, mb.agreed, mb.taken) == (8, 1, 7, ())


def test_the_commonest_mistakes_of_an_observer_come_first() -> None:
    right = ["L1", "L1", "L1", "L1", "L2", "L2", "L2"]
    log = log_of(
        *(called("1", day, stage, "MB") for day, stage in enumerate(right, start=1)),
        called("1", 1.5, "L3", "KT"),
        called("1", 2.5, "egg", "KT"),
        called("1", 3.5, "egg", "KT"),
    )
    kt, _ = found_in(log).observers
    assert kt.taken == (Taken("egg", "L1", 2), Taken("L3", "L1", 1))


def test_nobody_signed_anything() -> None:
    result = found_in(tiny_log({"1": "egg L1 L2"}))
    assert (result.n, result.pairs, result.observers) == (0, (), ())


def test_calls_that_differ_say_who_said_what() -> None:
    told = {each.individual: each for each in found_in(a_round()).differences}
    for each in told.values():
        assert set(each.observers) == {"KT", "MB"}
        assert each.stages[0] != each.stages[1]
    assert {frozenset(each.stages) for each in told.values()} == {
        frozenset(("L2", "L3")),
        frozenset(("L1", "L3")),
    }


def test_looks_within_an_hour_of_each_other_are_pairs() -> None:
    minute = 1 / 24 / 60
    log = log_of(
        called("1", 1, "L1", "MB"),
        called("1", 1 + 60 * minute, "L1", "KT"),
        called("2", 1, "L1", "MB"),
        called("2", 1 + 61 * minute, "L1", "KT"),
    )
    result = found_in(log)
    assert (result.within_minutes, result.n) == (60, 1)


def test_a_look_that_is_paired_is_not_paired_again() -> None:
    log = log_of(
        called("1", 1, "L1", "KT"),
        called("1", 1 + QUARTER, "L1", "KT"),
        called("1", 1 + 4 * QUARTER, "L1", "MB"),  # an hour after the first
    )
    assert found_in(log).n == 1


def test_observers_stand_in_the_order_of_the_alphabet() -> None:
    log = log_of(
        called("1", 1, "L1", "Mb"),
        called("1", 1, "L1", "kt"),
        called("1", 1, "L1", "an"),
    )
    result = found_in(log)
    assert [each.observers for each in result.pairs] == [("an", "kt"), ("an", "Mb"), ("kt", "Mb")]
    assert [each.observer for each in result.observers] == ["an", "kt", "Mb"]


def test_differences_stand_in_the_order_in_which_they_came_up() -> None:
    log = log_of(
        called("1", 3, "L2", "MB"),
        called("1", 3 - QUARTER, "L1", "KT"),
        called("2", 2, "L1", "MB"),
        called("2", 2 + QUARTER, "L2", "KT"),
        called("3", 2 - 4 * QUARTER, "L1", "MB"),
        called("3", 2 - QUARTER, "L2", "KT"),
    )
    told = found_in(log).differences
    assert [(each.individual, each.at) for each in told] == [
        ("3", moment(2 - QUARTER)),
        ("2", moment(2 + QUARTER)),
        ("1", moment(3)),
    ]
    assert [each.stages for each in told] == [("L2", "L1"), ("L2", "L1"), ("L1", "L2")]
    assert [each.numbers for each in told] == [(6, 5), (4, 3), (2, 1)]


def test_a_difference_came_up_when_the_later_of_the_two_looked() -> None:
    log = log_of(
        called("1", 2 + 2 * QUARTER, "L1", "KT"),
        called("1", 2, "L2", "MB"),
        called("2", 2 + QUARTER / 2, "L1", "KT"),
        called("2", 2 + QUARTER, "L2", "MB"),
        called("3", 2 + QUARTER / 4, "L1", "KT"),
        called("3", 2 + 1.5 * QUARTER, "L2", "MB"),
    )
    told = found_in(log).differences
    assert [each.individual for each in told] == ["2", "3", "1"]
    assert told[-1].at == moment(2 + 2 * QUARTER)


def test_a_stage_that_was_called_once_by_one_of_two_has_its_place_in_their_table() -> None:
    log = log_of(called("1", 1, "L1", "KT"), called("1", 1, "L3", "MB"))
    (pair,) = found_in(log).pairs
    assert pair.stages == ("L1", "L3")
    assert pair.table == ((0, 1), (0, 0))


def test_stages_that_are_confused_equally_often_stand_in_their_order() -> None:
    log = log_of(
        called("1", 1, "L2", "KT"),
        called("1", 1, "L1", "MB"),
        called("2", 1, "L1", "KT"),
        called("2", 1, "egg", "MB"),
    )
    assert found_in(log).confused == (Confused(("egg", "L1"), 1), Confused(("L1", "L2"), 1))


def test_how_well_an_observer_agrees_with_what_was_settled() -> None:
    """References: statsmodels' Wilson limits, sklearn's Cohen's kappa."""
    right = ["egg", "egg", "egg", "L1", "L1", "L1", "L2", "L2", "L2"]
    said = ["egg", "L2", "egg", "L1", "egg", "L1", "L2", "L2", "L2"]
    log = log_of(
        *(called("1", day, stage, "MB") for day, stage in enumerate(right, start=1)),
        *(called("1", day, stage, "LS") for day, stage in enumerate(right, start=1)),
        *(called("1", day + QUARTER, stage, "KT") for day, stage in enumerate(said, start=1)),
    )
    kt, ls, _ = found_in(log).observers
    assert kt.kappa is not None
    assert kt.kappa.kappa == pytest.approx(cohen_kappa_score(right, said))
    reference = cohens_kappa(confusion_matrix(said, right, labels=["egg", "L1", "L2"]))
    assert kt.kappa.se == pytest.approx(reference.std_kappa)
    for found, agreed in ((kt, 7), (ls, 9)):
        limits = proportion_confint(agreed, len(right), method="wilson")
        assert (found.low, found.high) == pytest.approx(limits)


def test_a_mistake_between_two_stages_was_in_neither_for_sure() -> None:
    log = log_of(
        called("1", 1, "egg", "MB"),
        called("1", 2, "pupa", "KT"),
        called("1", 3, "L2", "MB"),
        called("1", 4, "L2", "MB"),
    )
    kt, _ = found_in(log).observers
    assert kt.taken == (Taken("pupa", None, 1),)
    assert kt.kappa is None


def test_a_mistake_of_one_that_had_perhaps_died_by_then_was_in_no_stage_for_sure() -> None:
    """Found dead while it died (2 + 4), or seen alive three times later (3 × 2): one is wrong, and
    so is the pupa either way."""
    log = log_of(
        called("1", 1, "L1", "MB"),
        replace(called("1", 1.2, "L1", "LS"), stage=None, fate="dead", witnessed=True),
        called("1", 1.5, "pupa", "KT"),
        *(called("1", day, "L1", "MB") for day in (2, 3, 4)),
    )
    kt, _ = found_in(log).observers
    assert (kt.observer, kt.open, kt.taken) == ("KT", 0, (Taken("pupa", None, 1),))
