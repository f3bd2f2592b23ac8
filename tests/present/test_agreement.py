"""The tables of how far observers agree, where there is next to nothing to tell."""

from rearlog.present.agreement import agreement_tables, flat_differences
from tests.analysis.invented_calls import called, found_in, log_of


def test_of_two_who_said_one_stage_alone_there_is_no_kappa() -> None:
    """Whatever chance does, they agree on it."""
    found = found_in(log_of(called("1", 1.0, "L1", "KT"), called("1", 1.01, "L1", "MB")))
    (pair,) = found.pairs
    assert (pair.kappa, pair.linear, pair.quadratic) == (None, None, None)
    short, pairs, against, stages, observers = agreement_tables(found)
    assert short.rows == [["KT and MB", 1, 1, "100 %"]]
    assert pairs.rows == [["KT and MB", 1, 1, *[None] * 7]]
    assert against.rows == [["L1", 1]]
    assert stages.rows == [["L1", 1, 1, 1.0]]
    assert [row[-1] for row in observers.rows] == [None, None]
    assert [each.full for each in (short, pairs, against, stages, observers)] == [
        False,
        *[True] * 4,
    ]
    assert flat_differences(found).rows == []
