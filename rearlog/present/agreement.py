"""The tables of how far observers agree. Nothing is computed here, only laid out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from rearlog.present.tables import Table, limits
from rearlog.sentences.agreement import words
from rearlog.sentences.phrases import LIMITS, percent

if TYPE_CHECKING:
    from rearlog.analysis.agreement.agreement import Agreement, PairAgreement


def agreement_tables(result: Agreement) -> list[Table]:
    """How often each two said the same; then, in full, kappa with the words, stage against stage,
    by stage, and each against the settled.

    Tables without a row are left out.
    """
    short = Table.of(
        f"{result.cohort}: how often two who looked said the same stage",
        result.pairs,
        [
            ("who", lambda each: " and ".join(each.observers)),
            ("both looked", lambda each: each.n),
            ("said the same", lambda each: each.agreed),
            ("that is", lambda each: percent(each.agreed / each.n)),
        ],
        [f"Both looked: at the same individual, within {result.within_minutes:g} minutes."],
    )
    pairs = Table.of(
        f"{result.cohort}: pairs of calls within {result.within_minutes:g} minutes",
        result.pairs,
        [
            ("observers", lambda each: " and ".join(each.observers)),
            ("pairs", lambda each: each.n),
            ("agreed", lambda each: each.agreed),
            ("kappa", lambda each: each.kappa and each.kappa.kappa),
            ("SE", lambda each: each.kappa and each.kappa.se),
            (LIMITS, lambda each: each.kappa and limits(each.kappa.low, each.kappa.high)),
            ("linear", lambda each: each.linear and each.linear.kappa),
            ("SE", lambda each: each.linear and each.linear.se),
            ("quadratic", lambda each: each.quadratic and each.quadratic.kappa),
            ("SE", lambda each: each.quadratic and each.quadratic.se),
        ],
        [
            *words(result),
            "Kappa: agreement beyond chance, 1 for all, 0 for none (Cohen); linear, quadratic: "
            "calls that lie farther apart count as worse.",
        ],
        full=True,
    )
    if not result.pairs:
        pairs = replace(pairs, columns=[], words=words(result))
    stages = Table.of(
        "Stage by stage",
        result.stages,
        [
            ("stage", lambda each: each.stage),
            ("called by one or both", lambda each: each.called),
            ("by both", lambda each: each.both),
            ("agreement", lambda each: each.agreement),
        ],
        ["Agreement: the part of all calls of the stage that the other observer made too."],
    )
    observers = Table.of(
        "Against what all looks together were settled as",
        result.observers,
        [
            ("observer", lambda each: each.observer),
            ("calls", lambda each: each.calls),
            ("open", lambda each: each.open),
            ("agreed", lambda each: each.agreed),
            ("share", lambda each: each.share),
            (LIMITS, lambda each: limits(each.low, each.high)),
            ("kappa", lambda each: each.kappa and each.kappa.kappa),
        ],
        [
            "Open: others that say otherwise are as good. Calls that no other look bears on agree "
            "with themselves."
        ],
    )
    tables = [*map(_stage_against_stage, result.pairs), stages, observers, differences(result)]
    return [
        *([short] if short.rows else []),
        pairs,
        *(replace(each, full=True) for each in tables if each.rows),
    ]


def differences(result: Agreement) -> Table:
    """The pairs of calls that differ."""
    return Table.of(
        "Calls that differ",
        result.differences,
        [
            ("individual", lambda each: each.individual),
            ("at", lambda each: each.at),
            ("observers", lambda each: " / ".join(each.observers)),
            ("said", lambda each: " / ".join(each.stages)),
            (
                "records",
                lambda each: ", ".join(
                    str(number) for number in each.numbers if number is not None
                ),
            ),
        ],
    )


def flat_differences(result: Agreement) -> Table:
    """The pairs of calls that differ, one value a cell."""
    both = ("observer", "stage", "record")
    return Table(
        "",
        ["individual", "at", *(f"{name}_{place}" for place in (1, 2) for name in both)],
        [
            [
                each.individual,
                each.at,
                *(
                    value
                    for three in zip(each.observers, each.stages, each.numbers, strict=True)
                    for value in three
                ),
            ]
            for each in result.differences
        ],
    )


def _stage_against_stage(each: PairAgreement) -> Table:
    first, second = each.observers
    return Table(
        f"{first} down, {second} across",
        ["", *each.stages],
        [
            [stage, *(n or "" for n in row)]
            for stage, row in zip(each.stages, each.table, strict=True)
        ],
    )
