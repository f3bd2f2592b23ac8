"""Passages of invented moths, given by the amounts (degree-days) between which they fell."""

import numpy as np

from rearlog.analysis.forecasting.passages import Passages
from rearlog.analysis.forecasting.phases import phases
from tests.analysis.invented_moth import moth

PHASES = phases(moth(), "degree-days", 12.0)
MEAN, SD = PHASES.mean, PHASES.sd
SIZE = len(MEAN)


def seen(bounds):
    """Individuals from the bounds of their passages; the last are (last look, inf)."""
    rows = len(bounds)
    inside = np.zeros((rows, SIZE), dtype=bool)
    entry, end = np.full((2, rows, SIZE), np.nan), np.full((2, rows, SIZE), np.nan)
    for row, passages in enumerate(bounds):
        count = len(passages) - 1
        inside[row, :count] = True
        for place in range(count):
            entry[:, row, place] = passages[place]
            end[:, row, place] = passages[place + 1]
    now = np.array([len(each) - 2 for each in bounds])
    to_come = np.ones(rows, dtype=bool)
    return Passages(inside, entry[0], entry[1], end[0], end[1], now, to_come, entry[1, :, 0])


def exact(*moments, last_look):
    return [*((each, each) for each in moments), (last_look, np.inf)]
