import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rearlog.analysis.statistics.distinct import distinct, middle


@given(st.lists(st.floats(allow_nan=False) | st.integers(-3, 3)))
def test_values_are_those_of_numpy(values: list[float]) -> None:
    made = np.array(values, dtype=float)
    assert np.array_equal(distinct(made), np.unique(made))


@given(st.lists(st.floats(-1e6, 1e6), min_size=1))
def test_the_middle_is_the_median_of_numpy(values: list[float]) -> None:
    assert middle(np.array(values)) == pytest.approx(np.median(values))


def test_the_answers_of_a_sample_load_no_masked_arrays_and_no_scipy() -> None:
    program = (
        "import sys, rearlog; room = rearlog.open('sample_cohorts/room.json')\n"
        "room.durations(), room.survival(), room.heat()\n"
        "print([name for name in ('numpy.ma', 'scipy', 'pendulum') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, check=True)
    assert done.stdout.decode().strip() == "[]"
