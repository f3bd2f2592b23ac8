"""The tables of how far observers agree. Nothing is computed here, only laid out."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from rearlog.present.tables import Table, limits
from rearlog.sentences.agreement import words
from rearlog.sentences.phrases import LIMITS, percent

if TYPE_CHECKING:
    from rearlog.analysis.agreement.agreement import Agreement, PairAgreement
    from rearlog.analysis.statistics.kappa import Kappa


_ERRORS = ("kappa", "SE", LIMITS, "linear", "SE", "quadratic", "SE")
_PAIR_COLUMNS = ("observers", "pairs", "agreed", *_ERRORS)


def agreement_tables(result: Agreement) -> list[Table]:
    """How often each two said the same; then, in full, kappa with the words, stage against stage,
    by stage, and each against the settled.

    Tables without a row are left out.
    """
    short = Table(
        f"{result.cohort}: how often two who looked said the same stage",
        ["who", "both looked", "said the same", "that is"],
        [
            [" and ".join(each.observers), each.n, each.agreed, percent(each.agreed / each.n)]
            for each in result.pairs
        ],
        [
            f"Both looked: at the same individual, within {result.within_minutes:g} minutes.",
        ],
    )
    pairs = Table(
        f"{result.cohort}: pairs of calls within {result.within_minutes:g} minutes",
        _PAIR_COLUMNS if result.pairs else [],
        [_pair_row(each) for each in result.pairs],
        [
            *words(result),
            *(
                [
                    "Kappa: agreement beyond chance, 1 for all, 0 for none (Cohen); linear, "
                    "quadratic: calls that lie farther apart count as worse."
                ]
                if result.pairs
                else []
            ),
        ],
        full=True,
    )
    stages = Table(
        "Stage by stage",
        ["stage", "called by one or both", "by both", "agreement"],
        [[each.stage, each.called, each.both, each.agreement] for each in result.stages],
        ["Agreement: the part of all calls of the stage that the other observer made too."]
        if result.stages
        else [],
    )
    observers = Table(
        "Against what all looks together were settled as",
        ["observer", "calls", "open", "agreed", "share", LIMITS, "kappa"],
        [
            [
                each.observer,
                each.calls,
                each.open,
                each.agreed,
                each.share,
                limits(each.low, each.high),
                each.kappa.kappa if each.kappa else None,
            ]
            for each in result.observers
        ],
        [
            "Open: others that say otherwise are as good. Calls that no other look bears on agree "
            "with themselves."
        ]
        if result.observers
        else [],
    )
    tables = [*map(_stage_against_stage, result.pairs), stages, observers, differences(result)]
    return [
        *([short] if short.rows else []),
        pairs,
        *(replace(each, full=True) for each in tables if each.rows),
    ]


def differences(result: Agreement) -> Table:
    """The pairs of calls that differ."""
    return Table(
        "Calls that differ",
        ["individual", "at", "observers", "said", "records"],
        [
            [
                each.individual,
                each.at,
                " / ".join(each.observers),
                " / ".join(each.stages),
                ", ".join(str(number) for number in each.numbers if number is not None),
            ]
            for each in result.differences
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


def _pair_row(each: PairAgreement) -> list[Any]:
    return [
        " and ".join(each.observers),
        each.n,
        each.agreed,
        *_value(each.kappa),
        None if each.kappa is None else limits(each.kappa.low, each.kappa.high),
        *_value(each.linear),
        *_value(each.quadratic),
    ]


def _value(kappa: Kappa | None) -> tuple[float | None, float | None]:
    return (None, None) if kappa is None else (kappa.kappa, kappa.se)


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
