"""A season of invented classes, written fast: files that differ in who they are, and in a body of
records each of which several classes share. They are written without going through the rules.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import NAMESPACE_URL, uuid5

import numpy as np

from rearlog.records.log import Cohort, ConstantTemperature, Individual
from rearlog.species.catalogue import find
from rearlog.store import codec
from rearlog.store.layout import Document, encode

START = datetime(2026, 3, 2, 9, tzinfo=UTC)
LAID = START - timedelta(hours=24), START - timedelta(hours=12)
PROFILE = "painted-lady"
DEGREE_DAYS = (48.0, 36.0, 30.0, 30.0, 36.0, 60.0, 108.0)
"""Above the threshold, stage by stage; an individual's scatter by 10 %, a cohort's by 4 %."""
THRESHOLD = 10.0
DEAD_A_DAY = 0.008
SEED = 20260302
LABELS = ("room", "room", "class", "window", "shelf")
"""Two in five are called alike."""


def write_season(
    folder: Path,
    cohorts: int,
    individuals: int = 30,
    *,
    sites: int = 0,
    bodies: int = 0,
    days: int = 60,
) -> list[Path]:
    """Write so many cohorts into a folder a site, and give the paths; `bodies` many differ in their
    records (0: all), the temperatures from 18 to 27 °C among them."""
    profile = find(PROFILE)
    rng = np.random.default_rng(SEED)
    made: list[dict[str, dict[str, Document]]] = []
    count = min(bodies or cohorts, cohorts)
    for body in range(count):
        celsius = round(18.0 + 9.0 * (body + 0.5) / count, 1)
        made.append(_records(rng, individuals, celsius, days, profile.codes))
    paths = []
    for number in range(cohorts):
        site = f"School {number % sites + 1}" if sites else None
        place = folder / (site.replace(" ", "-").lower() if site else "all")
        place.mkdir(parents=True, exist_ok=True)
        cohort = Cohort(
            LABELS[number % len(LABELS)],
            profile,
            "UTC",
            START,
            START,
            invented=True,
            id=str(uuid5(NAMESPACE_URL, f"invented:{number}")),
            site=site,
        )
        paths.append(place / f"{number:05d}.json")
        header = {"cohort": {"1": codec.to_document(cohort)}}
        paths[-1].write_bytes(encode(header | made[number % count]))
    return paths


def _records(
    rng: np.random.Generator, individuals: int, celsius: float, days: int, stages: tuple[str, ...]
) -> dict[str, dict[str, Document]]:
    everybody = [Individual(f"A{n:03d}", START, "egg", *LAID) for n in range(1, individuals + 1)]
    pace = rng.normal(1.0, 0.04) / (celsius - THRESHOLD)
    shape = (individuals, len(DEGREE_DAYS))
    into = np.cumsum(rng.normal(1.0, 0.10, shape).clip(0.5) * DEGREE_DAYS * pace, axis=1) - 0.75
    death = rng.exponential(1 / DEAD_A_DAY, individuals)
    death[death > into[:, -1]] = np.inf
    kept = ConstantTemperature(celsius, LAID[0].date())
    return {
        "individuals": _numbered(map(codec.to_document, everybody)),
        "observations": _numbered(_looks(into, death, days, everybody, stages)),
        "temperatures": _numbered([codec.to_document(kept)]),
    }


def _looks(
    into: np.ndarray,
    death: np.ndarray,
    days: int,
    everybody: list[Individual],
    stages: tuple[str, ...],
) -> Iterator[Document]:
    over = np.zeros(len(everybody), dtype=bool)
    for day in range(1, days + 1):
        at = (START + timedelta(days=day)).isoformat()
        seen = (into < np.minimum(day, death)[:, None]).sum(axis=1)
        for row in np.flatnonzero(~over).tolist():
            check: Document = {"individual": everybody[row].code, "at": at}
            if death[row] < day:
                check |= {"fate": "dead"}
            else:
                check["stage"] = stages[seen[row]]
            yield check | {"by": "KT", "entered": at}
        over |= (death < day) | (seen == len(stages) - 1)


def _numbered(documents: Iterator[Document] | list[Document]) -> dict[str, Document]:
    return {str(number): each for number, each in enumerate(documents, start=1)}
