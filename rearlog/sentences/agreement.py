"""How far observers agree, in sentences."""

from __future__ import annotations

from collections.abc import Sequence

from rearlog.analysis.agreement.agreement import (
    Agreement,
    Confused,
    ObserverAgreement,
    PairAgreement,
)
from rearlog.analysis.statistics.kappa import Kappa
from rearlog.sentences.phrases import (
    LIMITS,
    Finding,
    by_cohort,
    cohorts_named,
    listed,
    percent,
    with_short_names,
)
from rearlog.sentences.texts import Texts

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
MOST_CONFUSED = 3
"""So many kinds of differences are named; the others are counted."""


def lead(result: Agreement) -> str:
    """How often those who look said the same, and on what they differed most."""
    if not result.pairs:
        return nothing_to_compare(result)
    (one, *others) = result.pairs
    if not others:
        who = listed(one.observers)
        text = f"{who} agreed on {one.agreed} of {one.n} looks that both made in {result.cohort}"
        if one.confused:
            text += f"; {_differences(one.n - one.agreed, one.confused)}"
        return f"{text}."
    worst = min(result.pairs, key=lambda each: each.agreed / each.n)
    text = (
        f"Of {result.n} pairs of looks of {result.cohort} {result.agreed} named the same stage "
        f"({percent(result.agreed / result.n)})"
    )
    if worst.agreed < worst.n:
        text += (
            f"; {listed(worst.observers)} differed most, in {worst.n - worst.agreed} of {worst.n}"
        )
    return f"{text}."


def words(result: Agreement) -> tuple[str, ...]:
    """How often each two agreed and what they confused; whose calls were settled as mistakes."""
    mistaken = [_observer(each) for each in result.observers if each.taken or each.open]
    if not result.pairs:
        return (nothing_to_compare(result), *mistaken)
    return (*map(pair_words, result.pairs), *mistaken, *_caution(result))


def nothing_to_compare(result: Agreement) -> str:
    """Why there is no pair."""
    who = [each.observer for each in result.observers]
    if len(who) < 2:
        one = f"only {who[0]} signed calls of a stage" if who else "nobody signed a call of a stage"
        return f"There is nothing to compare: {one}."
    return (
        f"There is nothing to compare: no two of {listed(who)} called the stage of the same "
        f"individual within {result.within_minutes:g} minutes."
    )


def pair_words(each: PairAgreement) -> str:
    """How often two observers agreed, and on what they differed."""
    if each.kappa is None or each.agreed == each.n:
        return f"{_agreed(each)}."
    return f"{_agreed(each)} (kappa {kappa_text(each.kappa)})."


def _agreed(each: PairAgreement) -> str:
    text = f"{listed(each.observers)} agreed on {each.agreed} of {each.n}"
    if not each.confused:
        return text
    return f"{text}; {_differences(each.n - each.agreed, each.confused)}"


def _differences(n: int, confused: Sequence[Confused]) -> str:
    against = [f"{each.stages[0]} against {each.stages[1]}" for each in confused]
    if len(confused) == 1:
        many = {1: "the one difference was", 2: "both differences were"}
        return f"{many.get(n, f'all {_number(n)} differences were')} {against[0]}"
    named = [
        f"{_number(each.n)} {what}"
        for each, what in zip(confused[:MOST_CONFUSED], against, strict=False)
    ]
    rest = n - sum(each.n for each in confused[:MOST_CONFUSED])
    if rest:
        named.append(f"{_number(rest)} {'other' if rest == 1 else 'others'}")
    return f"of {_number(n)} differences, {listed(named)}"


def _number(n: int) -> str:
    return _NUMBERS[n] if n < len(_NUMBERS) else str(n)


def kappa_text(each: Kappa) -> str:
    """Kappa with its limits: 0.91, 0.82 to 1.00."""
    return f"{each.kappa:.2f}, {LIMITS} {each.low:.2f} to {each.high:.2f}"


def _observer(each: ObserverAgreement) -> str:
    compared = each.calls - each.open
    text = f"{each.observer}: {each.agreed} of {compared} calls are what all looks together say"
    if each.taken:
        slips = [
            f"{slip.said} was said for {slip.stage or 'something else'}"
            + (f" {_number(slip.n)} times" if slip.n > 1 else "")
            for slip in each.taken[:MOST_CONFUSED]
        ]
        text += f"; {listed(slips)}"
        if len(each.taken) > MOST_CONFUSED:
            text += ", and others"
    if each.open:
        are = "1 more is" if each.open == 1 else f"{each.open} more are"
        text += f"; {are} open"
    return f"{text}."


def _caution(result: Agreement) -> tuple[str, ...]:
    if not any(each.kappa for each in result.pairs):
        return ()
    return (
        "Limits of kappa take every pair for a new animal: of the same animals day after day they "
        "are a little too narrow.",
    )


def title(results: Sequence[Agreement]) -> str:
    """The finding: how often observers agreed."""
    return with_short_names(_title(results), [each.cohort for each in results])


def _title(results: Sequence[Agreement]) -> str:
    found = [each for each in results if each.n]
    if not found:
        names = cohorts_named([each.cohort for each in results])
        return f"No two looked at the same individual in {names}"
    if len(found) == 1 and len(found[0].pairs) == 1:
        return _agreed(found[0].pairs[0])
    parts = [each.agreed / each.n for each in found]
    if len(found) == 1:
        return f"Observers agreed on {found[0].agreed} of {found[0].n}, {percent(parts[0])}"
    named = [
        Finding(each.cohort, part, percent(part)) for each, part in zip(found, parts, strict=True)
    ]
    return f"Observers agreed: {by_cohort(named)}"


def alt_text(results: Sequence[Agreement]) -> str:
    """One sentence that stands for the chart."""
    told = [pair_words(pair) for each in results for pair in each.pairs]
    return " ".join(["Tables of the stage that one observer called against the other's.", *told])


def notes(results: Sequence[Agreement]) -> list[str]:
    """What the cells are, and which calls are pairs."""
    minutes = max(each.within_minutes for each in results)
    return [
        "Cells: how many pairs of calls. On the diagonal both called the same stage. Pairs: two "
        f"observers, one individual, within {minutes:g} minutes; “no change” is no call."
    ]


def pairs_shown(shown: int, all_pairs: int) -> str:
    """That only some of the pairs of observers are drawn."""
    return f"Shown: the {shown} pairs of observers with most calls, of {all_pairs}."


TEXTS: Texts = {Agreement: {"words": words, "lead": lead}, PairAgreement: {"words": pair_words}}
