"""The tables of an identification. Nothing is computed here, only laid out."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from rearlog.present.tables import Table

if TYPE_CHECKING:
    from rearlog.analysis.growth.identify import Identification

LEAST_SHOWN = 0.005
"""Stages less probable than this are left out of the table."""


def identification_tables(result: Identification) -> list[Table]:
    """The evidence, how likely it makes each stage, and what to look for."""
    from rearlog.analysis.growth.identify import percent  # start-up time

    of = f"{result.cohort} ({result.species})" if result.cohort else result.species
    words = [
        f"Verdict: {result.verdict}.",
        *result.warnings,
        *(f"Look for: {each}" for each in result.look_for),
    ]
    evidence = Table(
        f"{of}: the evidence",
        ["what", "found", "for", "against", "why"],
        [
            [
                each.what,
                each.given,
                ", ".join(each.speaks_for),
                ", ".join(each.speaks_against),
                each.words,
            ]
            for each in result.evidence
        ],
    )
    if not result.probabilities:
        return [replace(evidence, words=words)]
    shown = [each for each in result.probabilities if each.probability >= LEAST_SHOWN]
    stages = Table(
        "Probabilities",
        ["stage", "probability"],
        [[each.stage, percent(each.probability)] for each in shown],
        words,
    )
    return [evidence, stages]
