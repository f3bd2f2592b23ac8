"""Non-linear least squares of many data sets, or from many starts, at once."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from rearlog.analysis.arrays import Booleans, Floats

Model = Callable[[Floats], Floats]
"""From parameters (b, p) to what they expect (b, n)."""

STEPS = 60
"""Most fits settle in fewer than 30."""
_NUDGE = 1e-6
_SETTLED = 1e-9
"""A step that gains less than this part of the sum of squares is the last."""
_STUCK = 1e9
"""With so much damping no step is left."""


def many_fits(
    model: Model, y: Floats, weights: Floats, start: Floats, low: Floats, high: Floats
) -> tuple[Floats, Floats]:
    """The parameters (b, p) closest to `y` (b, n) or (n,), and their Σ weights · residual² (b,).

    Each of the b fits begins at its row of `start` (b, p) and stays between `low` and `high` (p,).
    Derivatives are forward differences. A fit ends where it stands after STEPS steps.
    Source: Marquardt 1963, J. Soc. Ind. Appl. Math. 11:431–441, with parameters at a bound kept
    there while the slope points beyond it.
    """
    root = np.sqrt(weights)
    at = np.clip(start, low, high)
    damping = np.full(len(at), 1e-2)
    missed = (model(at) - y) * root
    square = np.sum(missed**2, axis=1)
    for _ in range(STEPS):
        slopes = _slopes(model, at, root, low, high)
        downhill = -np.einsum("bnp,bn->bp", slopes, missed)
        held = ((at <= low) & (downhill < 0)) | ((at >= high) & (downhill > 0))
        trial = np.clip(at + _step(slopes, downhill, held, damping), low, high)
        there = (model(trial) - y) * root
        reached = np.sum(there**2, axis=1)
        better = reached < square
        ended = np.where(better, square - reached <= _SETTLED * square, damping >= _STUCK)
        at = np.where(better[:, None], trial, at)
        missed = np.where(better[:, None], there, missed)
        square = np.where(better, reached, square)
        damping = np.clip(np.where(better, damping / 4, damping * 5), 1e-12, _STUCK)
        if ended.all():
            break
    return at, square


def _slopes(model: Model, at: Floats, root: Floats, low: Floats, high: Floats) -> Floats:
    """The derivatives (b, n, p) of the weighted expectations, by steps into the range."""
    here = model(at)
    size = _NUDGE * np.maximum(np.abs(at), 1e-3)
    size = np.where(at + size > high, -size, size)
    columns = []
    for place in range(at.shape[1]):
        moved = at.copy()
        moved[:, place] += size[:, place]
        columns.append((model(moved) - here) / size[:, [place]] * root)
    return np.stack(columns, axis=2)


def _step(slopes: Floats, downhill: Floats, held: Booleans, damping: Floats) -> Floats:
    """The damped step (b, p), nothing in what is `held`."""
    slopes = np.where(held[:, None, :], 0.0, slopes)
    normal = np.einsum("bnp,bnq->bpq", slopes, slopes)
    scale = np.sqrt(np.einsum("bpp->bp", normal))
    scale = np.where(scale > 0, scale, 1.0)
    even = normal / (scale[:, :, None] * scale[:, None, :])
    even = even + np.eye(slopes.shape[2]) * (damping[:, None, None] + 1e-12)
    even = even + np.eye(slopes.shape[2]) * held[:, None, :]
    wanted = np.where(held, 0.0, downhill) / scale
    return np.asarray(np.linalg.solve(even, wanted[:, :, None])[:, :, 0] / scale, dtype=float)
