import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import stdtrit

from rearlog.analysis.statistics.student_t import limit_95

# Published: the table of percentage points of t in any textbook of statistics, two-sided 5 %.
TABLE = {1: 12.706, 2: 4.303, 3: 3.182, 4: 2.776, 10: 2.228, 30: 2.042, 120: 1.980}


@pytest.mark.parametrize(("freedom", "limit"), TABLE.items())
def test_the_limits_are_those_of_the_tables(freedom: int, limit: float) -> None:
    assert limit_95(freedom) == pytest.approx(limit, abs=0.0005)


@given(st.floats(1, 1e12))
def test_any_degrees_of_freedom_as_scipy_has_them(freedom: float) -> None:
    assert limit_95(freedom) == pytest.approx(stdtrit(freedom, 0.975), rel=1e-6)


@pytest.mark.parametrize("freedom", [0.99, 0.0, -3.0, float("nan")])
def test_less_than_one_degree_of_freedom_is_refused(freedom: float) -> None:
    with pytest.raises(ValueError, match="degree of freedom"):
        limit_95(freedom)
