"""The straight line through points. scipy.stats has it too, but takes half a second to load."""

from __future__ import annotations

from msgspec import Struct

from rearlog.analysis.arrays import Floats


class StraightLine(Struct, frozen=True):
    """y = intercept + slope · x. `slope_se` and `r2` are None for two points, which fit exactly;
    `r2` also where all y are alike."""

    slope: float
    intercept: float
    slope_se: float | None
    r2: float | None


def straight_line(x: Floats, y: Floats) -> StraightLine:
    """Ordinary least squares of y on x, both (n,), n ≥ 2; not all of x may be alike.

    Source: Draper & Smith 1998, Applied Regression Analysis, 3rd ed., ch. 1 (cited from memory).
    SE² of the slope = Σ residual² / (n − 2) / Σ (x − x̄)²; r² = 1 − Σ residual² / Σ (y − ȳ)².
    """
    from_mean, rise = x - x.mean(), y - y.mean()
    spread = float(from_mean @ from_mean)
    slope = float(from_mean @ rise) / spread
    residuals = rise - slope * from_mean
    left, total = float(residuals @ residuals), float(rise @ rise)
    enough = x.size > 2
    return StraightLine(
        slope,
        float(y.mean()) - slope * float(x.mean()),
        (left / (x.size - 2) / spread) ** 0.5 if enough else None,
        1 - left / total if enough and total > 0 else None,
    )
