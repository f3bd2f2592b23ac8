"""Log-normal values of which some are alike, drawn by chance.

Source: Aitchison & Brown 1957, The Lognormal Distribution, for its moments (cited from memory); any
two values of a row share one normal factor, which makes all correlations the same.
"""

from __future__ import annotations

import numpy as np

from rearlog.analysis.arrays import Floats


def related(rng: np.random.Generator, shape: tuple[int, int], shared: float) -> Floats:
    """Standard normal deviates of which any two in a row are correlated by `shared`."""
    common = rng.standard_normal((shape[0], 1))
    own = rng.standard_normal(shape)
    return np.asarray(np.sqrt(shared) * common + np.sqrt(1 - shared) * own)


def log_normal(mean: Floats, sd: Floats, deviates: Floats) -> Floats:
    """Log-normal values with this mean and SD (both (k,)), from standard normal ones (n, k)."""
    ratio = np.divide(sd, mean, out=np.zeros_like(mean), where=mean > 0)
    sigma = np.sqrt(np.log1p(ratio**2))
    return np.asarray(mean * np.exp(sigma * deviates - sigma**2 / 2))
