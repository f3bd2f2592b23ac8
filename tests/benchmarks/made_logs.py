"""Long logs to measure with, made from a seed; the animals are invented.

They are written without going through the rules, which would take longer than the measuring.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from rearlog.records.log import Cohort, ConstantTemperature, Individual, Readings
from rearlog.species.catalogue import find
from rearlog.store import codec
from rearlog.store.layout import Document, encode

START = datetime(2025, 1, 1, 9, tzinfo=UTC)
LAID = START - timedelta(hours=24), START - timedelta(hours=12)
PROFILE = "painted-lady"
DAYS_IN_STAGE = (4.0, 3.0, 2.5, 2.5, 3.0, 5.0, 9.0)
"""Means at about 22 °C; the SD of an individual's is 15 % of them."""
DEAD_BY_THE_END = 0.12
SEED = 20260101


@dataclass(frozen=True, slots=True)
class Size:
    """How many individuals were looked at how often; `checks` of each, if it lives, in `days`."""

    individuals: int
    checks: int
    days: float = 40.0
    readings: bool = False

    @property
    def observations(self) -> int:
        """About as many observations as there will be: the dead are looked at no more."""
        return self.individuals * self.checks


def write(path: Path, size: Size) -> None:
    """Write a cohort of eggs that were looked at until the last are adults."""
    profile = find(PROFILE)
    kept = ConstantTemperature(22.0, LAID[0].date())
    warmth = _year_of_readings() if size.readings else kept
    individuals = [
        Individual(f"A{n:05d}", START, "egg", *LAID) for n in range(1, size.individuals + 1)
    ]
    tables = {
        "cohort": _numbered([codec.to_document(Cohort(path.stem, profile, "UTC", START, START))]),
        "individuals": _numbered(map(codec.to_document, individuals)),
        "observations": _numbered(_checks(size, individuals, profile.codes)),
        "temperatures": _numbered([codec.to_document(warmth)]),
    }
    path.write_bytes(encode(tables))


def _numbered(documents: Iterator[Document] | list[Document]) -> dict[str, Document]:
    return {str(number): each for number, each in enumerate(documents, start=1)}


def _checks(
    size: Size, individuals: list[Individual], stages: tuple[str, ...]
) -> Iterator[Document]:
    """Round by round, what was seen of everyone who had not been found dead before."""
    rng = np.random.default_rng(SEED)
    shape = (size.individuals, len(DAYS_IN_STAGE))
    into = np.cumsum(rng.normal(1.0, 0.15, shape).clip(0.5) * DAYS_IN_STAGE, axis=1)
    death = np.where(
        rng.random(size.individuals) < DEAD_BY_THE_END,
        rng.uniform(0.0, size.days, size.individuals),
        np.inf,
    )
    found_dead = np.zeros(size.individuals, dtype=bool)
    apart = size.days / size.checks
    for round_ in range(1, size.checks + 1):
        day = apart * (round_ + rng.uniform(-0.25, 0.25))  # no two days have the same hours
        at = (START + timedelta(days=day)).replace(microsecond=0).isoformat()
        seen = (into < np.minimum(day, death)[:, None]).sum(axis=1)
        for row in np.flatnonzero(~found_dead).tolist():
            check: Document = {"individual": individuals[row].code, "at": at}
            if death[row] < day:
                check |= {"fate": "dead", "cause": "mould"}
            else:
                check["stage"] = stages[seen[row]]
                if row % 3 == 0:
                    check["length_mm"] = round(2.0 + 4.0 * int(seen[row]) + 0.1 * (row % 7), 1)
            yield check | {"by": "KT", "entered": at}
        found_dead |= death < day


def _year_of_readings() -> Readings:
    """A reading every ten minutes from before the laying on: 22 °C, warmer by day, with noise."""
    seconds = np.arange(0, 365 * 86_400, 600)
    noise = np.random.default_rng(SEED).normal(0.0, 0.2, seconds.size)
    celsius = 22 + 4 * np.sin(2 * np.pi * (seconds / 86_400 - 0.1)) + noise
    return Readings(
        LAID[0] - timedelta(days=1), tuple(seconds.tolist()), tuple(celsius.round(2).tolist())
    )
