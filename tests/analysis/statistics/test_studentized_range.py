"""The studentized range, against its published table and a reference library."""

import pytest
from scipy.stats import studentized_range

from rearlog.analysis.statistics.studentized_range import above, limit


@pytest.mark.parametrize(
    ("k", "freedom", "q"),
    [(2, 10, 3.15), (3, 10, 3.88), (4, 12, 4.20), (5, 20, 4.23), (3, 60, 3.40), (10, 30, 4.82)],
)
def test_limits_are_those_of_the_published_table(k, freedom, q):
    """The common printed table of 5 % points, from memory."""
    assert limit(0.05, k, freedom) == pytest.approx(q, abs=0.0051)


@pytest.mark.parametrize("k", [2, 3, 5, 12])
@pytest.mark.parametrize("freedom", [1.0, 2.4, 7.0, 33.3, 1000.0])
def test_probabilities_and_limits_are_those_of_a_reference_library(k, freedom):
    for q in (0.5, 2.0, 3.5, 6.0):
        assert above(q, k, freedom) == pytest.approx(studentized_range.sf(q, k, freedom), abs=1e-6)
    expected = studentized_range.ppf(0.95, k, freedom)
    assert limit(0.05, k, freedom) == pytest.approx(expected, rel=1e-4 if freedom > 2 else 1e-3)


@pytest.mark.parametrize("k", [40, 100, 400])
@pytest.mark.parametrize("freedom", [1.0, 10.0, 200.0])
def test_limits_of_many_means_are_exceeded_by_five_in_a_hundred(k, freedom):
    """The smallest has a range far from where the probability begins to fall."""
    found = limit(0.05, k, freedom)
    assert above(found, k, freedom) == pytest.approx(0.05, rel=1e-4)
    assert limit(0.01, k, freedom) > found


@pytest.mark.parametrize("k", [12, 13, 100])
def test_the_limit_of_many_means_is_that_of_a_reference_library(k):
    assert studentized_range.sf(limit(0.05, k, 200), k, 200) == pytest.approx(0.05, rel=2e-5)
