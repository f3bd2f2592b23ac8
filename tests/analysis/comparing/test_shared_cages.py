"""Comparisons of cohorts whose individuals share cages, by cohorts invented with numpy."""

from functools import partial

import numpy as np
import pytest
from msgspec.structs import replace

import rearlog.analysis.comparing.compare_pairs as comparing
from rearlog.analysis.comparing.cohorts import Shared, sharing
from rearlog.analysis.comparing.compare import compare
from rearlog.analysis.statistics.differences import NoTest, Verdict, resampled_medians
from rearlog.sentences.compare import notices
from rearlog.sentences.stage_comparison import words
from tests.analysis.invented_cohorts import caged, finished, lasting, looked_at
from tests.analysis.invented_comparisons import FAST, SLOW, cohort


def l1(cohorts):
    (row,) = compare(cohorts, "L1", "L2").stages
    return row


def kept(rng, sizes, effect=0.06, mean=8.0, name="a", part=None):
    days, cages = caged(rng, sizes, effect, mean)
    if part is None:
        return looked_at(rng, days, cages=cages, name=name)
    return finished(rng, days, part, cages=cages, name=name)


def test_cage_means_are_compared_where_cages_are_shared():
    rng = np.random.default_rng(2)
    a, b = kept(rng, (8,) * 4), kept(rng, (8,) * 4, name="b")
    row, alone = l1([a, b]), l1([replace(each, containers=()) for each in (a, b)])
    assert (row.clustered_by, alone.clustered_by) == ((Shared.CONTAINER,), ())
    assert [each.clusters for each in row.groups] == [4, 4]
    assert [each.mean for each in row.groups] == [each.mean for each in alone.groups]
    for more, less in zip(row.groups, alone.groups, strict=True):
        assert more.se > 1.3 * less.se
    assert row.p > alone.p
    assert 0.1 < row.intraclass < 0.9
    assert alone.intraclass is None
    (pair,) = row.pairs
    assert pair.medians.low is None  # drawing individuals again tells nothing of cages
    middle = [each.median for each in row.groups]
    assert pair.medians.estimate == pytest.approx(middle[0] - middle[1])
    said = notices(compare([a, b], "L1", "L2"))
    assert said[-1].startswith(
        "Individuals shared containers: the error of a mean is that of containers, not of "
        "individuals. Their days are alike by "
    )


def test_those_still_in_a_stage_count_by_their_cages():
    rng = np.random.default_rng(9)
    a, b = (kept(rng, (8,) * 4, effect=0.2, name=name, part=0.6) for name in ("a", "b"))
    row, alone = l1([a, b]), l1([replace(each, containers=()) for each in (a, b)])
    means = [each.mean_of_all for each in row.groups]
    assert None not in means
    assert means == [each.mean_of_all for each in alone.groups]
    assert row.p > alone.p


def test_a_cup_for_each_changes_nothing():
    rng = np.random.default_rng(3)
    a, b = (looked_at(rng, lasting(rng, 12), cages=range(12), name=name) for name in ("a", "b"))
    alone = [replace(each, containers=()) for each in (a, b)]
    assert l1([a, b]) == l1(alone)
    assert sharing([a, b]).things == ()


def test_one_cage_each_is_no_comparison_of_cohorts():
    rng = np.random.default_rng(4)
    a, b = kept(rng, (12,), name="a"), kept(rng, (12,), mean=12.0, name="b")
    row = l1([a, b])
    assert (row.verdict, row.reason, row.p) == (Verdict.NOT_TESTED, NoTest.ONE_CLUSTER, None)
    assert row.pairs == ()
    assert words(row) == (
        "L1 to L2: no test, since all of a and b are of one container: what comes of the container "
        "cannot be told from what comes of the cohort; a test takes 3 containers or more in each "
        "cohort (n = 12 and 12)."
    )


def test_two_cages_are_too_few():
    rng = np.random.default_rng(5)
    row = l1([kept(rng, (6, 6)), kept(rng, (6, 6, 6), mean=12.0, name="b")])
    assert (row.p, row.reason) == (None, NoTest.FEW_CLUSTERS)
    assert words(row) == (
        "L1 to L2: no test, since a had two containers and no more: too few to say how far "
        "containers differ; a test takes 3 containers or more in each cohort (n = 12 and 18)."
    )


def test_as_many_cages_as_the_words_say_are_enough():
    rng = np.random.default_rng(5)
    row = l1([kept(rng, (6, 6, 6)), kept(rng, (6, 6, 6), mean=12.0, name="b")])
    assert row.p is not None
    assert row.reason is None


def test_clutches_divided_among_all_cohorts_are_not_counted():
    rng = np.random.default_rng(6)
    names = np.repeat(["x", "y", "z"], 4)
    a, b = (looked_at(rng, lasting(rng, 12), clutches=names, name=name) for name in ("a", "b"))
    assert (sharing([a, b]).things, sharing([a, b]).divided) == ((), True)
    assert "taken to be the same" in " ".join(notices(compare([a, b], "L1", "L2")))
    other = replace(b, clutches=tuple(f"{name}2" for name in names))
    assert (sharing([a, other]).things, sharing([a, other]).divided) == ((Shared.CLUTCH,), False)
    assert [each.clusters for each in l1([a, other]).groups] == [3, 3]


def test_clutches_of_which_each_cohort_has_one_individual_are_not_counted():
    rng = np.random.default_rng(6)
    a, b = (looked_at(rng, lasting(rng, 3), clutches="xyz", name=name) for name in ("a", "b"))
    assert (sharing([a, b]).things, sharing([a, b]).divided) == ((), False)


def test_who_is_in_no_cage_that_is_known_is_alone():
    rng = np.random.default_rng(7)
    a = replace(looked_at(rng, lasting(rng, 6)), containers=("1", "1", None, None, "2", "1"))
    b = looked_at(rng, lasting(rng, 6), name="b")
    shared = sharing([a, b])
    (labels,), (others,) = shared.of
    assert (labels == labels[0]).tolist() == [True, True, False, False, False, True]
    assert (len(set(labels.tolist())), len(set(others.tolist()))) == (4, 6)


# --- false alarms ---------------------------------------------------------------------------------


@pytest.fixture
def no_bootstrap(monkeypatch):
    monkeypatch.setattr(comparing, "resampled_medians", partial(resampled_medians, resamples=2))


def some(rng, sizes=(8,) * 4, effect=0.06, cohorts=2, part=None):
    return [
        kept(rng, sizes, effect, name=name, part=part if place else None)
        for place, name in enumerate("abc"[:cohorts])
    ]


def within_clutches(rng):
    """Two cages of each of four clutches, which differ; the cages do not."""
    found = []
    for name in "ab":
        days, clutches = caged(rng, (8,) * 4, 0.06)
        cages = [f"{clutch}-{place % 2}" for place, clutch in enumerate(clutches)]
        clutches = [f"{name}{clutch}" for clutch in clutches]
        found.append(looked_at(rng, days, cages=cages, clutches=clutches, name=name))
    return found


FALSE = {
    "four cages of eight": some,
    "three cages of five": partial(some, sizes=(5, 5, 5)),
    "cages of two to twelve": partial(some, sizes=(2, 4, 8, 12, 4)),
    "cages that do not differ": partial(some, effect=0.0),
    "cages within clutches": within_clutches,
    "three cohorts": partial(some, cohorts=3),
    "cages of which some wait": partial(some, part=0.7),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", FALSE)
def test_cages_make_no_cohorts_differ(no_bootstrap, name):
    """Where tests of individuals call some four in ten of four cages of eight different."""
    rng = np.random.default_rng(1)
    runs = 100 if name == "cages of which some wait" else 500
    found = np.mean([(l1(FALSE[name](rng)).p or 1.0) < 0.05 for _ in range(runs)])
    print(f"{name}: {found:.1%}")
    assert 0.01 <= found <= 0.075


def test_who_is_of_no_cage_is_of_nobody_elses() -> None:
    a, b = cohort("a", SLOW[:4]), cohort("b", FAST[:4])
    a = replace(a, containers=("x", "y", "y", None))
    (labels,) = sharing([a, b]).of[0]
    assert len(set(labels.tolist())) == 3
