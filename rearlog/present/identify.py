"""The tables of an identification. Nothing is computed here, only laid out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from rearlog.present.tables import Table

if TYPE_CHECKING:
    from rearlog.analysis.forecasting.found_animal import FoundAnimal
    from rearlog.analysis.growth.identify import Identification

LEAST_SHOWN = 0.005
"""Stages no more probable than this, which is 0 % as it is rounded, are left out of the table."""


def identification_tables(result: Identification) -> list[Table]:
    """The evidence, how likely it makes each stage, and what to look for."""
    from rearlog.sentences import identify as say  # start-up time
    from rearlog.sentences.evidence import given
    from rearlog.sentences.evidence import words as why

    of = f"{result.cohort} ({result.species})" if result.cohort else result.species
    words = [
        *say.warnings(result),
        *(f"Look for: {each}" for each in say.look_for(result)),
    ]
    evidence = Table.of(
        f"{of}: the evidence",
        result.evidence,
        [
            ("what", lambda each: each.what),
            ("found", given),
            ("for", lambda each: ", ".join(each.speaks_for)),
            ("against", lambda each: ", ".join(each.speaks_against)),
            ("why", why),
        ],
    )
    if not result.probabilities:
        return [replace(evidence, words=words)]
    shown = [each for each in result.probabilities if each.probability > LEAST_SHOWN]
    stages = Table.of(
        "Probabilities",
        shown,
        [
            ("stage", lambda each: each.stage),
            ("probability", lambda each: say.probability(each.probability)),
        ],
        words,
    )
    verdict = f"Verdict: {say.verdict(result)}."
    return [stages, replace(evidence, words=[verdict], full=True)]


def found_animal_tables(result: FoundAnimal) -> list[Table]:
    """What is to come of an animal of that stage, how old it is, and what that rests on."""
    from rearlog.sentences.found_animal import passage, words  # start-up time

    rows = [
        [
            passage(each),
            f"{each.wait.likely:.1f} ({each.wait.low:.1f} to {each.wait.high:.1f})",
            each.on.earliest,
            each.on.likely,
            each.on.latest,
        ]
        for each in result.coming
    ]
    columns = ["event", "in days", "earliest", "likely", "latest"] if rows else []
    title = f"{result.stage} found on {result.found_on}, at {round(result.celsius, 1):g} °C"
    return [Table(title, columns, rows, words(result))]
