"""Threshold and thermal constant from many cohorts, of all at once and site by site."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from rearlog.analysis.comparing.rate_models import (
    NEAR_C,
    LinearRate,
    LineErrors,
    different_temperatures,
    line_errors,
    linear_rate,
)
from rearlog.analysis.comparing.thermal import (
    COLDEST_THRESHOLD,
    LARGEST_SE,
    Objection,
)
from rearlog.analysis.pooling.pooled_stages import CohortInStage
from rearlog.analysis.pooling.random_effects import RandomEffects, random_effects

FEWEST_TEMPERATURES = 3
"""A site has a threshold of its own from so many different temperatures on."""


class ThermalConstants(Struct, frozen=True):
    """Threshold (°C) and thermal constant (degree-days) of n cohorts, at a site or at all of them
    (`site` None). Errors and 95 % limits are those of the straight line of the rates: of sites by
    the scatter that the lines of all of them leave."""

    site: str | None
    n: int
    coldest: float
    warmest: float
    threshold: float
    threshold_se: float | None
    threshold_low: float | None
    threshold_high: float | None
    constant: float
    constant_se: float | None
    constant_low: float | None
    constant_high: float | None


class SeasonThermal(Struct, frozen=True):
    """Threshold and thermal constant of a stage: of `all_cohorts` at once, and of each site.

    `by_site` are those with cohorts at three different temperatures or more; `threshold` and
    `constant` are the means over such sites. `objections` speak against the line of all cohorts.
    """

    stage: str
    all_cohorts: ThermalConstants
    objections: tuple[Objection, ...]
    by_site: tuple[ThermalConstants, ...]
    threshold: RandomEffects | None
    constant: RandomEffects | None


def season_thermal(
    by_stage: Mapping[str, Sequence[CohortInStage]],
) -> Iterator[SeasonThermal]:
    """The constants of each stage in which cohorts were at two temperatures or more, by the line of
    `linear_rate`; the means over sites are those of `random_effects`."""
    for stage, rows in by_stage.items():
        everything = _constants(None, rows)
        if everything is None:
            continue
        at_sites: defaultdict[str, list[CohortInStage]] = defaultdict(list)
        for row in rows:
            if row.cohort.site is not None and row.celsius is not None:
                at_sites[row.cohort.site].append(row)
        found = {
            site: constants
            for site, theirs in at_sites.items()
            if different_temperatures(each.celsius for each in theirs if each.celsius is not None)
            >= FEWEST_TEMPERATURES
            and (constants := _constants(site, theirs)) is not None
        }
        by_site = _with_shared_scatter([(each, at_sites[site]) for site, each in found.items()])
        yield SeasonThermal(
            stage=stage,
            all_cohorts=everything,
            objections=tuple(_objections(everything)),
            by_site=tuple(by_site),
            threshold=_over([(each.threshold, each.threshold_se) for each in by_site]),
            constant=_over([(each.constant, each.constant_se) for each in by_site]),
        )


def _over(found: Sequence[tuple[float, float | None]]) -> RandomEffects | None:
    """The mean over sites, of each a value and its standard error; None for fewer than two."""
    if len(found) < 2:
        return None
    return random_effects([value for value, _ in found], [se or 0.0 for _, se in found])


def _constants(site: str | None, rows: Sequence[CohortInStage]) -> ThermalConstants | None:
    """The straight line of the rates on the temperature; None where there is none."""
    warm = [(row.celsius, row.mean) for row in rows if row.celsius is not None]
    if len(warm) < 2:
        return None
    celsius, days = zip(*warm, strict=True)
    if max(celsius) - min(celsius) < NEAR_C:
        return None
    line = linear_rate(celsius, days)
    if not isinstance(line, LinearRate):
        return None
    told = {name: getattr(line, name) for name in ("threshold", "constant", *LineErrors._fields)}
    return ThermalConstants(site, line.n, min(celsius), max(celsius), **told)


def _with_shared_scatter(
    found: Sequence[tuple[ThermalConstants, Sequence[CohortInStage]]],
) -> list[ThermalConstants]:
    """The constants of sites with standard errors by the scatter that the lines of all of them
    leave: that of three cohorts alone is hardly known. None where nothing is left of it.

    s² = Σ residual² / Σ (n − 2) over the sites; see `line_errors`.
    """
    missed, freedom = 0.0, 0
    shapes = []
    for each, rows in found:
        celsius = np.array([row.celsius for row in rows], dtype=float)
        rates = 1 / np.array([row.mean for row in rows])
        residuals = rates - (celsius - each.threshold) / each.constant
        missed += float(residuals @ residuals)
        freedom += each.n - 2
        shapes.append((float(rates.mean()), float(((celsius - celsius.mean()) ** 2).sum())))
    if missed <= 0:
        return []
    variance = missed / freedom
    return [
        replace(
            each,
            **line_errors(
                each.threshold,
                each.constant,
                rate=rate,
                rate_variance=variance / each.n,
                slope_se=(variance / spread) ** 0.5,
                freedom=freedom,
            )._asdict(),
        )
        for (each, _), (rate, spread) in zip(found, shapes, strict=True)
    ]


def _objections(found: ThermalConstants) -> Iterator[Objection]:
    """What makes a threshold one that is not to be used; see `thermal.NOT_CREDIBLE`."""
    if found.threshold_se is None or found.threshold_se > LARGEST_SE:
        yield Objection.THRESHOLD_UNSURE
    if found.threshold < COLDEST_THRESHOLD:
        yield Objection.THRESHOLD_TOO_COLD
    if found.threshold > found.coldest:
        yield Objection.THRESHOLD_ABOVE_COLDEST
