"""Pairs of calls, and what is made of them; the figures by hand from the few calls given."""

from dataclasses import replace
from datetime import timedelta

import pytest
from sklearn.metrics import cohen_kappa_score

from rearlog.analysis.agreement.agreement import Confused, Taken
from tests.analysis.invented_calls import QUARTER, ROUND, a_round, called, found_in, log_of
from tests.builders import tiny_log


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
