"""A textbook exercise on life tables (HSC commerce mathematics): survivors by age, as published."""

import numpy as np
import pytest

from rearlog.analysis.statistics.life_table import life_table

SURVIVORS = [1000, 850, 760, 360, 25, 0]
ROWS = life_table(np.repeat(range(1, 6), -np.diff(SURVIVORS)), np.ones(1000, dtype=bool))


def test_numbers_alive_and_dying() -> None:
    assert [row.n for row in ROWS] == SURVIVORS[:-1]
    assert [row.d for row in ROWS] == [150, 90, 400, 335, 25]


def test_mortality() -> None:
    assert [row.q for row in ROWS] == pytest.approx([0.15, 0.1059, 0.5263, 0.9306, 1], abs=0.00005)


def test_expectation_of_life() -> None:
    printed = [(2.495, 3), (1.847, 3), (1.0066, 4), (0.5694, 4), (0.5, 4)]
    assert [
        (round(row.e or 0, digits), digits) for row, (_, digits) in zip(ROWS, printed, strict=True)
    ] == printed
